"""An order of the passes that keeps every spoke within its limits at every nipple of the way.

Loosening comes before tightening wherever the limits allow it. At every nipple of the way a spoke
that was within its highest tension stays within it, and one above it stands no more than
``RISE_ABOVE`` above where it came in. Where no order keeps that, spokes that came in just below the
limit may stand as much higher while the wheel is loosened, for each nipple lifts its neighbours.
Where a pass would not keep that, single nipples are gathered into other passes (``gathered``), and whole sides are
done in halves.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.planning.gathered import gathered
from wheelsim.planning.keeping import Keeper, Step, take
from wheelsim.planning.passes import Kind, Parts, PlannedPass, rounds, split
from wheelsim.planning.plan_result import named_nipples
from wheelsim.planning.promise import Promise
from wheelsim.units import QUARTER

MOST_PASSES = 60
ORDER_ATTEMPTS = 300  # passes followed on the real wheel in search of an order, in one way of searching; own choice
ALL_ATTEMPTS = 1200  # in all ways of searching; own choice
ATTEMPTS_A_UNIT, LEAST_ATTEMPTS = 40, 30  # by the effort left: a quarter of it; own choice
STAGED_ATTEMPTS = 100  # the same for a part of the work: one order of all of it is mostly found sooner; own choice
FIRST_ATTEMPTS = 40  # of them, before each nipple is turned only where there is room; own choice
ORDER_SECONDS = 3.0  # for that search, however little time the clock has left
LEAST = 1 / 16  # no pass is halved below this [turn]


def order_passes(state: State, turns: Turns, bounds: Bounds, target_dish: float = 0.0, *, alike_most: float = QUARTER,
                 seconds: float = 0.0, promise: Promise | None = None, ease: Sequence[bool] = (False, True),
                 whole: tuple[Floats, Floats] | None = None,
                 attempts: int = ALL_ATTEMPTS) -> tuple[tuple[PlannedPass, ...], bool]:
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
    ease : sequence of bool
        Whether spokes that came in just below the limit may pass it while the wheel is loosened; tried in turn.
    whole : pair of (n,) ndarray, optional
        Tensions when the wheel came in and at the end of the plan, where these passes are a part of it. [N]
    attempts : int
        Passes followed on the real wheel at most, in all ways of searching.

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
    received, end = whole or (state.tension, _after(state, turns).tension)
    deadline = time.monotonic() + max(seconds, ORDER_SECONDS)
    for eased in ease:
        keeps = Keeper(received, end, bounds, deadline, promise, ease=eased, attempts=attempts)
        found = _first_order(state, few, work, kinds, keeps)
        if found is not None:
            return _numbered(found, target_dish), True
    return _numbered(_plain(state, work, kinds), target_dish), False


def attempts_for(effort: float) -> int:
    """How many passes to follow at most in search of an order, where so much effort is left."""
    return int(np.clip(ATTEMPTS_A_UNIT * effort, LEAST_ATTEMPTS, ALL_ATTEMPTS))


def _first_order(state: State, few: Parts, work: Parts, kinds: list[Kind], keeps: Keeper) -> list[Step] | None:
    """The passes as they are, else gathered from single turns, else a quarter at a time; None if none keeps the way.

    Below the minimum in passing is allowed if nothing better is to be had.
    """
    def tried(way: _Search, parts: Parts, most: int) -> list[Step] | None:
        for floor in (True, False):
            keeps.begin(most)
            found = way(state, parts, kinds, keeps, floor)
            if found is not None or not keeps.stopped_by_floor:
                return found  # the lowest tension stopped nothing, so without that limit it would fail alike
        return None

    found = tried(_follow, few, ORDER_ATTEMPTS)
    # Whole sides are first tried by whole quarters and halves of them, which a hand turns without a list.
    if found is None and named_nipples(state.wheel, np.sum([one for passes in few.values() for one in passes], axis=0)):
        found = tried(gathered, work, ORDER_ATTEMPTS)
    if found is not None:
        return found
    found = tried(_follow, work, FIRST_ATTEMPTS)
    cut_short = keeps.spent()
    found = found or tried(_as_room_allows, work, ORDER_ATTEMPTS)
    if found is None and cut_short:
        found = tried(_follow, work, ORDER_ATTEMPTS)
    return found


_Search: TypeAlias = Callable[[State, Parts, list[Kind], Keeper, bool], list[Step] | None]


def _halved(state: State, kind: Kind, turns: Turns, keeps: Keeper, floor: bool,
            parts: bool = True) -> list[Step] | None:
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


def _follow(state: State, work: Parts, kinds: list[Kind], keeps: Keeper, floor: bool) -> list[Step] | None:
    """Depth first, loosening first, the flanges in turn; a count of passes done by kind is visited once."""
    seen: set[tuple[int, ...]] = set()

    def go(done: tuple[int, ...], at: State, steps: list[Step]) -> list[Step] | None:
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
            # Halves of a quarter are practical by hand; passes of many amounts are left to the next method.
            parts = len(np.unique(np.abs(turns[turns != 0]))) == 1 and np.abs(turns).max() <= QUARTER
            taken = _halved(at, kind, turns, keeps, floor, parts)
            if taken is not None:
                found = go(then, taken[-1].after, steps + taken)
                if found is not None:
                    return found
        return None

    return go((0,) * len(kinds), state, [])


def _as_room_allows(state: State, work: Parts, kinds: list[Kind], keeps: Keeper, floor: bool) -> list[Step] | None:
    """Round after round, each nipple only where the limits leave room now; the rest in later rounds.

    A pass takes one amount, a quarter where it can; loosening goes first in every round.
    """
    left: dict[Kind, Turns] = {kind: np.abs(sum(passes)) for kind, passes in work.items()}
    steps: list[Step] = []
    while any(part.max() > 1e-9 for part in left.values()):
        taken = next((step for amount in (QUARTER, QUARTER / 2, QUARTER / 4) for kind in kinds
                      for step in [_round(state, kind, left[kind], amount, keeps, floor)] if step is not None), None)
        if taken is None or len(steps) > MOST_PASSES or keeps.spent():
            return None
        steps.append(taken)
        left[taken.side, taken.verb] = left[taken.side, taken.verb] - np.abs(taken.turns)
        state = taken.after
    return steps


def _round(state: State, kind: Kind, left: Turns, amount: float, keeps: Keeper, floor: bool) -> Step | None:
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


def _plain(state: State, work: Parts, kinds: list[Kind]) -> list[Step]:
    steps: list[Step] = []
    for kind in kinds:
        for turns in work[kind]:
            steps.append(take(state, kind, turns))
            state = steps[-1].after
    return steps


def _numbered(steps: list[Step], target_dish: float) -> tuple[PlannedPass, ...]:
    return tuple(step.numbered(k + 1, target_dish) for k, step in enumerate(steps))


def in_stages(state: State, parts: Sequence[Turns], bounds: Bounds, target_dish: float = 0.0, *, alike_most: float,
              seconds: float, promise: Promise | None, gauge_again: bool) -> tuple[PlannedPass, ...] | None:
    """Passes of one part of the work after another, each in an order that keeps the way; None if one has none.

    Parameters
    ----------
    parts : sequence of (n,) ndarray
        [turn]
    gauge_again : bool
        Whether the gauge is read again before the last part.

    All others as of ``order_passes``.
    """
    whole, out = (state.tension, _after(state, np.sum(parts, axis=0)).tension), list[PlannedPass]()
    for k, turns in enumerate(parts):
        passes, sound = order_passes(state, turns, bounds, target_dish, alike_most=alike_most, seconds=seconds,
                                     promise=promise, ease=(False,), whole=whole, attempts=STAGED_ATTEMPTS)
        if not sound:
            return None
        out += [replace(one, gauge_again=gauge_again and k == len(parts) - 2 and one is passes[-1]) for one in passes]
        state = passes[-1].after.state
    return tuple(replace(one, number=k + 1) for k, one in enumerate(out))


def _after(state: State, turns: Turns) -> State:
    return equilibrium(state.wheel, state.turns + turns, state.own_shape, start=state)
