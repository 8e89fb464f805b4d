"""When no set of turns will do: which limits conflict, the least that would allow a plan, what turning can't mend."""

from dataclasses import replace

import numpy as np

from wheelsim.measures.quantities import Quantity
from wheelsim.planning.plan_result import Blocking
from wheelsim.planning.programme import MOST_NIPPLE_TURNS, Programme
from wheelsim.units import MM

BENT = 1.5  # limits' widths of the rim's own shape: little more than one is still pulled straight
LEAST_BENT = 0.8e-3  # and less than this is no bend to condemn a rim for [m]


def what_blocks(task, limits, watch):
    """Limits that stand in the way, each with the least by which it would have to give.

    Parameters
    ----------
    task : Task
        Whose hard bounds no turns keep, in fractions of a step either.
    limits : Bounds
        As the file states them; hard bounds may be tighter.
    watch : Watch

    Returns
    -------
    tuple of Blocking
        Those of which one alone is enough, if there are any; else all that must give together.
    """
    programme = Programme(replace(task, aims=task.hard), "turns")
    alone = []
    for name in Quantity:
        if not np.isfinite(task.hard.of(name)):
            continue
        least = programme.solve(watch, relax=True, excess={name})
        if least.feasible and least.turns is not None:
            alone.append(_blocking(name, least.excess[name], task.hard, limits, True))
    if any(alone):
        return tuple(one for one in alone if one is not None)
    least = programme.solve(watch, relax=True, excess=set(Quantity))
    if not least.excess:
        return ()
    together = [_blocking(name, over, task.hard, limits, False) for name, over in least.excess.items()]
    return tuple(one for one in together if one is not None)


def _blocking(name, over, hard, limits, alone):
    words, unit, scale = Quantity(name).trade, Quantity(name).unit, Quantity(name).per_si
    bound, limit = getattr(hard, name), getattr(limits, name)
    if over <= 1e-4 * max(abs(bound), 1e-9):
        return None
    needed = bound - over if name == "min_tension" else bound + over
    digits = 0 if unit == "N" else 2 if abs(needed - bound) * scale > 0.02 else 3
    shown, was, full = (f"{value * scale:.{digits}f} {unit}" for value in (needed, bound, limit))
    tighter = "" if bound == limit else (f" (kept here; the limit is {full}, less what the readings leave unsure or "
                                         "what the wheel keeps already: --margin 0, --to limits)")
    return Blocking(name, round(bound * scale, 4), round(needed * scale, 4), unit,
                    f"{words} would have to be {shown} instead of {was}{tighter}", alone)


def held_still(task, work, watch):
    """Whether it is what the job doesn't allow to be turned that stands in the way, in one sentence; else none."""
    held = [words for yes, words in (
        (work.stuck, "nipples that are stuck"), (work.leave, "nipples left alone"),
        (work.sides != "both", "turning one side only"), (work.direction == "loosen", "loosening only"),
        (work.direction == "tighten", "tightening only"),
        (work.max_turns is not None, "the thread left")) if yes]
    if not held:
        return ()
    free = replace(task, aims=task.hard, lowest=np.full(len(task.free), -MOST_NIPPLE_TURNS),
                   highest=np.full(len(task.free), MOST_NIPPLE_TURNS))
    if not Programme(free, "turns").solve(watch, relax=True).feasible:
        return ()
    return (f"with every nipple free to turn a plan exists, in fractions of a step; in the way: {', '.join(held)}",)


def beyond_turning(state, limits):
    """What no nipple can mend, in sentences: a rim bent more than its limits allow."""
    out = []
    for name, own, words in (("lateral_runout", state.own_shape[0], "out of true"),
                             ("radial_runout", state.own_shape[1], "out of round")):
        bent = float(np.ptp(own))
        if bent > max(BENT * getattr(limits, name), LEAST_BENT):
            out.append(f"the rim itself is bent {bent / MM:.1f} mm {words}, which no spoke length explains: pulling it "
                       "straight costs even tension; a rim bent that far is straightened or replaced by the makers' "
                       "rules, not trued")
    return tuple(out)
