"""The rule-of-thumb mechanic, against whom a plan or a learner is measured.

Common practice, no source: a quarter turn of the whole side that the gauge says, once round from the
valve, the tighter side's tension watched; then the worst spots by the dial; then the worst spokes by
the meter; check again, repeat.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Bools, Floats, Turns
from wheelsim.encoded import Encoded
from wheelsim.measures.bounds import Bounds, broken, within
from wheelsim.measures.on_the_way import highest_on_the_way, passed_on_the_way, times_round
from wheelsim.measures.quantities import Quantity, departures, measure
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.simulated import Tools
from wheelsim.units import QUARTER
from wheelsim.wheel.parts import OTHER, SIDES, Side

# Rules of thumb for the effect of a quarter turn: common practice, no source.
QUARTER_RISE = 100.0  # of a side's own tension, by a quarter turn of all of it [N]
SPOTS = 4  # spots mended in one round; own choice
PATIENCE = 8  # rounds without progress after which the mechanic gives up; own choice
HIGH_OR_LOW = frozenset({Quantity.HIGHEST, Quantity.LOWEST})


class Purpose(Enum):
    """What a pass is for, and by which tool."""

    SIDE = "side"  # a whole flange, by the gauge or by a side's mean
    TRUE = "true"
    ROUND = "round"
    TENSION = "tension"


@dataclass(frozen=True, eq=False)
class RulePass:
    """A pass of the rule: what it is for, and its turns (n,). [turn]"""

    purpose: Purpose
    turns: Turns


class Stopped(Enum):
    """Why the rule of thumb turned no further."""

    WITHIN = "within"  # by its readings
    NO_HEADWAY = "no headway"
    NO_TURN_HELPS = "no turn helps"  # without passing a tension limit
    NO_STABLE_SHAPE = "no stable shape"  # after the next turn
    ENOUGH_PASSES = "enough passes"


@dataclass(frozen=True, eq=False)
class RuleResult(Encoded):
    """What the rule of thumb did to a wheel.

    Attributes
    ----------
    turns : (n,) ndarray
        What each nipple was turned in all, plus tightens. [turn]
    total_turns : float
        Every turn that was made, those undone later as well. [turn]
    nipples : int
        Nipples that were turned at all.
    times_round : int
        Its passes as a plan's are counted: each flange and direction of a round is one.
    passes : tuple of RulePass
    peak_tension : float
        Highest of any spoke as it came in and nipple by nipple on the way. [N]
    passed : dict of int to float
        Spokes that it took above what they may have, and their highest tension. [N]
    within : bool
        Whether the wheel, as it is and not as it was read, ended within the limits.
    stopped : Stopped
    """

    turns: Turns
    total_turns: float
    nipples: int
    times_round: int
    passes: tuple[RulePass, ...]
    after: View
    peak_tension: float
    passed: dict[int, float]
    within: bool
    stopped: Stopped


def by_rule(state: State, limits: Bounds, target_dish: float = 0.0, free: ArrayLike | None = None,
            most_passes: int = 60, errors: np.random.Generator | None = None) -> RuleResult:
    """Work on a wheel by the rule of thumb.

    Parameters
    ----------
    state : State
        As it comes in.
    limits : Bounds
        Within these it stops.
    target_dish : float
        Offset that the frame wants, plus right. [m]
    free : (n,) array_like of bool, optional
        Nipples that may be turned; all by default.
    most_passes : int
    errors : numpy Generator, optional
        Where the errors of its readings come from; without, the tools show what is.

    Returns
    -------
    RuleResult

    Raises
    ------
    ValueError
        If ``free`` is not of one value a spoke.
    """
    wheel = state.wheel
    may = np.ones(wheel.n, dtype=bool) if free is None else np.array(free, dtype=bool)
    if may.shape != (wheel.n,):
        raise ValueError(f"free has shape {may.shape}; expected ({wheel.n},), one value a spoke")
    may[[spoke - 1 for spoke in wheel.spokes.missing]] = False
    return _Mechanic(state, limits, target_dish, may, Tools() if errors is None else Tools.with_errors(errors)
                     ).work(most_passes)


@dataclass(frozen=True, eq=False)
class _Seen:
    """What the tools show: gap from the target and dials (n,) [m], tensions (n,) and each side's mean [N]."""

    gap: float
    lateral: Floats
    radial: Floats
    tension: Floats
    mean: dict[Side, float]


