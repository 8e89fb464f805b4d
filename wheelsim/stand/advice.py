"""Pieces of advice and warnings as data; `report.words.stand` makes the sentences."""

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
    """The rim's offset is smaller than its standard deviation, so the side can't be told."""

    sd: float  # of the offset [m]


@dataclass(frozen=True)
class TurnSides:
    """Whole sides to turn, and the overall tension that decides between tightening and loosening."""

    stands: Stands
    right: float  # plus tightens [turn]
    left: float  # [turn]


@dataclass(frozen=True)
class WithinAim:
    """The gap is left as it is because it is within the aim."""

    aim: float  # largest gap by the aims [m]


@dataclass(frozen=True)
class NoQuarterHelps:
    """The gap is left as it is: within its limit, and a quarter turn of a side brings it no nearer to the target."""


@dataclass(frozen=True)
class RimLies:
    """Where the rim lies, and what to do about it.

    Attributes
    ----------
    off, target : float
        Dish less its target, and the target itself, plus right. [m]
    then : TurnSides, WithinAim, NoQuarterHelps or None
        None: the gap is outside its limit, but quarter turns of whole sides don't mend it.
    """

    off: float
    target: float
    then: TurnSides | WithinAim | NoQuarterHelps | None


@dataclass(frozen=True)
class ReadGauge:
    """Read the dish gauge next: no other tool measures the dish."""


@dataclass(frozen=True)
class ReadDial:
    """Read this dial next."""

    dial: Dial


@dataclass(frozen=True)
class ReadTensions:
    """Read the tension of these spokes next; they reduce the uncertainty of all tensions most."""

    spokes: tuple[int, ...]
    sd: float  # root mean square of the tensions' standard deviations now [N]
    sd_then: float  # and after reading them [N]


@dataclass(frozen=True)
class Bowed:
    """The radial run-out is larger if places between the spokes are included."""

    more: float  # by how much [m]


@dataclass(frozen=True)
class SlackAtTheGround:
    """The first spoke to go slack under a sideways load at the ground.

    Attributes
    ----------
    lever : float
        Distance of the load outside the rim section's centre. [m]
    radial : float
        Radial load that acts at the same time. [N]
    spoke : int
        Number, from 1.
    load, stated : float
        Sideways load at which that spoke goes slack, and the one stated in the wheel file. [N]
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
    """Spokes are slack: the wheel must not be ridden."""

    spokes: tuple[int, ...]  # numbers, from 1


@dataclass(frozen=True)
class NearBuckling:
    """The right side's mean tension is above ``PRACTICAL_SHARE`` of the buckling tension."""

    mean: float  # [N]
    critical: float  # mean of the right side at buckling [N]
    waves: int  # of the buckling mode


Warned: TypeAlias = SlackSpokes | NearBuckling
