"""What turns cost after each exchange of nipples, by what each nipple's steps add to their price."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from wheelsim.arrays import Floats, Ints, Turns
from wheelsim.planning.score import Scorer

FURTHEST = 2  # steps that an exchange turns one nipple further by, at most


@dataclass(frozen=True, eq=False)
class SidePriced:
    """The price of a side's turns in each reading of them: as a turn of the whole side and turns beside it.

    Attributes
    ----------
    wholes : (w,) ndarray of int
        Turn of the whole side in each reading, in steps.
    own : (w,) ndarray
        What the whole side's turn costs.
    base : (w,) ndarray
        What the turns cost.
    steps : (2 m, w) ndarray
        What a step up, then down, of each free nipple adds.
    back, back_twice : (m, w) ndarray
        What a step, or two, toward no turn of a nipple that is turned adds.
    """

    wholes: Ints
    own: Floats
    base: Floats
    steps: Floats
    back: Floats
    back_twice: Floats

    @property
    def now(self) -> float:
        """In the cheapest reading."""
        return float(self.base.min())


class SidePrices:
    """What the free nipples of a side cost as they are turned, looked up in a table.

    Not for the fewest passes, where a nipple has no price of its own.
    """

    def __init__(self, scorer: Scorer, mine: npt.NDArray[np.intp]) -> None:
        self.step, self.hand, self.count = scorer.task.step, scorer.fewest == "hand", len(mine)
        reach = [float(np.abs(edge).max()) for edge in (scorer.task.lowest, scorer.task.highest)]
        # A nipple and its side's whole may lie as far apart as both reach, and some steps more.
        self.middle = 2 * round(max(reach) / self.step) + 2 * FURTHEST
        away = np.asarray(np.arange(-self.middle, self.middle + 1) * self.step, dtype=float)
        self.table = np.array([scorer.nipple_prices(away[None], mine[k:k + 1], 0.0)[0] for k in range(len(mine))]
                              ).reshape(len(mine), len(away))
        self.row = np.arange(len(mine))[:, None]
        self.last: tuple[bytes, int, SidePriced] | None = None  # asked for: mostly the other side's turns changed

    def of(self, turns: Turns, around: int = 1) -> SidePriced:
        """Of turns (m,), in every reading that may be the cheapest after exchanges of up to ``around`` steps."""
        key = turns.tobytes()
        if self.last is None or self.last[:2] != (key, around):
            self.last = key, around, self._of(turns, around)
        return self.last[2]

    def _of(self, turns: Turns, around: int) -> SidePriced:
        steps = np.rint(turns / self.step).astype(int)
        wholes = np.zeros(1, dtype=int)
        if self.hand:
            near = range(-around, around + 1)
            wholes = np.array(sorted({*near, *(int(k) + more for k in steps for more in near)}))
        at = steps[:, None] - wholes + self.middle
        now = self.table[self.row, at]
        own = self.count * self.step * np.abs(wholes) * self.hand
        up, down = self.table[self.row, at + 1] - now, self.table[self.row, at - 1] - now
        twice = at - 2 * np.sign(steps)[:, None]
        return SidePriced(wholes, own, own + now.sum(axis=0), np.vstack([up, down]),
                          np.where(steps[:, None] > 0, down, up), self.table[self.row, twice] - now)

    def all_moved(self, priced: SidePriced) -> tuple[float, float]:
        """What the side costs when all of it is turned a step up, or down."""
        half = self.count
        if not self.hand:
            up, down = (float(priced.base[0] + more.sum()) for more in (priced.steps[:half], priced.steps[half:]))
            return up, down
        # The side's own turn takes the step, and its nipples stay as far from it.
        beside = priced.base - priced.own
        up, down = (float((self.count * self.step * np.abs(priced.wholes + more) + beside).min()) for more in (1, -1))
        return up, down


class ExchangePrices:
    """What turns cost after each exchange of one nipple, of whole sides and of two nipples.

    Parameters
    ----------
    scorer : Scorer
        Not one for the fewest passes.
    first, second : (k,) ndarray
        Steps of single nipples that are exchanged for one another, of those up, then down, as they are numbered here.
    """

    def __init__(self, scorer: Scorer, first: Ints, second: Ints) -> None:
        self.scorer, self.first, self.second = scorer, first, second
        free = scorer.task.free
        self.singles, column = 2 * int(free.sum()), np.cumsum(free) - 1
        self.sides = [SidePrices(scorer, mine) for mine in scorer.free_sides]
        self.columns = [np.append(column[mine], column[mine] + self.singles // 2) for mine in scorer.free_sides]
        self.side, self.place = np.zeros((2, self.singles), dtype=int)  # of a step: its side, and its row there
        for k, mine in enumerate(self.columns):
            self.side[mine], self.place[mine] = k, np.arange(len(mine))
        same = self.side[first] == self.side[second]
        self.alike = [np.flatnonzero(same & (self.side[first] == k)) for k in range(len(self.columns))]
        self.rows = [(self.place[first[mine]], self.place[second[mine]]) for mine in self.alike]

    def of(self, turns: Turns) -> Iterator[Floats]:
        """After each exchange of one nipple and of a whole side, then after each of two nipples: (k,) each."""
        priced = [side.of(turns[mine]) for side, mine in zip(self.sides, self.scorer.free_sides, strict=True)]
        here = [one.now for one in priced]
        one, now = np.zeros(self.singles), sum(here)
        for mine, part in zip(self.columns, priced, strict=True):
            one[mine] = now - part.now + (part.base + part.steps).min(axis=1)
        (up, down), (up_there, down_there) = (side.all_moved(part)
                                              for side, part in zip(self.sides, priced, strict=True))
        yield np.append(one, [up + here[1], up_there + here[0], down + here[1], down_there + here[0]])
        both = one[self.first] + one[self.second] - now  # of nipples on two sides
        for mine, (a, b), part in zip(self.alike, self.rows, priced, strict=True):
            steps = part.steps.take(a, axis=0) + part.steps.take(b, axis=0)
            both[mine] = now - part.now + (part.base + steps).min(axis=1)
        yield both

    def after_two_back(self, turns: Turns, first: Ints, second: Ints) -> Iterator[Floats]:
        """After a step back at two nipples (k,), or two steps at one, and each step of another: (k,) for each step.

        Where the other is one of the two the price is not a number.
        """
        spokes = self.scorer.free_sides
        priced = [side.of(turns[mine], FURTHEST) for side, mine in zip(self.sides, spokes, strict=True)]
        after = [np.tile(part.base, (len(first), 1)) for part in priced]
        place = np.full(len(turns), -1)
        for mine, part, total in zip(spokes, priced, after, strict=True):
            place[:] = -1
            place[mine] = np.arange(len(mine))
            for nipples, steps, which in ((first, part.back, first != second), (second, part.back, first != second),
                                          (first, part.back_twice, first == second)):
                here = np.flatnonzero(which & (place[nipples] >= 0))
                total[here] += steps[place[nipples[here]]]
        alone = [total.min(axis=1) for total in after]
        nipple = np.tile(np.flatnonzero(self.scorer.task.free), 2)
        for k, (side, row) in enumerate(zip(self.side, self.place, strict=True)):
            prices = (after[side] + priced[side].steps[row]).min(axis=1) + alone[1 - side]
            prices[(first == nipple[k]) | (second == nipple[k])] = np.nan
            yield prices
