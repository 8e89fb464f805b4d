"""Assumptions made where nothing was read, as data; `report.words.estimation` makes the sentences."""

from dataclasses import dataclass
from typing import TypeAlias

from wheelsim.readings.reading import Dial
from wheelsim.wheel.sides import Side


@dataclass(frozen=True)
class AsNominal:
    """Nothing was read: the wheel is taken as true and centred at its nominal tension."""


@dataclass(frozen=True)
class Centred:
    """No gauge was read: the rim is taken as centred."""


@dataclass(frozen=True)
class OwnShapeOnly:
    """A dial was not read: the rim's own shape is taken as true (lateral dial) or round (radial dial).

    What the other readings tell of true and round is still used.
    """

    dial: Dial


@dataclass(frozen=True)
class UsualMean:
    """Too few tensions were read, so one side's mean is taken as usual; the other's follows from lateral balance.

    Attributes
    ----------
    read : int
        Number of tensions read.
    side : "right" or "left"
        The side whose usual tension the wheel file states.
    usual : float
        Its usual mean tension. [N]
    sd : float
        Standard deviation of that mean, as a fraction of it.
    """

    read: int
    side: Side
    usual: float
    sd: float


@dataclass(frozen=True)
class TyreTakes:
    """The tyre was on while the wheel was read, and its loss of tension is an assumption."""

    share: float  # of the mean tension lost to the tyre
    sd: float  # standard deviation of that share


@dataclass(frozen=True)
class EarlierUnused:
    """Earlier readings are not used: a later one contradicts them, and no pass between is logged."""


@dataclass(frozen=True)
class AsReadBefore:
    """Some tools were not read at the last visit; their earlier readings are used together with the turns since."""

    tools: tuple[str, ...]  # of "gauge", "lateral", "radial", "tension"


@dataclass(frozen=True)
class NewSpokes:
    """Missing spokes are replaced first, the new ones tightened until they just don't pull yet."""

    spokes: tuple[int, ...]  # numbers, from 1


Assumed: TypeAlias = (AsNominal | Centred | OwnShapeOnly | UsualMean | TyreTakes | EarlierUnused | AsReadBefore
                      | NewSpokes)
