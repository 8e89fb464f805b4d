"""A good whole-step answer at once: rounded relaxation, then exchanges of one and two nipples.

Works on the same linear model as the programme, on many candidates side by side.
"""

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from wheelsim.arrays import Floats, Ints, Turns
from wheelsim.planning.highs import ENTRIES_A_UNIT, Watch
from wheelsim.planning.prices import ExchangePrices
from wheelsim.planning.score import SAME_SCORE, Felt, Scorer
from wheelsim.planning.task import Task

STARTS = 4  # random roundings of the relaxation; own choice
KICKED = 5  # fewer nipples than this are changed at random to leave a local minimum; own choice
PRICED = 1.5  # entries that each of a search's own counts as, so that a unit of effort is about a second
A_STEP = 5e3  # entries that looking at one set of exchanges counts as, however few they are


def _moves(task: Task, sides: list[npt.NDArray[np.intp]]) -> tuple[Floats, Floats]:
    """Every single step of a free nipple either way, and of each whole side: (n, m), (n, s)."""
    n = len(task.free)
    ones = np.eye(n)[:, task.free] * task.step
    whole = np.zeros((n, 2))
    for k, spokes in enumerate(sides):
        whole[spokes[task.free[spokes]], k] = task.step
    return np.hstack([ones, -ones]), np.hstack([whole, -whole])


class Neighbours:
    """Every exchange of one nipple, of a whole side or of two nipples, and what each is felt as; once a task."""

    def __init__(self, scorer: Scorer) -> None:
        self.scorer, task = scorer, scorer.task
        single, whole = _moves(task, scorer.sides)
        first, second = np.triu_indices(single.shape[1], 1)
        other = second != first + single.shape[1] // 2  # not a step of one nipple and the same step taken back
        self.first, self.second = first, second = first[other], second[other]
        influence = scorer.influence
        self.sets, self.singles = [], single.shape[1]
        moves = np.hstack([single, whole])
        felt = [m @ moves for m in (influence.edge, influence.radial, influence.tension)]
        self.sets.append((moves, felt))
        self.sets.append((single[:, first] + single[:, second], [f[:, first] + f[:, second] for f in felt]))
        self.rows = [scorer.rows(felt) for _, felt in self.sets]
        self.prices = None if scorer.fewest == "passes" else ExchangePrices(scorer, first, second)
        self.top, self.bottom = task.highest[:, None] + 1e-9, task.lowest[:, None] - 1e-9

    def descend(self, turns: Floats, watch: Watch | None = None, *, soft: bool = False) -> tuple[Floats, float]:
        """Best neighbour after best neighbour from turns (n,), until none is better or the watch has no effort left.

        Returns the turns and their score.
        """
        scorer = self.scorer
        felt = scorer.felt(turns[:, None])
        score, now = scorer.score(turns[:, None], felt, soft=soft)[0], scorer.rows(felt)
        while watch is None or watch.left():
            for (steps, _), rows, may, prices in zip(self.sets, self.rows, self._may(turns), self._prices(turns),
                                                     strict=True):
                # What breaks a bound costs more than its price: a dearer exchange need not be felt.
                good = np.flatnonzero((prices < score - SAME_SCORE) & may)
                best, least, weighed = scorer.least(now, rows, good, prices[good], score - SAME_SCORE, soft=soft)
                if watch is not None:
                    watch.spend((A_STEP + PRICED * (len(may) + weighed / 3)) / ENTRIES_A_UNIT)
                if best is not None:
                    turns, score = turns + steps[:, best], least
                    now = now.plus(rows.column(best))
                    break
            else:
                break
        return turns, score

    def _may(self, turns: Floats) -> Iterator[npt.NDArray[np.bool_]]:
        """Which of the exchanges from turns (n,) leave every nipple within what it may be turned: (k,) each."""
        one = self._allowed(turns[:, None] + self.sets[0][0])
        yield one
        yield one[self.first] & one[self.second]  # of two nipples, each by itself

    def _prices(self, turns: Floats) -> Iterator[Floats]:
        """What the turns after each exchange from turns (n,) cost: (k,) each."""
        if self.prices is None:
            return (self.scorer.price(turns[:, None] + steps) for steps, _ in self.sets)
        return self.prices.of(turns)

    def exchanges(self, turns: Floats) -> Iterator[tuple[Floats, Felt]]:
        """Every allowed exchange from turns (n,): (n, k) turns and what they are felt as, those of one nipple first."""
        for candidates, felt in self._exchanges(turns, self.scorer.felt(turns[:, None])):
            allowed = self._allowed(candidates)
            yield candidates[:, allowed], [values[:, allowed] for values in felt]

    def _exchanges(self, turns: Floats, now: Felt) -> Iterator[tuple[Floats, Felt]]:
        for steps, felt_steps in self.sets:
            yield turns[:, None] + steps, [base + change for base, change in zip(now, felt_steps, strict=True)]

    def deeper(self, turns: Floats, score: float, watch: Watch) -> tuple[Floats, float]:
        """From a local minimum of these exchanges, on by exchanges of three steps while those find fewer turns."""
        while watch.left():
            fewer = self.fewer(turns, score, watch)
            if fewer is None:
                break
            turns, score = self.descend(fewer, watch)
        return turns, score

    def fewer(self, turns: Floats, score: float, watch: Watch | None = None) -> Floats | None:
        """The best of all exchanges that take back a step at two nipples, or two at one, and turn another a step.

        Returns the turns (n,) after it, or None where none has a lower score.
        """
        scorer, step = self.scorer, self.scorer.task.step
        single = self.sets[0][0][:, :self.singles]
        back = -np.sign(turns) * step
        first, second = np.triu_indices(len(turns))
        both = (np.abs(turns[first]) > 1e-9) & (np.abs(turns[second]) > 1e-9)
        both &= (first != second) | (np.abs(turns[first]) > step + 1e-9)
        first, second = first[both], second[both]
        steps = np.zeros((len(turns), len(first)))
        np.add.at(steps, (first, np.arange(len(first))), back[first])
        np.add.at(steps, (second, np.arange(len(first))), back[second])
        influence, now, best = scorer.influence, scorer.rows(scorer.felt(turns[:, None])), None
        rows = scorer.rows([m @ steps for m in (influence.edge, influence.radial, influence.tension)])
        backed = turns[:, None] + steps
        may_back, may_turn = self._allowed(backed), self._allowed(turns[:, None] + single)
        for k, prices in enumerate(self._prices_after(turns, backed, first, second) if len(first) else ()):
            odd = np.flatnonzero(np.isnan(prices))  # not two nipples and another: looked at as they are
            candidates = backed[:, odd] + single[:, k:k + 1]
            prices[odd] = scorer.price(candidates)
            may = may_back & may_turn[k]
            may[odd] = self._allowed(candidates)
            good = np.flatnonzero((prices < score - SAME_SCORE) & may)
            here = now.plus(self.rows[0].column(k))
            at, least, weighed = scorer.least(here, rows, good, prices[good], score - SAME_SCORE)
            if watch is not None:
                watch.spend((A_STEP + len(first) + weighed / 3) / ENTRIES_A_UNIT)
            if at is not None:
                best, score = backed[:, at] + single[:, k], least
        return best

    def _prices_after(self, turns: Floats, backed: Floats, first: Ints, second: Ints) -> Iterator[Floats]:
        """Of each step of a nipple after steps back (n, k): (k,) prices, no numbers where it is one of the two."""
        if self.prices is not None:
            return self.prices.after_two_back(turns, first, second)
        single = self.sets[0][0][:, :self.singles]
        return (self.scorer.price(backed + single[:, k:k + 1]) for k in range(self.singles))

    def _allowed(self, candidates: Floats) -> npt.NDArray[np.bool_]:
        """Of turns (n, k), those within what each nipple may be turned: (k,)."""
        return np.asarray(((candidates <= self.top) & (candidates >= self.bottom)).all(axis=0))


