"""Readings and turns that can't well be true: data, put into words by `report.words.estimation`."""

from dataclasses import dataclass
from typing import TypeAlias

from wheelsim.estimation.outliers import NewKink, OneReading, TurnedOtherwise
from wheelsim.readings.reading import Shown
from wheelsim.wheel.sides import Side


@dataclass(frozen=True)
class DoubtedReading:
    """A single reading that all else speaks against, what was read [N, m], and what the tool showed if not that."""

    outlier: OneReading
    value: float
    shown: Shown | None = None


@dataclass(frozen=True)
class GaugeUnexpected:
    """A gauge reading far from what the reading before and the turns since promise: twice the offset, plus right. [m]
    """

    read: float
    expected: float


@dataclass(frozen=True)
class Unbalanced:
    """Sides whose tensions stand to each other otherwise than lateral balance has it.

    Attributes
    ----------
    high : "right" or "left"
        The side that reads high.
    excess : float
        By how much against the other, as a fraction.
    read, balanced : float
        Tension of the right over that of the left: as read, and by lateral balance.
    gauged : bool
        Whether the dish was taken from a gauge.
    """

    high: Side
    excess: float
    read: float
    balanced: float
    gauged: bool


@dataclass(frozen=True)
class KgfAsNewtons:
    """All tensions read like kilogram-force: the lowest and the highest, as written. [N]"""

    lowest: float
    highest: float


@dataclass(frozen=True)
class SomeKgf:
    """Some spokes' tensions read like kilogram-force among newtons."""

    spokes: tuple[int, ...]


@dataclass(frozen=True)
class NewtonsAsKgf:
    """All tensions stand near ten times the nominal."""


@dataclass(frozen=True)
class ManyTimes:
    """All tensions stand near so many times the nominal."""

    times: float


@dataclass(frozen=True)
class SidesSwapped:
    """Left and right tensions stand the wrong way round for the flanges."""


OfAll: TypeAlias = KgfAsNewtons | SomeKgf | NewtonsAsKgf | ManyTimes | SidesSwapped
Doubt: TypeAlias = OfAll | Unbalanced | GaugeUnexpected | DoubtedReading | TurnedOtherwise | NewKink
