"""Turns that the linear model allows and the nonlinear one refuses: the bounds they break, as rows for the programme.

The programme is linear about the best plan's state. An answer some turns away from it may keep every bound of that line
and break one on the nonlinear wheel by a hair; the same bound, linear about that answer, cuts it off, as in outer
approximation. There the constraints are convex and cuts valid everywhere; tensions and run-outs are not, so a cut may
shut out other answers by some newtons: it guides the search and is no part of a proof.

References
----------
M. A. Duran and I. E. Grossmann, An outer-approximation algorithm for a class of mixed-integer nonlinear programs,
Mathematical Programming 36 (1986) 307-339. Cited from memory.
"""

from collections.abc import Iterator

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import usual_tension
from wheelsim.mechanics.equilibrium import State
from wheelsim.planning.task import Cut, Task
from wheelsim.wheel.parts import SIDES


def cuts_of(task: Task, state: State, turns: Turns, bounds: Bounds) -> tuple[Cut, ...]:
    """One row for each bound that a state breaks, linear about it; none where it keeps them all.

    Parameters
    ----------
    task : Task
    state : State
        The nonlinear wheel after those turns.
    turns : (n,) ndarray
        From the task's start. [turn]
    bounds : Bounds
    """
    return tuple(Cut(row, most - value + float(row @ turns))
                 for row, value, most in bounded(task, state, bounds) if value > most)


def bounded(task: Task, state: State, hard: Bounds) -> Iterator[tuple[Floats, float, float]]:
    """Slope (n,) [per turn], value and upper bound of all that bounds limit; lower bounds as minus value.

    Of run-outs, the pairs of stations that break them.
    """
    felt = state.influence
    dish, slope = float(state.edge.mean()) - task.target_dish, felt.edge.mean(axis=0)
    for sign in (1.0, -1.0):
        yield sign * 2 * slope, sign * 2 * dish, hard.gap
    for shape, slopes, most in ((state.edge, felt.edge, hard.lateral_runout),
                                (state.radial, felt.radial, hard.radial_runout)):
        # A run-out is the largest of all differences of two stations.
        for high, low in np.argwhere(shape[:, None] - shape[None] > most):
            yield slopes[high] - slopes[low], float(shape[high] - shape[low]), most
    for side in SIDES:
        spokes = state.wheel.pulling(side)
        pull, slopes = state.tension[spokes], felt.tension[spokes]
        mean, mean_slope = float(pull.mean()), slopes.mean(axis=0)
        usual = usual_tension(state.wheel)[side]
        if usual > 0 and np.isfinite(hard.off_usual):
            for sign in (1.0, -1.0):
                yield sign * mean_slope / usual, sign * (mean / usual - 1), hard.off_usual
        for own, row in zip(pull.tolist(), slopes, strict=True):
            yield row, own, hard.max_tension
            yield -row, -own, -hard.min_tension
            for sign in (1.0, -1.0):
                share = sign + hard.side_spread
                yield sign * row - share * mean_slope, sign * own - share * mean, 0.0