class _Mechanic:
    """One wheel in the hands of the rule."""

    def __init__(self, state: State, limits: Bounds, target_dish: float, free: Bools, tools: Tools) -> None:
        self.state, self.limits, self.target, self.free, self.tools = state, limits, target_dish, free, tools
        self.wheel = state.wheel
        self.sides = {side: np.array(self.wheel.pulling(side)) for side in SIDES}
        self.passes: list[RulePass] = []
        self.peak, self.received = float(state.tension.max()), state.tension
        self.passed: dict[int, float] = {}
        self.last_gap: float | None = None
        self.moved: float | None = None

    def work(self, most_passes: int) -> RuleResult:
        stopped = Stopped.ENOUGH_PASSES
        best, idle = np.inf, 0
        while len(self.passes) < most_passes:
            seen = self.read()
            short = self.short_of(seen)
            if not short:
                stopped = Stopped.WITHIN
                break
            excess = sum(short.values())
            best, idle = (excess, 0) if excess < best - 1e-3 else (best, idle + 1)
            if idle > PATIENCE:
                stopped = Stopped.NO_HEADWAY
                break
            due = self.next_round(seen, short)
            if not due:
                stopped = Stopped.NO_TURN_HELPS
                break
            try:
                for one in due[:most_passes - len(self.passes)]:
                    self.take(one)
            except Unstable:
                stopped = Stopped.NO_STABLE_SHAPE
                break
        after = view(self.state, self.target)
        made = np.array([one.turns for one in self.passes]).reshape(len(self.passes), self.wheel.n)
        return RuleResult(made.sum(axis=0), round(float(np.abs(made).sum()), 6),
                          int(np.count_nonzero(np.any(made != 0, axis=0))),
                          sum(times_round([turns], self.wheel) for turns in made), tuple(self.passes), after, self.peak,
                          self.passed, not broken(after.values, self.limits), stopped)

    def take(self, one: RulePass) -> None:
        turns = one.turns
        after = equilibrium(self.wheel, self.state.turns + turns, self.state.own_shape, start=self.state)
        self.peak = max(self.peak, float(highest_on_the_way(self.state, after, turns).max()))
        passed = passed_on_the_way(self.received, self.limits.max_tension, self.state, after, turns)
        self.passed |= {spoke: max(tension, self.passed.get(spoke, 0.0)) for spoke, tension in passed.items()}
        self.state = after
        self.passes.append(one)

    def read(self) -> _Seen:
        """The wheel as the tools show it."""
        # Errors are drawn in the order of reading, which therefore stays: meter, gauge, dials.
        tension = self.tools.meter(self.state)
        return _Seen(gap=self.tools.gauge(self.state) - 2 * self.target,
                     lateral=self.tools.dial(self.state, "lateral"), radial=self.tools.dial(self.state, "radial"),
                     tension=tension, mean={side: float(tension[own].mean()) for side, own in self.sides.items()})

    def short_of(self, seen: _Seen) -> dict[Quantity, float]:
        """By how much of each limit the readings are outside, by name; empty when all are within."""
        read = measure(self.wheel, seen.lateral, seen.radial, seen.tension)
        now = {name: float(value) for name, value in read.limited.items()} | {Quantity.GAP: abs(seen.gap)}
        return {name: abs(now[name] / max(self.limits.of(name), 1e-9) - 1) for name in broken(now, self.limits)}

    def next_round(self, seen: _Seen, short: dict[Quantity, float]) -> list[RulePass]:
        """Passes of the next round: the gauge first, the dial next, the meter last."""
        steps = (({Quantity.GAP}, self.by_gauge), (HIGH_OR_LOW, self.by_side), ({Quantity.TRUE}, self.by_lateral),
                 ({Quantity.ROUND}, self.by_radial), (HIGH_OR_LOW | {Quantity.SPREAD}, self.by_meter))
        for mended, step in steps:
            due = step(seen) if mended & set(short) else []
            if due:
                return due
        return []

    # Each of these is one move of the rule; none looks at what the others do.

    def by_gauge(self, seen: _Seen) -> list[RulePass]:
        gap = seen.gap
        if self.last_gap is not None:
            self.moved = abs(self.last_gap - gap)
        self.last_gap = gap
        # Nearer than half of what the last round did, a quarter would go past the middle.
        amount = QUARTER / 2 if self.moved and abs(gap) < self.moved / 2 else QUARTER
        toward: Side = "right" if gap < 0 else "left"
        ways = [(toward, amount), (OTHER[toward], -amount)]
        if not self.has_room(seen, amount):
            ways.reverse()
        for side, turn in ways:
            low = min(float(seen.tension[own].min()) for own in self.sides.values())
            fits = self.has_room(seen, turn) if turn > 0 else within(
                Quantity.LOWEST, low - QUARTER_RISE / 2, self.limits.min_tension)
            due = self.whole(side, turn)
            if fits and due:
                return [due]
        return []

    def has_room(self, seen: _Seen, turn: float) -> bool:
        rise = QUARTER_RISE * turn / QUARTER
        return bool(within(Quantity.HIGHEST, [max(seen.mean.values()) + rise, float(seen.tension.max())],
                           self.limits.max_tension).all())

    def by_side(self, seen: _Seen) -> list[RulePass]:
        """All round when it is a side's mean that is too high or too low, not one spoke."""
        mean = seen.mean
        if not within(Quantity.HIGHEST, max(mean.values()), self.limits.max_tension):
            turn = -QUARTER
        elif not within(Quantity.LOWEST, min(mean.values()), self.limits.min_tension) and self.has_room(seen, QUARTER):
            turn = QUARTER
        else:
            return []
        return [due for side in SIDES if (due := self.whole(side, turn))]

    def whole(self, side: Side, turn: float) -> RulePass | None:
        turns = np.zeros(self.wheel.n)
        turns[self.sides[side]] = turn
        turns[~self.free] = 0.0
        return RulePass(Purpose.SIDE, turns) if turns.any() else None

    def spots(self, dial: Floats, limit: float) -> list[int]:
        """Stations that stand out most, worst first, apart from each other: those beyond half of what is allowed."""
        n = self.wheel.n
        found: list[int] = []
        for i in np.argsort(-np.abs(dial)):
            far = all(min((i - j) % n, (j - i) % n) > n // 8 for j in found)
            if far and (abs(dial[i]) > limit / 2 or not found):
                found.append(int(i))
        return found[:SPOTS]

    def nearest(self, side: Side, station: int) -> int:
        own = self.sides[side]
        around = np.minimum((own - station) % self.wheel.n, (station - own) % self.wheel.n)
        return int(own[np.argmin(around)])

    def at_spots(self, purpose: Purpose, seen: _Seen, dial: Floats, limit: float,
                 moves: Callable[[float], tuple[tuple[Side, float], ...]]) -> list[RulePass]:
        """Turns at the spots; ``moves`` gives (side, sign) pairs for a spot's sign."""
        turns = np.zeros(self.wheel.n)
        amount = QUARTER if np.ptp(dial) > 2 * limit else QUARTER / 2
        for station in self.spots(dial, limit):
            for side, sign in moves(np.sign(dial[station])):
                spoke = self.nearest(side, station)
                tension = seen.tension[spoke]
                edge = Quantity.HIGHEST if sign > 0 else Quantity.LOWEST
                room = within(edge, tension + sign * QUARTER_RISE, self.limits.of(edge))
                if room and self.free[spoke]:
                    turns[spoke] = sign * amount
        return [RulePass(purpose, turns)] if turns.any() else []

    def by_lateral(self, seen: _Seen) -> list[RulePass]:
        """The rim stands out to the right: draw it left, tightening left and loosening right; and the reverse."""
        return self.at_spots(Purpose.TRUE, seen, seen.lateral, self.limits.lateral_runout,
                             lambda sign: (("left", sign), ("right", -sign)))

    def by_radial(self, seen: _Seen) -> list[RulePass]:
        """The rim stands out: draw it in with a pair, one of each side; it is drawn in: let it out."""
        return self.at_spots(Purpose.ROUND, seen, seen.radial, self.limits.radial_runout,
                             lambda sign: (("left", sign), ("right", sign)))

    def by_meter(self, seen: _Seen) -> list[RulePass]:
        """The spoke furthest outside its tension limits, else from its side's mean, a quarter turn back."""
        tension, off = seen.tension, np.zeros(self.wheel.n)
        for own in self.sides.values():
            off[own] = tension[own] - np.clip(tension[own], self.limits.min_tension, self.limits.max_tension)
        off[~self.free] = 0.0
        if not off.any():
            off = np.where(self.free, departures(self.wheel, tension), 0.0)
        spoke = int(np.argmax(np.abs(off)))
        if not off[spoke]:
            return []
        turns = np.zeros(self.wheel.n)
        turns[spoke] = -QUARTER * np.sign(off[spoke])
        return [RulePass(Purpose.TENSION, turns)]
