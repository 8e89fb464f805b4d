"""What turns cost, and how far they leave the wheel outside its bounds, for many candidates side by side.

On the same linear model as the programme.
"""

import itertools
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from wheelsim.arrays import Floats, Ints
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import (
    Quantity,
    from_usual,
    gap_of,
    measure,
    pulling_of,
    spread_of,
    usual_tension,
)
from wheelsim.planning.programme import EXCESS_PRICE, MOST_AT_ONCE, NAMED_PRICE
from wheelsim.planning.rows import Rows
from wheelsim.planning.task import Task
from wheelsim.wheel.parts import SIDES, USUAL_WITHIN

Felt = Sequence[Floats]  # lateral [m], radial [m] and tension [N], each (n, k)
FEW = 100  # candidates that are weighed at once: for so few calls cost more than numbers; own choice
FOREMOST = 3  # highest and lowest stations, and spokes of a side, that many candidates are weighed by first; own choice
SAME_SCORE = 1e-9  # scores no further apart are one: rounding [turn]
ROUNDING = 1e-14  # relative, of sums of a few terms in another order

# Turns that breaking a hard bound by a whole aim costs. Own choice: 25 times an aim missed, so that no aim is bought
# with a bound, yet finite, so that a search from outside the bounds finds its way in.
BROKEN_PRICE = 1e4
TIE_PRICE = 2e-4  # turns for unevenness as large as its aim; own choice: far below one step, it only breaks ties
TIES = 10 * TIE_PRICE  # more than evenness adds to a price: an unevenness of ten aims [turn]
# The same for either while a local minimum is left. Own choice: a tenth of an aim costs about a turn, so that exchanges
# of a few steps may pass through states outside the bounds.
SOFT_PRICE = 12.0
# For a nipple that may not be named but is turned otherwise than its side. Own choice: more than any plan by whole
# sides, yet finite, so that a search that starts among such plans finds its way out. [turn]
FORBIDDEN_PRICE = 20.0


