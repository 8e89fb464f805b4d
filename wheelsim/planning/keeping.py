"""Whether a pass keeps the limits of the way, nipple by nipple, on the likeliest wheel and on those drawn."""

import time
from dataclasses import dataclass, replace

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.on_the_way import RISE_ABOVE, ROUNDING, tension_on_the_way
from wheelsim.measures.quantities import SLACK
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.planning.passes import Kind, PlannedPass
from wheelsim.planning.promise import Promise
from wheelsim.planning.sides import Verb
from wheelsim.wheel.parts import Side

ROUGH = 4.0  # error of linear steps over a pass that is allowed for; own choice [N]
FAR = 10.0  # more than the error of linear steps over a pass of quarter turns; own choice [N]


@dataclass(frozen=True, eq=False)
class Step:
    """One pass followed on the real wheel."""

    side: Side
    verb: Verb
    turns: Turns
    before: State
    after: State
    way: Floats  # (n, k) tensions after each nipple [N]
    half_way_true: float  # [m]

    @property
    def peak(self) -> float:
        return max(float(self.way.max()), float(self.before.tension.max()), float(self.after.tension.max()))

    def numbered(self, number: int, target_dish: float) -> PlannedPass:
        """As a pass of a plan."""
        return PlannedPass(number=number, side=self.side, verb=self.verb, turns=self.turns,
                           before=view(self.before, target_dish), after=view(self.after, target_dish),
                           peak_tension=self.peak, half_way_true=self.half_way_true)


class Allowed:
    """What spokes may have on the way, by what they came in with: (n,), or (n, k) for drawn wheels. [N]"""

    def __init__(self, received: Floats, bounds: Bounds, ease: bool, room: float = 0.0) -> None:
        self.limit = bounds.max_tension + ROUNDING
        self.inside = self.limit - room
        self.top = received + RISE_ABOVE
        # On a wheel that comes in near its limit, loosening a nipple lifts its neighbours until they are loosened too.
        near = ease & (received > bounds.max_tension - RISE_ABOVE)
        self.loosening = np.where(near, np.maximum(self.limit, self.top), self.inside)
        self.low = np.where(received >= bounds.min_tension - ROUNDING, bounds.min_tension - ROUNDING, -np.inf)

    def most(self, before: Floats, verb: Verb) -> Floats:
        """From tensions ``before``: one that is within stays within; one above rises so far and no further."""
        within = np.where(before <= self.inside, self.inside, before)
        if verb == "loosen":
            within = np.maximum(self.loosening, within)
        return np.where(before <= self.limit, within, self.top)


