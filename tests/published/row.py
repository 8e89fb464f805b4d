"""One outside check as a row: the same rows are asserted by the tests and printed as evidence."""

import os
import pickle
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal


@dataclass(frozen=True)
class Row:
    """A value from outside beside ours.

    Parameters
    ----------
    source, where, what : str
        Who, on which page or in which formula, and the quantity.
    printed : str or float
        A string stands with its printed digits; a float is worked out from the printed formula.
    ours : float
        In the same unit.
    why : str
        Why the tolerance is as wide as it is.
    rel, absolute : float
        Accepted difference: a share of the printed value, plus a fixed amount.
    span : (float, float), optional
        Accepted values of ours, where they don't lie evenly about the printed one.
    kind : str
        Where the value comes from. Only "published" and "measured" were read in the source.
    shown : str, optional
        How a range stands in print.
    remark : str, optional
        Explains the difference where it is over 1 per cent.
    under : tuple of str
        What a linear model of untensioned spokes would miss: "prestress" where the spokes pull before the load or
        turn comes, "large turns" where nipples go so far that it is followed, "slack" where spokes have let go.

    Notes
    -----
    A row without tolerance is reported, not checked.
    """

    source: str
    where: str
    what: str
    printed: str | float
    ours: float
    unit: str
    why: str = ""
    rel: float = 0.0
    absolute: float = 0.0
    span: tuple[float, float] | None = None
    kind: Literal["published", "measured", "value from memory", "derived", "frame library"] = "published"
    shown: str = ""
    remark: str = ""
    under: tuple[Literal["prestress", "large turns", "slack"], ...] = ()

    @property
    def value(self):
        """The outside value as a number."""
        return float(self.printed)

    @property
    def allowed(self):
        """(lowest, highest) accepted, or None for a row that is only reported."""
        if self.span:
            return self.span
        width = self.rel * abs(self.value) + self.absolute
        return (self.value - width, self.value + width) if width else None

    @property
    def holds(self):
        return self.allowed is None or self.allowed[0] <= self.ours <= self.allowed[1]

    @property
    def difference(self):
        """Ours over the printed value, less one; None where the printed value is zero."""
        return self.ours / self.value - 1 if self.value else None

    def __str__(self):
        return (f"{self.source}, {self.where}: {self.what}: printed {self.printed}, ours {self.ours:.6g} "
                f"{self.unit}, accepted {self.allowed}")


shared: Path | None = None  # a folder where the workers of one run of the tests leave each other the rows


@cache
def rows_of(check: Callable):
    """The rows of one check, worked out once a run."""
    if shared is None:
        return tuple(check())
    kept = shared / f"{check.__module__}.{check.__name__}.rows"
    if not kept.exists():
        whole = kept.with_suffix(f".{os.getpid()}")
        whole.write_bytes(pickle.dumps(tuple(check())))
        whole.replace(kept)  # another worker reads it whole or not at all
    return pickle.loads(kept.read_bytes())


def assert_holds(check):
    """Every row of the check within its tolerance."""
    rows = rows_of(check)
    assert rows, f"{check.__name__} gives no row"
    wrong = [str(row) for row in rows if not row.holds]
    assert not wrong, "\n".join(wrong)
