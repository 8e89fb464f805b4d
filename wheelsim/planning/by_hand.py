"""What a plan by hand takes into account beside turns: which nipples may be named, which come first."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from wheelsim.arrays import Bools, Turns
from wheelsim.estimation.known import Known
from wheelsim.measures.bounds import Bounds, broken, within
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View, view
from wheelsim.planning.passes import PlannedPass
from wheelsim.planning.plan_result import named_nipples
from wheelsim.planning.singles import singles_and_sides
from wheelsim.planning.solve import Settled, exactly_after
from wheelsim.planning.stands_out import evening_turns, stands_out
from wheelsim.planning.task import Task
from wheelsim.planning.what_first import First, TrueFirst
from wheelsim.readings.reading import all_round
from wheelsim.wheel.parts import Wheel

# Of the gap allowed, that a wobble may make of a gauge reading: beyond it, and with no dial all round to true the rim
# by, nothing is turned. Own choice.
TOO_DOUBTFUL = 0.5
NEAR_DISH = 0.05e-3  # passes that move the dish by no more leave it; own choice: no feeler shows less [m]
ROUNDS = 4  # of linearising anew where the turns of an odd spoke end; own choice


def odd_ones(told: Known, before: View) -> tuple[int, ...]:
    """Spokes, from 1, that are mended before all others: those put in anew, else one or two that make it uneven."""
    return tuple(sorted(told.job.wheel.spokes.missing)) or stands_out(told, before.state)


def nameable(told: Known, odd: tuple[int, ...]) -> Bools | None:
    """Nipples that may be turned otherwise than their side, (n,); None: all, for the rim was read all round.

    Where the dial was read at a few places only, a single nipple may put the rim out of true where nobody looks: only
    ``odd`` ones may be named.
    """
    if not told.log or _read_all_round(told):
        return None
    may = np.zeros(told.job.wheel.n, dtype=bool)
    may[[spoke - 1 for spoke in odd]] = True
    return may


def _read_all_round(told: Known) -> bool:
    return any(all_round(one.reading.lateral, told.job.wheel.n) for one in told.log)


def rim_unread(told: Known, before: View, once: float, *, all_else_right: bool = False) -> bool:
    """Whether the rim is known to be out of true, but not where else: nothing is turned before it is read all round.

    By the dial's highest and lowest place, or by a few places and too far for the gauge to be believed, or where all
    else is right; ``once``: how far the wobble may set one gauge reading off. [m]
    """
    limits = told.job.wheel.limits
    if _read_all_round(told) or within(Quantity.TRUE, before.true, limits.lateral_runout):
        return False
    some = any(len(one.reading.lateral) > 1 for one in told.log)
    return told.read[Quantity.TRUE] or (some and (all_else_right or once > TOO_DOUBTFUL * limits.gap))


def moved(passes: Sequence[PlannedPass]) -> float:
    """By how much passes move the dish in all. [m]"""
    return abs(passes[-1].after.dish - passes[0].before.dish) if passes else 0.0


def firsts(first: tuple[First, ...], passes: tuple[PlannedPass, ...], *, gaugeless: bool) -> tuple[First, ...]:
    """What comes before the first pass; whether that one trues the rim is known only with the passes."""
    trues = gaugeless or (bool(passes) and named_nipples(passes[0].before.wheel, passes[0].turns) > 0
                          and moved(passes[:1]) <= max(moved(passes) / 2, NEAR_DISH))
    return tuple(replace(one, passes=trues) if isinstance(one, TrueFirst) else one for one in first)


def stages(turns: Turns, wheel: Wheel, odd: tuple[int, ...], *, true_first: bool) -> tuple[list[Turns], bool]:
    """Turns (n,) in the order of the work: odd ones, then single nipples, then whole sides; none of them empty.

    And whether whole sides are the last of several.
    """
    first = np.zeros_like(turns)
    first[[spoke - 1 for spoke in odd]] = turns[[spoke - 1 for spoke in odd]]
    rest = turns - first
    if not true_first:
        return [one for one in (first, rest) if one.any()], False
    parts = [first, *singles_and_sides(rest, wheel)]
    return [one for one in parts if one.any()], bool(parts[2].any())


def odd_alone(task: Task, odd: tuple[int, ...], limits: Bounds, unseen: frozenset[Quantity]) -> Settled | None:
    """Turns of odd spokes' nipples, and of no other, that leave the spokes most alike; None where they don't help.

    They help where they bring the wheel within its limits; or where the rim was not read all round and no limit is left
    further behind; spokes put in anew are drawn up in any case. The wheel is read anew before anything else is turned.
    """
    if not odd or not all(task.free[spoke - 1] for spoke in odd):
        return None
    spokes = [spoke - 1 for spoke in odd]
    put_in = bool(task.start.slack[spokes].all())
    state, turned = task.state, task.turned
    for _ in range(ROUNDS):
        turns = np.zeros(len(task.free))
        turns[spokes] = np.round((turned[spokes] + evening_turns(state, spokes)) / task.step) * task.step
        turns = np.clip(turns, task.lowest, task.highest)
        after = exactly_after(task.start, turns)
        if after is None:
            return None
        done = np.allclose(turns, turned)
        state, turned = after, turns
        if done:
            break
    if not turned.any():
        return None
    before, seen = view(task.start, task.target_dish), view(state, task.target_dish)
    missed = set(broken(seen.values, limits)) - unseen
    worse = any(name.sign * (seen.values[name] - before.values[name]) > 0 for name in missed)
    if missed and not put_in and (worse or task.nameable is None):
        return None
    return Settled(turned, seen, float(np.abs(turned).sum()))
