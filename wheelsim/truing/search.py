"""A good whole-step answer at once: rounded relaxation, then exchanges of one and two nipples.

Works on the same linear model as the programme, on many candidates side by side.
"""

import time

import numpy as np

from wheelsim.truing.bounds import QUANTITIES
from wheelsim.truing.programme import EXCESS_PRICE, NAMED_PRICE
from wheelsim.wheel.parts import SIDES

BROKEN_PRICE = 1e4  # turns for a hard bound broken by a whole aim's width
STARTS = 12


class Scorer:
    """Price of whole-step turns on one task, for columns of candidates.

    Parameters
    ----------
    task : Task
    fewest : "hand", "turns", "nipples" or "passes"
    """

    def __init__(self, task, fewest):
        self.task, self.fewest = task, fewest
        state = task.state
        self.influence = state.influence
        self.lateral = state.lateral - self.influence.lateral @ task.turned
        self.radial = state.radial - self.influence.radial @ task.turned
        self.tension = state.tension - self.influence.tension @ task.turned
        self.sides = [np.array(state.wheel.on_side(side)) for side in SIDES]
        self.pulling = [state.wheel.pulling(side) for side in SIDES]

    def felt(self, turns):
        """Lateral, radial and tension, each (n, k), after turns (n, k)."""
        return (self.lateral[:, None] + self.influence.lateral @ turns,
                self.radial[:, None] + self.influence.radial @ turns,
                self.tension[:, None] + self.influence.tension @ turns)

    def measure(self, felt):
        """The bounded quantities of (n, k) shapes and tensions: dict of (k,)."""
        lateral, radial, tension = felt
        spread = np.zeros(lateral.shape[1])
        lowest = np.full(lateral.shape[1], np.inf)
        for spokes in self.pulling:
            mine = tension[spokes]
            mean = mine.mean(axis=0)
            off = np.maximum(mine.max(axis=0) - mean, mean - mine.min(axis=0))
            spread = np.maximum(spread, off / np.maximum(mean, 1.0))
            lowest = np.minimum(lowest, mine.min(axis=0))
        return {
            "gap": np.abs(2 * (lateral.mean(axis=0) - self.task.target_dish)),
            "lateral_runout": np.ptp(lateral, axis=0),
            "radial_runout": np.ptp(radial, axis=0),
            "side_spread": spread,
            "max_tension": tension.max(axis=0),
            "min_tension": lowest,
        }

    def excess(self, measure, bounds):
        """Widths of aims by which each candidate lies outside bounds, summed over the quantities: (k,)."""
        total = 0.0
        for name in QUANTITIES:
            over = measure[name] - getattr(bounds, name)
            over = -over if name == "min_tension" else over
            total = total + np.maximum(over, 0.0) / max(abs(getattr(self.task.aims, name)), 1e-9)
        return total

    def price(self, turns):
        """What turns (n, k) cost: (k,)."""
        if self.fewest == "turns":
            return np.abs(turns).sum(axis=0)
        if self.fewest == "nipples":
            return np.count_nonzero(turns, axis=0) + 1e-3 * np.abs(turns).sum(axis=0)
        if self.fewest == "passes":
            return 1e-3 * np.abs(turns).sum(axis=0) + sum(
                (np.maximum(turns[s].max(axis=0), 0) + np.maximum(-turns[s].min(axis=0), 0)) / self.task.step
                for s in self.sides)
        total = np.zeros(turns.shape[1])
        for spokes in self.sides:
            mine = turns[spokes[self.task.free[spokes]]]
            if not len(mine):
                continue
            best = np.full(turns.shape[1], np.inf)
            middle = np.round(np.median(mine, axis=0) / self.task.step) * self.task.step
            for whole in (np.zeros_like(middle), middle):
                single = np.abs(mine - whole)
                named = single > 1e-9
                price = len(mine) * np.abs(whole) + single.sum(axis=0) + NAMED_PRICE * named.sum(axis=0)
                best = np.minimum(best, price)
            total += best
        return total

    def score(self, turns, felt=None):
        """Price with all excess: (k,). Finite always; below ``BROKEN_PRICE`` times a hair it is feasible."""
        measure = self.measure(self.felt(turns) if felt is None else felt)
        return (self.price(turns) + EXCESS_PRICE * self.excess(measure, self.task.aims)
                + BROKEN_PRICE * self.excess(measure, self.task.hard))