class Scorer:
    """Price of whole-step turns on one task, for columns of candidates.

    Parameters
    ----------
    task : Task
    fewest : "hand", "turns", "nipples" or "passes"
    """

    def __init__(self, task: Task, fewest: str) -> None:
        self.task, self.fewest = task, fewest
        state = task.state
        self.influence = state.influence
        self.lateral = state.edge - self.influence.edge @ task.turned
        self.radial = state.radial - self.influence.radial @ task.turned
        self.tension = state.tension - self.influence.tension @ task.turned
        self.widths = {name: max(abs(getattr(task.aims, name)), 1e-9) for name in Quantity}
        self.sides = [np.array(state.wheel.on_side(side)) for side in SIDES]
        self.free_sides = [spokes[task.free[spokes]] for spokes in self.sides]
        self.priced = {soft: self._prices_of(soft) for soft in (False, True)}
        n = state.wheel.n
        pulling = [np.arange(n)[mine] for mine in pulling_of(state.wheel).values()]
        self.pulling = np.concatenate(pulling)
        ends = np.cumsum([0, n, n, *(len(mine) for mine in pulling)])
        self.blocks = [slice(a, b) for a, b in itertools.pairwise(ends.tolist())]
        self.usual = np.array([[usual] for usual in usual_tension(state.wheel).values()])

    def _prices_of(self, soft: bool) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Of the quantities, (q,) each: price, aim (q, 1), hard bound (q, 1), prices beyond those."""
        # Between plans of one price: even tension, then true; by hand the usual tension first.
        ties = {Quantity.SPREAD: TIE_PRICE / self.widths[Quantity.SPREAD],
                Quantity.TRUE: 0.3 * TIE_PRICE / self.widths[Quantity.TRUE],
                Quantity.OFF_USUAL: TIE_PRICE / USUAL_WITHIN if self.fewest == "hand" else 0.0}
        width = np.array([self.widths[name] for name in Quantity])
        aims, hard = (np.array([[name.sign * getattr(bounds, name)] for name in Quantity])
                      for bounds in (self.task.aims, self.task.hard))
        return (np.array([ties.get(name, 0.0) for name in Quantity]), aims, hard,
                (SOFT_PRICE if soft else EXCESS_PRICE) / width, (SOFT_PRICE if soft else BROKEN_PRICE) / width)

    def felt(self, turns: Floats) -> Felt:
        """Lateral, radial and tension, each (n, k), after turns (n, k)."""
        return (self.lateral[:, None] + self.influence.edge @ turns,
                self.radial[:, None] + self.influence.radial @ turns,
                self.tension[:, None] + self.influence.tension @ turns)

    def measure(self, felt: Felt) -> dict[Quantity, Floats]:
        """The bounded quantities of (n, k) shapes and tensions: dict of (k,)."""
        lateral, radial, tension = felt
        return measure(self.task.state.wheel, lateral, radial, tension, self.task.target_dish).limited

    def excess(self, values: dict[Quantity, Floats], bounds: Bounds) -> Floats:
        """Widths of aims by which each candidate lies outside bounds, summed over the quantities: (k,)."""
        total = np.zeros(())
        for name, value in values.items():
            bound = getattr(bounds, name)
            over = bound - value if name is Quantity.LOWEST else value - bound
            total = total + np.maximum(over, 0.0) / self.widths[name]
        return total

    def price(self, turns: Floats) -> Floats:
        """What turns (n, k) cost: (k,)."""
        if self.fewest == "turns":
            return np.asarray(np.abs(turns).sum(axis=0))
        if self.fewest == "nipples":
            return np.asarray(np.count_nonzero(turns, axis=0) + 1e-3 * np.abs(turns).sum(axis=0))
        if self.fewest == "passes":
            return np.asarray(1e-3 * np.abs(turns).sum(axis=0) + sum(
                np.ceil(np.maximum(sign * turns[s], 0).max(axis=0) / MOST_AT_ONCE - 1e-9)
                for s in self.sides for sign in (1.0, -1.0)))
        total = np.zeros(turns.shape[1])
        for mine in self.free_sides:
            if len(mine):
                total += np.min([self.side_price(turns[mine], mine, whole)
                                 for whole in self.wholes(turns[mine])], axis=0)
        return total

    def price_of_sides(self, pairs: Floats) -> Floats:
        """What whole sides turned by pairs (k, 2) cost, right and left: (k,)."""
        counts = np.array([len(mine) for mine in self.free_sides])
        if self.fewest == "nipples":
            return np.asarray((counts * ((pairs != 0) + 1e-3 * np.abs(pairs))).sum(axis=1))
        if self.fewest == "passes":
            rounds = np.ceil(np.abs(pairs) / MOST_AT_ONCE - 1e-9) * (counts > 0)
            return np.asarray((rounds + 1e-3 * counts * np.abs(pairs)).sum(axis=1))
        return np.asarray((counts * np.abs(pairs)).sum(axis=1))

    def wholes(self, turns: Floats) -> Floats:
        """What a side may be turned by as a whole in the cheapest reading of its nipples' turns, in any order."""
        return np.unique(np.append(turns, 0.0)) if self.fewest == "hand" else np.zeros(1)

    def side_price(self, turns: Floats, spokes: npt.NDArray[np.intp], whole: float | Floats) -> Floats:
        """What turns (m, k) of a side's free nipples cost where ``whole``, one or (k,), is the side's own: (k,)."""
        return np.asarray(len(spokes) * np.abs(whole) * (self.fewest == "hand")
                          + self.nipple_prices(turns, spokes, whole).sum(axis=0))

    def nipple_prices(self, turns: Floats, spokes: npt.NDArray[np.intp], whole: float | Floats) -> Floats:
        """What each nipple's own turns beside its side's cost: (m, k)."""
        single = np.abs(turns - whole)
        if self.fewest == "turns":
            return np.asarray(single)
        named = single > 1e-9
        if self.fewest == "nipples":
            return np.asarray(named + 1e-3 * single)
        naming = np.where(self.task.named[spokes], NAMED_PRICE, NAMED_PRICE + FORBIDDEN_PRICE)
        return np.asarray(single + naming[:, None] * named)

    def score(self, turns: Floats, felt: Felt | None = None, *, soft: bool = False,
              price: Floats | None = None) -> Floats:
        """Price with all excess: (k,). Finite always; below ``BROKEN_PRICE`` times a hair it is feasible.

        ``soft`` prices excess so low that a search passes through it; ``price`` is what the turns cost, if known.
        """
        score = self.price(turns) if price is None else price
        rows = self.rows(self.felt(turns) if felt is None else felt)
        return score + self._added(rows.mean, *rows.extremes(self.blocks), soft)

    def rows(self, felt: Felt) -> Rows:
        """The same one above another: positions, then the tensions of the spokes that are there, side by side."""
        stacked = np.concatenate([felt[0], felt[1], felt[2][self.pulling]])
        lateral, _, *sides = self.blocks
        return Rows(stacked, np.array([stacked[block].mean(axis=0) for block in (lateral, *sides)]))

    def least(self, now: Rows, changes: Rows, among: Ints, price: Floats, below: float, *,
              soft: bool = False) -> tuple[int | None, float, int]:
        """The one with the lowest score of some changes to one candidate, if that is below a score.

        Parameters
        ----------
        now : Rows
            Of the candidate, k = 1.
        changes : Rows
            What each of k changes adds.
        among : (j,) ndarray
            Which of them are looked at.
        price : (j,) ndarray
            What the turns after those cost.

        Returns
        -------
        which : int or None
            Of the k changes.
        score : float
        weighed : int
            How many numbers were.

        Notes
        -----
        Extremes over some rows lie within those over all, and no term of a score falls as extremes part: a few rows
        bound each score from below, and all are looked at only of what may still be the lowest.
        """
        weighed = 0
        if len(among) > FEW:
            some, parts = now.foremost(self.blocks, FOREMOST)
            few = Rows(now.rows[some] + changes.rows[some].take(among, axis=1),
                       now.mean + changes.mean.take(among, axis=1))
            bounds = price + self._added(few.mean, *few.extremes(parts), soft)
            weighed += few.rows.size
            # The most promising one's own score is a bound too.
            most = int(bounds.argmin())
            best = price[most] + self._scores(now, changes, among[most:most + 1], soft)[0]
            below = min(below, best + SAME_SCORE + ROUNDING * best)
            may = bounds < below
            among, price = among[may], price[may]
        if not len(among):
            return None, below, weighed
        weighed += len(among) * len(now.rows)
        price = price + self._scores(now, changes, among, soft)
        at = int(price.argmin())
        if price[at] >= below:
            return None, below, weighed
        return int(among[at]), float(price[at]), weighed

    def _scores(self, now: Rows, changes: Rows, among: Ints, soft: bool) -> Floats:
        after = Rows(now.rows + changes.rows.take(among, axis=1), now.mean + changes.mean.take(among, axis=1))
        return self._added(after.mean, *after.extremes(self.blocks), soft)

    def _added(self, mean: Floats, top: Sequence[Floats], bottom: Sequence[Floats], soft: bool) -> Floats:
        """What means (3, k) and extremes of the four blocks, (k,) each, add to a score: (k,).

        Excess as in ``excess``, of all quantities at once: this is what a search spends most of its time on.
        """
        gap, highest, lowest = gap_of(mean[0], self.task.target_dish), np.array(top[2:]), np.array(bottom[2:])
        signed = np.array([np.abs(gap), top[0] - bottom[0], top[1] - bottom[1],
                           np.maximum(*spread_of(mean[1:], highest, lowest)), np.maximum(*highest),
                           -np.minimum(*lowest),  # the one lower limit
                           np.maximum(*np.abs(from_usual(mean[1:], self.usual)))])
        ties, aims, hard, price_of_aims, price_of_hard = self.priced[soft]
        added: Floats = (ties @ signed + price_of_aims @ np.maximum(signed - aims, 0.0)
                         + price_of_hard @ np.maximum(signed - hard, 0.0))
        return added
