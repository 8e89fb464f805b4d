"""Whole-step turns for a task, found quickly, then improved or proven, on the wheel as it really moves."""

import math
import time
from dataclasses import dataclass, replace

import numpy as np

from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.truing.bounds import broken, measured
from wheelsim.truing.programme import Programme
from wheelsim.truing.search import Scorer, first_answer, side_grid
from wheelsim.truing.view import View, view

MOST_ROUNDS = 6  # of linearising anew where the plan ends


@dataclass(frozen=True, eq=False)
class Found:
    """Turns (n,) that keep the hard bounds on the nonlinear wheel.

    ``bound`` is a proven lower bound on the price of any, in the measure asked for.
    """

    turns: np.ndarray
    after: View
    proven: bool
    bound: float


def exactly_after(start, turns):
    """The nonlinear wheel after turns (n,) from a state, or None where it has no stable answer."""
    try:
        return equilibrium(start.wheel, start.turns + turns, start.own_shape, start=start)
    except Unstable:
        return None


def keeps(state, bounds, target_dish):
    """Whether a state (or None) lies within bounds."""
    return state is not None and not broken(measured(view(state), target_dish), bounds)


def whole_sides(task, aims):
    """Whole-side passes that come nearest the aims, every pair of them weighed; None if none keeps the hard bounds.

    A hand centres a true, even wheel by whole sides, and accepts the gap that whole steps leave
    rather than spoil the true. To miss the aim, and again each aim's width of missing it, costs
    like one more step of a side; between equals the wheel that keeps its tension is better.
    """
    start = task.start
    scorer = Scorer(task, "hand")
    grid, _ = side_grid(scorer)
    felt = scorer.felt(grid)
    measure = scorer.measure(felt)
    price = scorer.price(grid)
    mean = max(float(start.tension.mean()), 1.0)
    drift = np.abs(felt[2].mean(axis=0) - mean) / mean
    side_step = task.step * len(task.free) / 2

    def rank(over, k):
        return price[k] + side_step * ((over > 1e-6) + over + 2 * drift[k])

    # The linear model is a few per cent off over a turn: look at all that nearly keep the bounds.
    near = np.flatnonzero(scorer.excess(measure, task.hard) < 0.3)
    ranks = rank(scorer.excess(measure, aims)[near], near)
    best = None
    for k, roughly in sorted(zip(near, ranks, strict=True), key=lambda pair: pair[1]):
        if best is not None and roughly > best[0] + 2 * side_step:
            break
        after = exactly_after(start, grid[:, k])
        if keeps(after, task.hard, task.target_dish):
            seen = view(after)
            values = {name: np.array([value]) for name, value in measured(seen, task.target_dish).items()}
            score = rank(scorer.excess(values, aims)[0], k)
            if best is None or score < best[0]:
                best = (score, Found(grid[:, k], seen, True, float(price[k])))
    return None if best is None else best[1]


def settle(task, fewest, seconds, relaxed, known=None):
    """The best whole-step turns found: Found, or None; never worse than ``known`` turns (n,) that keep the bounds.

    First the quick search, linearised anew where its answer takes the wheel until that stands;
    then the programme, which finds something cheaper or proves that there is nothing.
    """
    deadline = time.monotonic() + seconds
    least = Programme(task, fewest).solve(2.0, relax=True)
    floor = least.cost if least.turns is not None else 0.0
    best, task = _quick(task, fewest, relaxed, deadline, known)
    bound, proven = floor, False
    for _ in range(MOST_ROUNDS):
        left = deadline - time.monotonic()
        if left <= 0.05:
            break
        answer, bound = _exactly(task, fewest, left, best)
        if answer.turns is None:
            # A proof counts only where the plan ends: there the linear wheel is the real one.
            proven = best is not None and not answer.feasible and np.allclose(task.turned, best[0])
            break
        state = exactly_after(task.start, answer.turns)
        if state is None:
            break
        score = _score(answer.turns, state, task, fewest)
        if keeps(state, task.hard, task.target_dish) and (best is None or score < best[2] - 1e-6):
            best = (answer.turns, state, score)
        elif np.allclose(task.turned, answer.turns):
            break
        task = replace(task, state=state, turned=answer.turns)
    if best is None:
        return None
    if proven:
        bound = max(bound, best[2] if fewest == "turns" else 0.0)
    return Found(best[0], view(best[1]), proven, bound)


def _quick(task, fewest, start, deadline, known):
    """Search and linearise anew: the best found, (turns, state, score) or None, and the task there."""
    best = None
    if known is not None:
        state = exactly_after(task.start, known)
        if keeps(state, task.hard, task.target_dish):
            best = (known, state, _score(known, state, task, fewest))
    for _ in range(MOST_ROUNDS):
        turns, _ = first_answer(Scorer(task, fewest), start, min(1.0, deadline - time.monotonic()))
        state = exactly_after(task.start, turns)
        if state is None:
            break
        score = _score(turns, state, task, fewest)
        if keeps(state, task.hard, task.target_dish) and (best is None or score < best[2] - 1e-6):
            best = (turns, state, score)
        if np.allclose(task.turned, turns) or time.monotonic() > deadline:
            break
        task = replace(task, state=state, turned=turns)
        start = turns
    if best is not None:
        task = replace(task, state=best[1], turned=best[0])
    return best, task


def quick(task, fewest, relaxed, deadline):
    """A good answer without proof: Found, its ``bound`` the price it has; or None."""
    best, _ = _quick(task, fewest, relaxed, deadline, None)
    return None if best is None else Found(best[0], view(best[1]), False, best[2])


def _exactly(task, fewest, seconds, best):
    """The programme's answer better than ``best``, and its bound on the price of any."""
    programme = Programme(task, fewest)
    relaxed = programme.solve(seconds, relax=True, strive=True)
    if not relaxed.feasible:
        return relaxed, math.inf
    if best is None:
        answer = programme.solve(seconds, strive=True)
    else:
        met = keeps(best[1], task.aims, task.target_dish)
        # Cheaper by the least that whole steps and names can differ, or not at all.
        grain = min(task.step, 0.25) if met and fewest in ("hand", "turns") else 2e-3
        answer = programme.solve(seconds, strive=not met, ceiling=best[2] - 0.5 * grain)
    bounds = [b for b in (relaxed.cost, answer.bound) if b is not None and math.isfinite(b)]
    return answer, max(bounds, default=0.0)


def _score(turns, state, task, fewest):
    return float(Scorer(replace(task, state=state, turned=turns), fewest).score(turns[:, None])[0])
