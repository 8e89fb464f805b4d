"""Readings and turns that are probably wrong, as data; `report.words.estimation` makes the sentences."""

from dataclasses import dataclass
from typing import TypeAlias

from wheelsim.estimation.gauge_before import GaugeBefore
from wheelsim.estimation.held_out import DialFarOff
from wheelsim.estimation.large_turns import LargeTurn
from wheelsim.estimation.outliers import NewKink, OneReading, TurnedOtherwise
from wheelsim.estimation.slips import PassAstray
from wheelsim.readings.reading import Shown
from wheelsim.wheel.sides import Side


@dataclass(frozen=True)
class DoubtedReading:
    """A single reading that contradicts all the others."""

    outlier: OneReading
    value: float  # what was read [N, m]
    likely: float  # what all else says, by the same zero or scale [N, m]
    shown: Shown | None = None  # what the tool showed, where that is in another unit or on a meter's scale
    after_pass: int | None = None  # number of the pass, 0 for none, after which it was read, where that isn't the last


@dataclass(frozen=True)
class GaugeFarOff:
    """A gauge reading larger than any wheel that is brought in has; twice the offset from its target, plus right."""

    read: float  # [m]


@dataclass(frozen=True)
class Contradicted:
    """What was read before, with nothing logged between, is contradicted and not used; some of it wasn't read again."""

    by: str  # the tool that contradicts it: "gauge" or "tension"
    before: float | None  # what the gauge showed, twice the offset, plus right; None: it wasn't read [m]
    now: float | None  # [m]
    lost: tuple[str, ...]  # tools of which more was read before: "gauge", "lateral", "radial", "tension"


@dataclass(frozen=True)
class GaugeUnexpected:
    """A gauge reading far from what earlier readings and the turns since predict; both twice the offset, plus right."""

    read: float  # [m]
    expected: float  # [m]
    again: bool = False  # whether it was read twice, and showed the same


@dataclass(frozen=True)
class Unbalanced:
    """The ratio of the sides' tensions contradicts the lateral balance of forces.

    Attributes
    ----------
    high : "right" or "left"
        The side that reads too high against the other.
    excess : float
        By how much, as a fraction.
    read, balanced : float
        Ratio of tensions right over left: as read, and by lateral balance.
    gauged : bool
        Whether the dish, on which the balance depends, was read.
    """

    high: Side
    excess: float
    read: float
    balanced: float
    gauged: bool


@dataclass(frozen=True)
class KgfAsNewtons:
    """All tensions look like kilogram-force written as newtons."""

    lowest: float  # as written [N]
    highest: float  # [N]


@dataclass(frozen=True)
class SomeKgf:
    """Some tensions look like kilogram-force among others in newtons."""

    spokes: tuple[int, ...]  # numbers, from 1


@dataclass(frozen=True)
class NewtonsAsKgf:
    """All tensions are about ten times the nominal: newtons written as kilogram-force."""


@dataclass(frozen=True)
class ManyTimes:
    """Tensions are far above nominal by a factor that no unit explains."""

    times: float  # median of read over nominal


@dataclass(frozen=True)
class SidesSwapped:
    """Left and right tensions look exchanged, judged by the flanges."""


OfAll: TypeAlias = KgfAsNewtons | SomeKgf | NewtonsAsKgf | ManyTimes | SidesSwapped
Doubt: TypeAlias = (OfAll | Unbalanced | GaugeFarOff | DialFarOff | Contradicted | GaugeUnexpected | DoubtedReading
                    | TurnedOtherwise | NewKink | PassAstray | GaugeBefore
                    | LargeTurn)
