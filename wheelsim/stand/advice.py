"""What an assessment advises and warns of: data, put into words by `report.words.stand`."""

from dataclasses import dataclass
from typing import TypeAlias

from wheelsim.measures.bounds import LowerLimit
from wheelsim.measures.view import Stands
from wheelsim.mechanics.structure import NoStableState
from wheelsim.planning.what_first import NotReadSince as NotReadSince
from wheelsim.planning.what_first import TrueFirst
from wheelsim.readings.reading import Dial


@dataclass(frozen=True)
class NoStableWheel:
    """No stable wheel explains the readings."""

    because: NoStableState


@dataclass(frozen=True)
class SideUnknown:
    """The rim's offset is less than its own standard deviation, so which side it lies can't be told. [m]"""

    sd: float


@dataclass(frozen=True)
class TurnSides:
    """Whole sides to turn, plus tightens [turn], and how the tension stands that decides it."""

    stands: Stands
    right: float
    left: float


@dataclass(frozen=True)
class WithinAim:
    """The gap is left as it is: within the aim. [m]"""

    aim: float


@dataclass(frozen=True)
class NoQuarterHelps:
    """The gap is left as it is: within its limit, and no quarter of a side brings it nearer."""


@dataclass(frozen=True)
class RimLies:
    """Where the rim lies and what to do about it.

    Attributes
    ----------
    off, target : float
        From where the frame wants it, and where that is, plus right. [m]
    then : TurnSides, WithinAim, NoQuarterHelps or None
        None: it is outside its limit, and whole sides by quarters don't mend it.
    """

    off: float
    target: float
    then: TurnSides | WithinAim | NoQuarterHelps | None


@dataclass(frozen=True)
class ReadGauge:
    """The gauge is to be read next: nothing else tells the dish."""


@dataclass(frozen=True)
class ReadDial:
    """A dial is to be read next."""

    dial: Dial


@dataclass(frozen=True)
class ReadTensions:
    """Spokes whose tension is to be read next; how well all are known, on average, before and after. [N]"""

    spokes: tuple[int, ...]
    sd: float
    sd_then: float


@dataclass(frozen=True)
class Bowed:
    """The rim is so much less round between its spokes than at them. [m]"""

    more: float


@dataclass(frozen=True)
class SlackAtTheGround:
    """The first spoke to go slack under a load from the side where the wheel bears on the ground.

    Attributes
    ----------
    lever : float
        Of the load, outside the rim's section. [m]
    radial : float
        Wheel load beside it. [N]
    spoke : int
    load, stated : float
        At which it goes slack, and that of the wheel file. [N]
    """

    lever: float
    radial: float
    spoke: int
    load: float
    stated: float


Advice: TypeAlias = (NoStableWheel | NotReadSince | SideUnknown | TurnSides | RimLies | TrueFirst | ReadGauge | ReadDial
                     | ReadTensions | Bowed | LowerLimit | SlackAtTheGround)


@dataclass(frozen=True)
class SlackSpokes:
    """Spokes that hang loose: the wheel is not to be ridden."""

    spokes: tuple[int, ...]


@dataclass(frozen=True)
class NearBuckling:
    """The right side's mean is above half of where the wheel buckles, in so many waves. [N]"""

    mean: float
    critical: float
    waves: int


Warned: TypeAlias = SlackSpokes | NearBuckling
