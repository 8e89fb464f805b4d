"""An order of the passes that keeps every spoke within its limits at every nipple of the way.

Loosening comes before tightening wherever the limits allow it. At every nipple of the way a spoke
that was within its highest tension stays within it, and one above it stands no more than
``RISE_ABOVE`` above where it came in. Where no order keeps that, spokes that came in just below the
limit may stand as much higher while the wheel is loosened, for each nipple lifts its neighbours.
Where a pass would not keep that it is done in halves.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.on_the_way import RISE_ABOVE, ROUNDING, tension_on_the_way
from wheelsim.measures.quantities import SLACK
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.planning.passes import Kind, Parts, PlannedPass, rounds, split
from wheelsim.planning.promise import Promise
from wheelsim.planning.sides import Verb
from wheelsim.units import QUARTER
from wheelsim.wheel.parts import Side

ROUGH = 4.0  # what linear steps may miss over a pass [N]
FAR = 10.0  # more than linear steps miss over a pass of quarter turns [N]
MOST_PASSES = 60
ORDER_ATTEMPTS = 300  # passes followed on the real wheel in search of an order, in one way of searching; own choice
FIRST_ATTEMPTS = 40  # of them, before each nipple is turned only where there is room; own choice
ORDER_SECONDS = 3.0  # for that search, however little time the clock has left
LEAST = 1 / 16  # no pass is halved below this [turn]


def order_passes(state: State, turns: Turns, bounds: Bounds, target_dish: float = 0.0, *, alike_most: float = QUARTER,
                 seconds: float = 0.0, promise: Promise | None = None,
                 eased: bool = True) -> tuple[tuple[PlannedPass, ...], bool]:
    """An order of passes that keeps within bounds on the way.

    Parameters
    ----------
    state : State
        As received.
    turns : (n,) ndarray
        [turn]
    bounds : Bounds
        The tension limits that hold on the way.
    target_dish : float
        Passes that bring the rim toward it come first among equals. [m]
    alike_most : float
        Largest amount of one pass of a whole side. [turn]
    seconds : float
        Left by the clock; a few are taken in any case. The search itself ends by its count of attempts.
    promise : Promise, optional
        In how many of the drawn wheels the limits hold on the way; without it the state alone counts.
    eased : bool
        Where no order keeps that, let spokes that came in just below the limit pass it while the wheel is loosened.

    Returns
    -------
    passes : tuple of PlannedPass
    sound : bool
        False if no order keeps every spoke within; the passes then take the plain order, loosening first.
    """
    few, work = rounds(turns, state.wheel, alike_most), split(turns, state.wheel)

    def preference(kind: Kind) -> tuple[bool, bool]:
        side, verb = kind
        toward_right = (side == "right") == (verb == "tighten")
        return verb != "loosen", toward_right != (state.dish < target_dish)

    kinds = sorted(work, key=preference)
    keeps = _Keeper(state.tension, bounds, time.monotonic() + max(seconds, ORDER_SECONDS), promise)
    for keeper in (keeps, keeps.eased()) if eased else (keeps,):
        found = _first_order(state, few, work, kinds, keeper)
        if found is not None:
            return _numbered(found, target_dish), True
    return _numbered(_plain(state, work, kinds), target_dish), False


def _first_order(state: State, few: Parts, work: Parts, kinds: list[Kind], keeps: "_Keeper") -> "list[_Step] | None":
    """Fewest times round first, then a quarter at a time, then each nipple only where there is room; None if none does.

    Below the minimum in passing is allowed if nothing better is to be had.
    """
    def tried(way: _Way, parts: Parts, most: int) -> list[_Step] | None:
        for floor in (True, False):
            keeps.begin(most)
            found = way(state, parts, kinds, keeps, floor)
            if found is not None or not keeps.stopped_by_floor:
                return found  # without the floor it would fail in the same way
        return None

    found = tried(_follow, few, ORDER_ATTEMPTS) or tried(_follow, work, FIRST_ATTEMPTS)
    cut_short = keeps.spent()
    found = found or tried(_as_room_allows, work, ORDER_ATTEMPTS)
    if found is None and cut_short:
        found = tried(_follow, work, ORDER_ATTEMPTS)
    return found


@dataclass(frozen=True, eq=False)
class _Step:
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


class _Allowed:
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


class _Keeper:
    """Whether a pass keeps what the bounds ask of the way, from the tensions as received.

    Asked of the likeliest wheel, and of every wheel that the promise drew: the share of those in which some spoke
    passes what it may have must stay as rare as promised. There only what stays counts of a loosening pass, as in
    ``top_on_the_way``: smaller passes would spare its neighbours little.
    """

    def __init__(self, received: Floats, bounds: Bounds, deadline: float, promise: Promise | None,
                 ease: bool = False) -> None:
        self.received, self.bounds, self.deadline, self.promise = received, bounds, deadline, promise
        self.drawn = np.zeros((len(received), 1)) if promise is None else promise.tension
        self.rare = 0.0 if promise is None else 1 - promise.share
        room = 0.0 if promise is None else promise.highest(received) - float(received.max())
        self.likeliest = _Allowed(received, bounds, ease)
        self.roomy = _Allowed(received, bounds, ease, room)
        self.every = _Allowed(received[:, None] + self.drawn, bounds, ease)
        self.begin(ORDER_ATTEMPTS)

    def begin(self, most: int) -> None:
        """Another search for an order, of so many passes followed at most."""
        self.attempts, self.most = 0, most
        self.stopped_by_floor = False  # whether some pass failed only by the lowest tension

    def eased(self) -> "_Keeper":
        """The same where spokes that came in just below the limit may pass it while the wheel is loosened."""
        return _Keeper(self.received, self.bounds, self.deadline, self.promise, ease=True)

    def passing(self, before: Floats, then: Floats, floor: bool, verb: Verb) -> bool:
        """Whether tensions on the way from ``before`` leave room for what the linear step leaves out."""
        allowed = self.roomy
        rising = then > np.maximum(before, allowed.most(before, verb) - ROUGH)
        loose = (then < SLACK + ROUGH) & (before >= SLACK) & (then < before)
        low = bool((then >= allowed.low + ROUGH).all() or (then >= before).all())
        return not rising.any() and not loose.any() and self._floor(floor, low)

    def spent(self) -> bool:
        """Whether the search for an order must end: by its attempts, or by the clock."""
        return self.attempts >= self.most or time.monotonic() > self.deadline

    def far_above(self, state: State, verb: Verb, turns: Turns) -> bool:
        """Whether linear steps alone take a spoke so far above what it may have that the pass need not be followed."""
        spokes = np.flatnonzero(turns)
        way = state.tension[:, None] + np.cumsum(state.influence.tension[:, spokes] * turns[spokes], axis=1)
        return bool((way.max(axis=1) > self.likeliest.most(state.tension, verb) + FAR).any())

    def holds(self, step: _Step, floor: bool) -> bool:
        """Whether a pass followed on the real wheel keeps every limit of the way."""
        self.attempts += 1
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


_Way: TypeAlias = Callable[[State, Parts, list[Kind], _Keeper, bool], list[_Step] | None]


def take(state: State, kind: Kind, turns: Turns) -> _Step:
    """A pass followed on the real wheel, nipple by nipple; raises Unstable."""
    after = equilibrium(state.wheel, state.turns + turns, state.own_shape, start=state)
    spokes = np.flatnonzero(turns)
    way = tension_on_the_way(state, after, turns)
    half = spokes[:(len(spokes) + 1) // 2]
    wobble = float(np.ptp(state.edge + state.influence.edge[:, half] @ turns[half]))
    return _Step(*kind, turns, state, after, way, wobble)


def _halved(state: State, kind: Kind, turns: Turns, keeps: _Keeper, floor: bool,
            parts: bool = True) -> list[_Step] | None:
    """A pass as steps that keep the way: whole, or halves of it, or None."""
    if not keeps.far_above(state, kind[1], turns):
        step = take(state, kind, turns)
        if keeps.holds(step, floor):
            return [step]
    amount = np.abs(turns).max()
    if not parts or amount / 2 < LEAST - 1e-9:
        return None
    first = _halved(state, kind, turns / 2, keeps, floor)
    if first is None:
        return None
    second = _halved(first[-1].after, kind, turns / 2, keeps, floor)
    return None if second is None else first + second


def _follow(state: State, work: Parts, kinds: list[Kind], keeps: _Keeper, floor: bool) -> list[_Step] | None:
    """Depth first, loosening first, the flanges in turn; a count of passes done by kind is visited once."""
    seen: set[tuple[int, ...]] = set()

    def go(done: tuple[int, ...], at: State, steps: list[_Step]) -> list[_Step] | None:
        if keeps.spent():
            return None
        if all(done[k] == len(work[kind]) for k, kind in enumerate(kinds)):
            return steps
        # Both flanges in turn where both go one way: the rim stays near where it was meanwhile.
        for k in sorted(range(len(kinds)), key=lambda k: (kinds[k][1] != "loosen", done[k] / len(work[kinds[k]]))):
            kind = kinds[k]
            if done[k] == len(work[kind]):
                continue
            then = (*done[:k], done[k] + 1, *done[k + 1:])
            if then in seen:
                continue
            seen.add(then)
            turns = work[kind][done[k]]
            # Halves of a quarter are a hand's work; amounts of many kinds are parted by the next way.
            parts = len(np.unique(np.abs(turns[turns != 0]))) == 1 and np.abs(turns).max() <= QUARTER
            taken = _halved(at, kind, turns, keeps, floor, parts)
            if taken is not None:
                found = go(then, taken[-1].after, steps + taken)
                if found is not None:
                    return found
        return None

    return go((0,) * len(kinds), state, [])


def _as_room_allows(state: State, work: Parts, kinds: list[Kind], keeps: _Keeper, floor: bool) -> list[_Step] | None:
    """Round after round, each nipple only where the limits leave room now; the rest in later rounds.

    A pass takes one amount, a quarter where it can; loosening goes first in every round.
    """
    left: dict[Kind, Turns] = {kind: np.abs(sum(passes)) for kind, passes in work.items()}
    steps: list[_Step] = []
    while any(part.max() > 1e-9 for part in left.values()):
        taken = next((step for amount in (QUARTER, QUARTER / 2, QUARTER / 4) for kind in kinds
                      for step in [_round(state, kind, left[kind], amount, keeps, floor)] if step is not None), None)
        if taken is None or len(steps) > MOST_PASSES or keeps.spent():
            return None
        steps.append(taken)
        left[taken.side, taken.verb] = left[taken.side, taken.verb] - np.abs(taken.turns)
        state = taken.after
    return steps


def _round(state: State, kind: Kind, left: Turns, amount: float, keeps: _Keeper, floor: bool) -> _Step | None:
    """Once round with those nipples that have this much left and that nothing forbids; None if there are none."""
    sign = 1.0 if kind[1] == "tighten" else -1.0
    tension, before = state.tension.copy(), state.tension
    turns = np.zeros(len(left))
    for spoke in np.flatnonzero(left > amount - 1e-9):
        then = tension + sign * amount * state.influence.tension[:, spoke]
        if keeps.passing(before, then, floor, kind[1]):
            tension, turns[spoke] = then, sign * amount
    if not turns.any():
        return None
    step = take(state, kind, turns)
    return step if keeps.holds(step, floor) else None


def _plain(state: State, work: Parts, kinds: list[Kind]) -> list[_Step]:
    steps: list[_Step] = []
    for kind in kinds:
        for turns in work[kind]:
            steps.append(take(state, kind, turns))
            state = steps[-1].after
    return steps


def _numbered(steps: list[_Step], target_dish: float) -> tuple[PlannedPass, ...]:
    return tuple(step.numbered(k + 1, target_dish) for k, step in enumerate(steps))
