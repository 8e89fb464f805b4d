"""When no set of turns will do: which limits conflict, the least that would allow a plan, what turning can't mend."""

from dataclasses import dataclass, replace

import numpy as np

from wheelsim.job.job import Work
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.equilibrium import State
from wheelsim.planning.highs import Watch
from wheelsim.planning.programme import MOST_NIPPLE_TURNS, Programme, Task
from wheelsim.units import MM

BENT = 1.5  # limits' widths of the rim's own shape: little more than one is still pulled straight
LEAST_BENT = 0.8e-3  # and less than this is no bend to condemn a rim for [m]


@dataclass(frozen=True, eq=False)
class Blocking:
    """A limit that stands in the way: what is allowed and the least that would do, in the bench's units.

    ``alone`` says that this one giving way is enough; else all of them must.
    """

    name: str
    limit: float
    needed: float
    unit: str
    words: str
    alone: bool = True

    def as_dict(self) -> dict[str, object]:
        return {"name": self.name, "limit": self.limit, "needed": self.needed, "unit": self.unit,
                "words": self.words, "alone": self.alone}


def what_blocks(task: Task, limits: Bounds, watch: Watch) -> tuple[Blocking, ...]:
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


def _blocking(name: str, over: float, hard: Bounds, limits: Bounds, alone: bool) -> Blocking | None:
    quantity = Quantity(name)
    unit, scale = quantity.unit, quantity.per_si
    bound, limit = hard.of(quantity), limits.of(quantity)
    if over <= 1e-4 * max(abs(bound), 1e-9):
        return None
    needed = bound + quantity.sign * over
    digits = 0 if unit == "N" else 2 if abs(needed - bound) * scale > 0.02 else 3
    shown, was, full = (f"{value * scale:.{digits}f} {unit}" for value in (needed, bound, limit))
    tighter = "" if bound == limit else (f" (kept here; the limit is {full}, less what the readings leave unsure or "
                                         "what the wheel keeps already: --margin 0, --to limits)")
    return Blocking(name, round(bound * scale, 4), round(needed * scale, 4), unit,
                    f"{quantity.trade} would have to be {shown} instead of {was}{tighter}", alone)


def held_still(task: Task, work: Work, watch: Watch) -> tuple[str, ...]:
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


def beyond_turning(state: State, limits: Bounds) -> tuple[str, ...]:
    """What no nipple can mend, in sentences: a rim bent more than its limits allow."""
    out = []
    for name, own, words in ((Quantity.TRUE, state.own_shape[0], "out of true"),
                             (Quantity.ROUND, state.own_shape[1], "out of round")):
        bent = float(np.ptp(own))
        if bent > max(BENT * limits.of(name), LEAST_BENT):
            out.append(f"the rim itself is bent {bent / MM:.1f} mm {words}, which no spoke length explains: pulling it "
                       "straight costs even tension; a rim bent that far is straightened or replaced by the makers' "
                       "rules, not trued")
    return tuple(out)
