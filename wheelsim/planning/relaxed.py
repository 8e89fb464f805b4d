"""The relaxation of a task: turns in fractions of a step, or that there are none."""

from dataclasses import replace

import numpy as np

from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import Quantity
from wheelsim.planning.highs import Watch
from wheelsim.planning.plan_result import total
from wheelsim.planning.programme import Programme, ProgrammeAnswer
from wheelsim.planning.solve import exactly_after
from wheelsim.planning.task import Task
from wheelsim.planning.whole_sides import whole_sides

ROUNDS = 5  # of relinearising about the state where the relaxation ends; own choice


def relaxation(task: Task, aims: Bounds, watch: Watch) -> tuple[ProgrammeAnswer, Task]:
    """The relaxation, feasible about some state if it is about any, and the task about that state.

    About the wheel as it came in, a turn or two away may look forbidden that the real wheel allows, so the relaxation
    is carried to where it comes nearest and asked again; what whole sides really do counts too. Where there is none,
    the task is about the state that comes nearest the limits: what stands in the way is asked there.
    """
    start = task
    for _ in range(ROUNDS):
        relaxed = Programme(task, "turns").solve(watch, relax=True, strive=True)
        if relaxed.feasible:
            return relaxed, task
        nearest = Programme(replace(task, aims=task.hard), "turns").solve(watch, relax=True, excess=set(Quantity))
        if nearest.turns is None:
            break
        state = exactly_after(task.start, nearest.turns)
        if state is None or np.allclose(nearest.turns, task.turned, atol=1e-3):
            break
        task = replace(task, state=state, turned=nearest.turns)
    sides = whole_sides(start, aims)
    if sides is not None:
        return ProgrammeAnswer(sides.turns, total(sides.turns), 0.0, False, True), start
    return relaxed, task
