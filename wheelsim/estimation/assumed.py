"""What is taken for granted where nothing was read: data, put into words by `report.words.estimation`."""

from dataclasses import dataclass
from typing import TypeAlias

from wheelsim.readings.reading import Dial
from wheelsim.wheel.sides import Side


@dataclass(frozen=True)
class AsNominal:
    """Nothing was read: the wheel is true and centred at its nominal tension."""


@dataclass(frozen=True)
class Centred:
    """No gauge was read: the rim is taken as centred."""


@dataclass(frozen=True)
class OwnShapeOnly:
    """A dial was not read: the rim is taken as true, or as round, but for what the other readings say."""

    dial: Dial


@dataclass(frozen=True)
class UsualMean:
    """Too few tensions were read, so a side's mean is the usual one, and the other's follows from lateral balance.

    Attributes
    ----------
    read : int
        How many were.
    side : "right" or "left"
    usual : float
        [N]
    sd : float
        Of it, as a fraction.
    """

    read: int
    side: Side
    usual: float
    sd: float


@dataclass(frozen=True)
class TyreTakes:
    """The tyre was on: what it takes of the tension, as a fraction, and the standard deviation of that."""

    share: float
    sd: float


@dataclass(frozen=True)
class EarlierUnused:
    """An earlier reading contradicts the last one with no pass between them, and is not used."""


@dataclass(frozen=True)
class AsReadBefore:
    """Tools ("gauge", "lateral", "radial", "tension") of an earlier reading, with what turns since have done."""

    tools: tuple[str, ...]


@dataclass(frozen=True)
class NewSpokes:
    """Missing spokes: new ones are put in first, drawn up until they are just short of pulling."""

    spokes: tuple[int, ...]


Assumed: TypeAlias = (AsNominal | Centred | OwnShapeOnly | UsualMean | TyreTakes | EarlierUnused | AsReadBefore
                      | NewSpokes)
