"""How many turns any plan takes at least, and the fewest by count alone."""

import math
from dataclasses import replace

from wheelsim.arrays import Turns
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import Quantity
from wheelsim.planning.highs import Watch
from wheelsim.planning.plan_result import total
from wheelsim.planning.programme import Programme
from wheelsim.planning.score import TIES
from wheelsim.planning.solve import Settled, settle
from wheelsim.planning.task import Task


def as_good(task: Task, striving: Bounds, hard: Bounds, plan: Settled, relaxed: Turns | None,
            watch: Watch) -> Settled | None:
    """Literal fewest turns that leave the wheel as good as a plan does, in what effort a watch has."""
    reached = {name: (min if name is Quantity.LOWEST else max)(striving.of(name), value)
               for name, value in plan.after.values.items()}
    reached[Quantity.OFF_USUAL] = math.inf  # the fewest by count alone leave tension where its limits allow it
    aims = hard.tighter_of(Bounds(**reached))
    return settle(replace(task, aims=aims), "turns", watch, relaxed, plan.turns)


def bound_of(task: Task, hard: Bounds, watch: Watch, found: Settled) -> float:
    """No plan as good takes fewer turns: whole steps, so rounded up."""
    if found.proven and found.bound:
        return total(found.turns)
    bound, any_plan = _round_up(min(found.bound, total(found.turns)), task.step), least(task, hard, watch, found)
    return min(bound if any_plan is None else max(bound, any_plan), total(found.turns))


def least(task: Task, hard: Bounds, watch: Watch, found: Settled | None = None) -> float | None:
    """No plan within the hard bounds takes fewer turns: their relaxation, about where a plan ends; None: none known."""
    there = task if found is None else replace(task, state=found.after.state, turned=found.turns)
    relaxed = Programme(replace(there, aims=hard), "turns").solve(watch, relax=True)
    return None if relaxed.bound is None else _round_up(relaxed.bound, task.step)


def _round_up(turns: float, step: float) -> float:
    # Prices hold some thousandths of a turn for evenness, which are no turns.
    return math.ceil((max(turns, 0.0) - TIES) / step) * step + 0.0