def side_grid(scorer: Scorer, most: float = 6.0) -> tuple[Floats, Floats]:
    """Whole-side passes only: every pair of them, (n, k) turns, (k, 2) right and left."""
    task = scorer.task
    steps = []
    for spokes in scorer.sides:
        mine = spokes[task.free[spokes]]
        low, high = (float(edge) if len(mine) else 0.0 for edge in (task.lowest[mine].max(initial=-most),
                                                                    task.highest[mine].min(initial=most)))
        steps.append(np.arange(-int(min(-low, most) / task.step + 1e-9), int(min(high, most) / task.step + 1e-9) + 1)
                     * task.step)
    pair = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, 2)
    turns = np.zeros((len(task.free), len(pair)))
    for k, spokes in enumerate(scorer.sides):
        turns[spokes[task.free[spokes]]] = pair[:, k]
    return turns, pair


def first_answer(scorer: Scorer, relaxed: Floats | None, watch: Watch, *, beside: Sequence[Turns] = (),
                 kicks: bool = True, seed: int = 0) -> tuple[Floats, float]:
    """A good answer quickly, from the relaxation (n,) and the whole-side passes.

    Parameters
    ----------
    beside : sequence of (n,) ndarray
        Whole-step turns to start from as well.
    watch : Watch
        When its effort is spent the best so far is the answer.
    kicks : bool
        Iterated local search until the effort is spent; else stop at the best local minimum of the starts.

    Returns
    -------
    turns : (n,) ndarray
    score : float
    """
    task = scorer.task
    rng = np.random.default_rng(seed)
    grid, pairs = side_grid(scorer)
    scores = scorer.score(grid, price=scorer.price_of_sides(pairs))
    starts = [grid[:, int(scores.argmin())]]
    if relaxed is not None:
        steps = relaxed / task.step
        starts.append(np.round(steps) * task.step)
        for _ in range(STARTS):
            starts.append(np.floor(steps + rng.random(len(steps))) * task.step)
    starts.extend(beside)
    near = Neighbours(scorer)
    best, best_score = np.zeros(len(task.free)), np.inf
    for start in starts:
        turns, score = near.descend(np.clip(start, task.lowest, task.highest), watch)
        if score < best_score - 1e-9:
            best, best_score = turns, score
        if not watch.left():
            break
    if kicks and watch.left():
        best, best_score = near.deeper(best, best_score, watch)
    free = np.flatnonzero(task.free)
    here = best
    while kicks and watch.left() and len(free):
        # Leave the local minimum: put some turned nipples back, turn others a step, descend with low prices, then
        # with full ones. A minimum only a little worse than the best is accepted as the next start.
        kicked = here.copy()
        turned = np.flatnonzero(kicked)
        if len(turned):
            kicked[rng.choice(turned, min(len(turned), int(rng.integers(1, KICKED))), replace=False)] = 0.0
        some = rng.choice(free, int(rng.integers(0, KICKED)))
        kicked[some] += rng.choice([-1.0, 1.0], len(some)) * task.step
        kicked, _ = near.descend(np.clip(kicked, task.lowest, task.highest), watch, soft=True)
        turns, score = near.descend(kicked, watch)
        if score < best_score - 1e-9:
            best, best_score = near.deeper(turns, score, watch)
            turns, score = best, best_score
        here = turns if score < best_score + 2 * task.step else best
    return best + 0.0, float(best_score)
