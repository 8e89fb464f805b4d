"""What candidates are felt as, one quantity's rows above another's, to weigh many of them with few calls."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Floats, Ints


@dataclass(frozen=True, eq=False)
class Rows:
    """Positions and tensions of k candidates, or what k changes add to them.

    Attributes
    ----------
    rows : (r, k) ndarray
        Blocks of lateral positions [m], radial positions [m], tensions on the right and on the left [N].
    mean : (3, k) ndarray
        Of the lateral positions and of each side's tensions.
    """

    rows: Floats
    mean: Floats

    def extremes(self, blocks: Sequence[slice]) -> tuple[list[Floats], list[Floats]]:
        """Highest and lowest of each block: (k,) each."""
        parts = [self.rows[block] for block in blocks]
        return [np.maximum.reduce(part) for part in parts], [np.minimum.reduce(part) for part in parts]

    def foremost(self, blocks: Sequence[slice], count: int) -> tuple[Ints, list[slice]]:
        """Of one candidate, the rows of each block's ``count`` highest and lowest; and where each block's stand."""
        some, parts, end = [], [], 0
        for block in blocks:
            order = self.rows[block, 0].argsort() + block.start
            ends = order if len(order) <= 2 * count else np.append(order[:count], order[-count:])
            some.append(ends)
            parts.append(slice(end, end + len(ends)))
            end += len(ends)
        return np.concatenate(some), parts

    def column(self, which: int) -> "Rows":
        """One of the candidates, k = 1."""
        return Rows(self.rows[:, which:which + 1], self.mean[:, which:which + 1])

    def plus(self, change: "Rows") -> "Rows":
        """Each candidate after one change, or one candidate after each change."""
        return Rows(self.rows + change.rows, self.mean + change.mean)
