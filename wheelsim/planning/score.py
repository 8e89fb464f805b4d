"""What turns cost, and how far they leave the wheel outside its bounds, for many candidates side by side.

On the same linear model as the programme.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from wheelsim.arrays import Floats, Ints
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import Quantity, gap_of, measure, measure_tension, run_out
from wheelsim.planning.programme import EXCESS_PRICE, MOST_AT_ONCE, NAMED_PRICE
from wheelsim.planning.task import Task
from wheelsim.wheel.parts import SIDES, USUAL_WITHIN

Felt = Sequence[Floats]  # lateral [m], radial [m] and tension [N], each (n, k)
LATERAL, RADIAL, TENSION = range(3)
PARTS = (LATERAL, TENSION, RADIAL)  # of a score, those first that mostly add most
QUANTITIES = {LATERAL: (Quantity.GAP, Quantity.TRUE), RADIAL: (Quantity.ROUND,),
              TENSION: (Quantity.SPREAD, Quantity.HIGHEST, Quantity.LOWEST, Quantity.OFF_USUAL)}
LOWEST_ROW = QUANTITIES[TENSION].index(Quantity.LOWEST)
FEW = 100  # candidates that are weighed at once: for so few calls cost more than numbers; own choice
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
        self.priced = {(part, soft): self._prices_of(part, soft) for part in PARTS for soft in (False, True)}

    def _prices_of(self, part: int, soft: bool) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Of the quantities of a part, (q,) each: price, aim (q, 1), hard bound (q, 1), prices beyond those."""
        # Between plans of one price: even tension, then true; by hand the usual tension first.
        ties = {Quantity.SPREAD: TIE_PRICE / self.widths[Quantity.SPREAD],
                Quantity.TRUE: 0.3 * TIE_PRICE / self.widths[Quantity.TRUE],
                Quantity.OFF_USUAL: TIE_PRICE / USUAL_WITHIN if self.fewest == "hand" else 0.0}
        names = QUANTITIES[part]
        width = np.array([self.widths[name] for name in names])
        aims, hard = (np.array([[name.sign * getattr(bounds, name)] for name in names])
                      for bounds in (self.task.aims, self.task.hard))
        return (np.array([ties.get(name, 0.0) for name in names]), aims, hard,
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
        felt = self.felt(turns) if felt is None else felt
        for part in PARTS:
            score = score + self._added_by(part, felt[part], soft)
        return score

    def least(self, now: Felt, changes: Felt, among: Ints, price: Floats, below: float, *,
              soft: bool = False) -> tuple[int | None, float, int]:
        """The one with the lowest score of some changes to one candidate, if that is below a score.

        Parameters
        ----------
        now : Felt
            Of the candidate, (n, 1) each.
        changes : Felt
            What each of k changes adds, (n, k) each.
        among : (j,) ndarray
            Which of them are looked at.
        price : (j,) ndarray
            What the turns after those cost.

        Returns
        -------
        which : int or None
            Of the k changes.
        score : float
        felt : int
            How many columns (n,) were weighed.

        Notes
        -----
        No term of a score is negative, so that the price and some terms bound it from below: the next part is felt for
        those alone that may still be the lowest.
        """
        weighed = 0
        for part in PARTS:
            weighed += len(among)
            price = price + self._added_by(part, now[part] + changes[part][:, among], soft)
            if part == PARTS[0] and len(among) > FEW:
                # The most promising one's own score is a bound too.
                first = among[int(price.argmin())]
                felt = [here + change[:, first:first + 1] for here, change in zip(now, changes, strict=True)]
                rest = sum(float(self._added_by(other, felt[other], soft)[0]) for other in PARTS[1:])
                bound = float(price.min()) + rest
                below = min(below, bound + SAME_SCORE + ROUNDING * bound)
            may = price < below
            among, price = among[may], price[may]
            if not len(among):
                return None, below, weighed
        at = int(price.argmin())
        return int(among[at]), float(price[at]), weighed

    def _added_by(self, part: int, felt: Floats, soft: bool) -> Floats:
        """What lateral, radial positions or tensions (n, k), as of ``PARTS``, add to a score: (k,).

        Excess as in ``excess``, of a part's quantities at once: this is what a search spends most of its time on.
        """
        values: dict[Quantity, Floats]
        if part == LATERAL:
            off = gap_of(felt.mean(axis=0), self.task.target_dish)
            values = {Quantity.GAP: np.abs(off), Quantity.TRUE: run_out(felt)}
        elif part == RADIAL:
            values = {Quantity.ROUND: run_out(felt)}
        else:
            values = measure_tension(self.task.state.wheel, felt).limited
        ties, aims, hard, price_of_aims, price_of_hard = self.priced[part, soft]
        signed = np.array(list(values.values()))
        if part == TENSION:
            signed[LOWEST_ROW] *= -1.0  # the one lower limit
        added: Floats = (ties @ signed + price_of_aims @ np.maximum(signed - aims, 0.0)
                         + price_of_hard @ np.maximum(signed - hard, 0.0))
        return added


class SidePrices:
    """What the free nipples of a side cost as they are turned and a step further either way, looked up in a table.

    Not for the fewest passes, where a nipple has no price of its own.
    """

    def __init__(self, scorer: Scorer, mine: npt.NDArray[np.intp]) -> None:
        self.step, self.hand, self.count = scorer.task.step, scorer.fewest == "hand", len(mine)
        reach = [float(np.abs(edge).max()) for edge in (scorer.task.lowest, scorer.task.highest)]
        # A nipple and its side's whole may lie as far apart as both reach, and a step more.
        self.middle = 2 * round(max(reach) / self.step) + 2
        away = np.asarray(np.arange(-self.middle, self.middle + 1) * self.step, dtype=float)
        self.table = np.array([scorer.nipple_prices(away[None], mine[k:k + 1], 0.0)[0] for k in range(len(mine))]
                              ).reshape(len(mine), len(away))
        self.row = np.arange(len(mine))[:, None]

    def of(self, turns: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Wholes (w,) that the side may be turned by, their price (w,); what turns (m,), above, below cost: (m, w)."""
        steps = np.rint(turns / self.step).astype(int)
        wholes = np.array(sorted({0, 1, -1, *(int(k) + more for k in steps for more in (-1, 0, 1))}) if self.hand
                          else [0])
        at = steps[:, None] - wholes + self.middle
        table, row = self.table, self.row
        own = self.count * self.step * np.abs(wholes) * self.hand
        return wholes, own, table[row, at], table[row, at + 1], table[row, at - 1]

    def all_moved(self, wholes: Floats, now: Floats, above: Floats, below: Floats) -> tuple[float, float, float]:
        """What the side costs when all of it is turned a step up, a step down, or left; all as of ``of``."""
        if not self.hand:
            return float(above.sum()), float(below.sum()), float(now.sum())
        # The side's own turn takes the step, and its nipples stay as far from it.
        up, down, still = (float((self.count * self.step * np.abs(wholes + more) + now.sum(axis=0)).min())
                           for more in (1, -1, 0))
        return up, down, still