def _moves(task, sides):
    """Every single step of a free nipple either way, and of each whole side: (n, m), (n, s)."""
    n = len(task.free)
    ones = np.eye(n)[:, task.free] * task.step
    whole = np.zeros((n, 2))
    for k, spokes in enumerate(sides):
        whole[spokes[task.free[spokes]], k] = task.step
    return np.hstack([ones, -ones]), np.hstack([whole, -whole])


def descend(scorer, turns, deadline=np.inf):
    """Best neighbour after best neighbour from turns (n,), until none is better."""
    task = scorer.task
    single, whole = _moves(task, scorer.sides)
    moves = np.hstack([single, whole])
    first, second = np.triu_indices(single.shape[1], 1)
    pairs = single[:, first] + single[:, second]
    influence = scorer.influence
    felt_moves = [m @ moves for m in (influence.lateral, influence.radial, influence.tension)]
    felt_pairs = [f[:, first] + f[:, second] for f in felt_moves]
    most = np.inf if task.max_turns is None else task.max_turns
    top = 0.0 if task.loosen_only else most

    def allowed(candidates):
        return (candidates.max(axis=0) <= top + 1e-9) & (candidates.min(axis=0) >= -most - 1e-9)

    now = scorer.felt(turns[:, None])
    score = scorer.score(turns[:, None], now)[0]
    while time.monotonic() < deadline:
        for steps, felt_steps in ((moves, felt_moves), (pairs, felt_pairs)):
            candidates = turns[:, None] + steps
            felt = [base + change for base, change in zip(now, felt_steps, strict=True)]
            scores = np.where(allowed(candidates), scorer.score(candidates, felt), np.inf)
            best = int(scores.argmin())
            if scores[best] < score - 1e-9:
                turns, score = candidates[:, best], scores[best]
                now = [f[:, best:best + 1] for f in felt]
                break
        else:
            break
    return turns, score


def side_grid(scorer, most=6.0):
    """Whole-side passes only: every pair of them, (n, k) turns, (k, 2) right and left."""
    task = scorer.task
    most = most if task.max_turns is None else min(most, task.max_turns)
    count = int(most / task.step + 1e-9)
    steps = np.arange(-count, (0 if task.loosen_only else count) + 1) * task.step
    pair = np.stack(np.meshgrid(steps, steps, indexing="ij"), axis=-1).reshape(-1, 2)
    turns = np.zeros((len(task.free), len(pair)))
    for k, spokes in enumerate(scorer.sides):
        turns[spokes[task.free[spokes]]] = pair[:, k]
    keep = np.ones(len(pair), dtype=bool)
    for k, spokes in enumerate(scorer.sides):
        if not task.free[spokes].any():
            keep &= pair[:, k] == 0
    return turns[:, keep], pair[keep]


def first_answer(scorer, relaxed, seconds, seed=0):
    """A good answer quickly, from the relaxation (n,) and the whole-side passes.

    Returns
    -------
    turns : (n,) ndarray
    score : float
    """
    task = scorer.task
    deadline = time.monotonic() + seconds
    rng = np.random.default_rng(seed)
    grid, _ = side_grid(scorer)
    scores = scorer.score(grid)
    starts = [grid[:, int(scores.argmin())]]
    if relaxed is not None:
        steps = relaxed / task.step
        starts.append(np.round(steps) * task.step)
        for _ in range(STARTS):
            starts.append(np.floor(steps + rng.random(len(steps))) * task.step)
    best, best_score = None, np.inf
    for start in starts:
        turns, score = descend(scorer, np.where(task.free, start, 0.0), deadline)
        if score < best_score - 1e-9:
            best, best_score = turns, score
        if time.monotonic() > deadline:
            break
    return best + 0.0, float(best_score)
