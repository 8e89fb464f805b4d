"""How many turns any plan takes at least."""

import math
from dataclasses import replace

from wheelsim.measures.bounds import Bounds
from wheelsim.planning.highs import Watch
from wheelsim.planning.plan_result import total
from wheelsim.planning.programme import Programme
from wheelsim.planning.score import TIES
from wheelsim.planning.solve import Settled
from wheelsim.planning.task import Task


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