class Keeper:
    """Whether a pass keeps what the bounds ask of the way, from the tensions as received.

    Asked of the likeliest wheel, and of every wheel that the promise drew: the share of those in which some spoke
    passes what it may have must stay as rare as promised. There only what stays counts of a loosening pass, as in
    ``top_on_the_way``: smaller passes would spare its neighbours little. ``ease``: spokes that came in just below the
    limit may pass it while the wheel is loosened.
    """

    def __init__(self, received: Floats, end: Floats, bounds: Bounds, deadline: float, promise: Promise | None,
                 *, ease: bool, attempts: int) -> None:
        self.deadline, self.in_all = deadline, attempts
        self.drawn = np.zeros((len(received), 1)) if promise is None else promise.tension
        # Where the plan's end leaves fewer wheels within than promised, the way may leave as few.
        drawn_end = (end[:, None] + self.drawn).max(axis=0)
        given = 0.0 if promise is None else promise.given
        beyond = float((drawn_end > bounds.max_tension + given + ROUNDING).mean())
        self.rare = 0.0 if promise is None else max(1 - promise.share, beyond)
        room = 0.0 if promise is None else promise.highest(received) - float(received.max())
        room = max(min(room, bounds.max_tension - float(end.max())), 0.0)
        self.likeliest = Allowed(received, bounds, ease)
        self.roomy = Allowed(received, bounds, ease, room)
        self.every = Allowed(received[:, None] + self.drawn,
                             replace(bounds, max_tension=bounds.max_tension + given), ease)
        self.begin(0)

    def begin(self, most: int) -> None:
        """Another search for an order, of so many passes followed at most."""
        self.attempts, self.most = 0, min(most, self.in_all)
        self.stopped_by_floor = False  # whether some pass failed only by the lowest tension

    def passing(self, before: Floats, then: Floats, floor: bool, verb: Verb) -> bool:
        """Whether tensions on the way from ``before`` leave room for what the linear step leaves out."""
        allowed = self.roomy
        rising = then > np.maximum(before, allowed.most(before, verb) - ROUGH)
        loose = (then < SLACK + ROUGH) & (before >= SLACK) & (then < before)
        low = bool((then >= allowed.low + ROUGH).all() or (then >= before).all())
        return not rising.any() and not loose.any() and self._floor(floor, low)

    def beyond(self, before: Floats, lowest: Floats, then: Floats, floor: bool) -> Floats:
        """By how much tensions ``then`` lie beyond what each spoke may have, negative within. [N]

        ``before`` is the tension just before, ``lowest`` the lowest so far: a spoke that was within once stays within.
        """
        may = self.roomy
        top = np.where(lowest <= may.inside, may.inside, np.where(lowest <= may.limit, lowest, may.top[:, None]))
        bottom = np.where(before >= SLACK, SLACK + ROUGH, -np.inf)
        if floor:
            bottom = np.maximum(bottom, may.low[:, None])
        out: Floats = np.maximum(then - top, np.where(then < before, bottom - then, -np.inf))
        return out

    def spent(self) -> bool:
        """Whether the search for an order must end: by its attempts, or by the clock."""
        return self.attempts >= self.most or time.monotonic() > self.deadline

    def far_above(self, state: State, verb: Verb, turns: Turns) -> bool:
        """Whether linear steps alone take a spoke so far above what it may have that the pass need not be followed."""
        spokes = np.flatnonzero(turns)
        way = state.tension[:, None] + np.cumsum(state.influence.tension[:, spokes] * turns[spokes], axis=1)
        return bool((way.max(axis=1) > self.likeliest.most(state.tension, verb) + FAR).any())

    def holds(self, step: Step, floor: bool) -> bool:
        """Whether a pass followed on the real wheel keeps every limit of the way."""
        self.attempts, self.in_all = self.attempts + 1, self.in_all - 1
        before, after = step.before.tension, step.after.tension
        highest = np.maximum(step.way.max(axis=1), after)
        if (highest > self.likeliest.most(before, step.verb)).any():
            return False
        top = self.every.most(before[:, None] + self.drawn, step.verb)
        stays = after if step.verb == "loosen" else highest
        passed = (stays[:, None] + self.drawn > top).any(axis=0)
        below = (after[:, None] + self.drawn < self.every.low).any(axis=0)
        low = bool((after >= self.likeliest.low).all() and below.mean() <= self.rare)
        # A pulling spoke is not allowed to go slack on the way: the rim would jump, and a loose nipple may turn back.
        pulled = before >= SLACK
        return bool(passed.mean() <= self.rare and (step.way[pulled] >= SLACK).all()
                    and (after[pulled] >= SLACK).all()) and self._floor(floor, low)

    def _floor(self, asked: bool, kept: bool) -> bool:
        """Whether a pass that holds otherwise holds with the lowest tension too, where that is asked."""
        self.stopped_by_floor |= asked and not kept
        return kept or not asked


def take(state: State, kind: Kind, turns: Turns) -> Step:
    """A pass followed on the real wheel, nipple by nipple; raises Unstable."""
    after = equilibrium(state.wheel, state.turns + turns, state.own_shape, start=state)
    spokes = np.flatnonzero(turns)
    way = tension_on_the_way(state, after, turns)
    half = spokes[:(len(spokes) + 1) // 2]
    wobble = float(np.ptp(state.edge + state.influence.edge[:, half] @ turns[half]))
    return Step(*kind, turns, state, after, way, wobble)
