"""When no set of turns will do: which limits conflict, the least that would allow a plan, what turning can't mend."""

from dataclasses import dataclass, replace

import numpy as np

from wheelsim.encoded import Encoded
from wheelsim.job.job import Work
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.equilibrium import State
from wheelsim.mechanics.structure import NoStableState
from wheelsim.planning.highs import Watch
from wheelsim.planning.notes import HeldStill, Hold, RimBent
from wheelsim.planning.programme import MOST_NIPPLE_TURNS, Programme
from wheelsim.planning.task import Task

BENT = 1.5  # the rim's own shape over the limit, from which it is called bent; less can be pulled straight: own choice
LEAST_BENT = 0.8e-3  # and its least size to be called bent; own choice [m]


@dataclass(frozen=True, eq=False)
class Blocking(Encoded):
    """A limit that stands in the way, in the bench's units.

    Attributes
    ----------
    name : str
        Of the limit; "stability" where the wheel as it came in has no stable state.
    limit, needed : float
        What is kept, and the least that would do.
    stated : float
        The limit as the file states it; more than what is kept where something is kept from it.
    alone : bool
        Whether this one giving way is enough; else all of them must.
    because : NoStableState or None
        For "stability".
    """

    name: str
    limit: float
    needed: float
    unit: str
    stated: float
    alone: bool = True
    because: NoStableState | None = None


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
    kept, needed, stated = (round(value * scale, 4) for value in (bound, bound + quantity.sign * over, limit))
    return Blocking(name, kept, needed, unit, stated, alone)


def held_still(task: Task, work: Work, watch: Watch) -> tuple[HeldStill, ...]:
    """What the job doesn't allow to be turned, if it is that which stands in the way; else nothing."""
    held = tuple(hold for yes, hold in (
        (work.stuck, Hold.STUCK), (work.leave, Hold.LEFT_ALONE), (work.sides != "both", Hold.ONE_SIDE),
        (work.direction == "loosen", Hold.LOOSEN_ONLY), (work.direction == "tighten", Hold.TIGHTEN_ONLY),
        (work.max_turns is not None, Hold.THREAD)) if yes)
    if not held:
        return ()
    free = replace(task, aims=task.hard, lowest=np.full(len(task.free), -MOST_NIPPLE_TURNS),
                   highest=np.full(len(task.free), MOST_NIPPLE_TURNS))
    if not Programme(free, "turns").solve(watch, relax=True).feasible:
        return ()
    return (HeldStill(held),)


def beyond_turning(state: State, limits: Bounds) -> tuple[RimBent, ...]:
    """What no nipple can mend: a rim bent more than its limits allow."""
    lateral, radial = (float(np.ptp(own)) for own in state.own_shape)
    return tuple(RimBent(name, height) for name, height in ((Quantity.TRUE, lateral), (Quantity.ROUND, radial))
                 if height > max(BENT * limits.of(name), LEAST_BENT))
