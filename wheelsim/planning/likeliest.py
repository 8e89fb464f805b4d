"""Of plans that cost about the same, the one likeliest to end within every limit."""

from dataclasses import replace

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.outlook import Chances
from wheelsim.measures.bounds import Bounds, broken
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import view
from wheelsim.planning.score import TIES, Scorer
from wheelsim.planning.search import Neighbours
from wheelsim.planning.solve import Settled, exactly_after, keeps
from wheelsim.planning.task import Task

DRAWS = 2000  # wheels that plans are compared on, the same for each: own choice
MORE_LIKELY = 0.02  # share of them that another plan must gain, twice the standard error of a share near one half
SURE_ENOUGH = 0.95  # share from which no other plan is looked for: own choice
LOOKED_AT = 6  # other plans, those that leave most room: own choice


def likeliest(task: Task, fewest: str, found: Settled, estimate: Estimate, limits: Bounds, dearer: float) -> Settled:
    """The plan, or one that differs in one or two nipples and is clearly likelier to end within every limit.

    Parameters
    ----------
    task : Task
        Whose hard bounds are kept.
    fewest : "hand", "turns", "nipples" or "passes"
    found : Settled
    estimate : Estimate
        Whose wheels are drawn, as in ``outlook``.
    limits : Bounds
    dearer : float
        What the other plan may cost more. [turn]
    """
    chances = Chances(estimate, limits, task.target_dish, DRAWS)
    best, most = found, chances.of(task.start, found.after.state, found.turns)
    missed = set(broken(found.after.values, task.aims))
    if most >= SURE_ENOUGH:
        return found
    there = replace(task, state=found.after.state, turned=found.turns)
    for turns, price in _others(there, fewest, found, limits, dearer):
        state = exactly_after(task.start, turns)
        if not keeps(state, task.hard, task.target_dish):
            continue
        after = view(state, task.target_dish)
        if not set(broken(after.values, task.aims)) <= missed:
            continue
        chance = chances.of(task.start, state, turns)
        if chance > most + (MORE_LIKELY if best is found or price > best.price + TIES else 0.0):
            proven = found.proven and price < found.price + TIES
            best, most = replace(found, turns=turns, after=after, price=price, proven=proven), chance
    return best


def _others(task: Task, fewest: str, found: Settled, limits: Bounds, dearer: float) -> list[tuple[Turns, float]]:
    """Exchanges of one or two nipples that cost little more, and their prices; most room to the limits first."""
    scorer = Scorer(task, fewest)
    turns, prices, fills = [], [], []
    for candidates, felt in Neighbours(scorer).exchanges(found.turns):
        score = scorer.score(candidates, felt)
        other = (np.abs(candidates - found.turns[:, None]) > 1e-9).any(axis=0)
        good = np.flatnonzero(other & (score < found.price + dearer + TIES))
        turns.append(candidates[:, good])
        prices.append(score[good])
        fills.append(_fill(scorer.measure([values[:, good] for values in felt]), limits))
    every, price, fill = np.hstack(turns), np.concatenate(prices), np.concatenate(fills)
    return [(every[:, k], float(price[k])) for k in np.argsort(fill, kind="stable")[:LOOKED_AT]]


def _fill(values: dict[Quantity, Floats], limits: Bounds) -> Floats:
    """How much of its limit the fullest run-out, spread or gap takes: (k,)."""
    names = (Quantity.GAP, Quantity.TRUE, Quantity.ROUND, Quantity.SPREAD)
    return np.asarray(np.max([values[name] / max(limits.of(name), 1e-9) for name in names], axis=0))
