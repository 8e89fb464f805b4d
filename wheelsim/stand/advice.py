"""Pieces of advice and warnings as data; `report.words.stand` makes the sentences."""

from dataclasses import dataclass
from typing import TypeAlias

from wheelsim.measures.bounds import LowerLimit
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import Stands
from wheelsim.mechanics.structure import NoStableState
from wheelsim.planning.notes import Hold
from wheelsim.planning.stands_out import OddSpoke
from wheelsim.planning.what_first import NotReadSince as NotReadSince
from wheelsim.readings.reading import Dial
from wheelsim.wheel.parts import Side


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
    """Whole sides to turn, and the overall tension that decides between tightening and loosening.

    Attributes
    ----------
    stands : Stands
    right, left : float
        Plus tightens. [turn]
    passed : Quantity or None
        The tension limit that a spoke is past, where both sides are turned for it: HIGHEST or LOWEST.
    tensions_read : bool
        Whether enough tensions were read; else the mean of a side is mostly taken as usual.
    still : tuple of int
        Spokes of these sides, from 1, that the job does not allow to be turned so.
    """

    stands: Stands
    right: float
    left: float
    passed: Quantity | None = None
    tensions_read: bool = True
    still: tuple[int, ...] = ()

    def of(self, side: Side) -> float:
        """The turn of a side, plus tightens. [turn]"""
        return self.right if side == "right" else self.left


@dataclass(frozen=True)
class SidesHeld:
    """Whole sides ought to be turned, and the job does not allow it, nor anything else of sides that would help."""

    wanted: TurnSides
    by: tuple[Hold, ...]


@dataclass(frozen=True)
class OddFirst:
    """These spokes stand out of their sides: their nipples first, then read again."""

    spokes: tuple[OddSpoke, ...]


@dataclass(frozen=True)
class OddHeld:
    """A spoke that stands out of its side, whose nipple the job does not allow to be turned back."""

    spoke: OddSpoke
    by: Hold


@dataclass(frozen=True)
class PutIn:
    """Spokes are missing: new ones first, then read again."""

    spokes: tuple[int, ...]  # numbers, from 1


@dataclass(frozen=True)
class Wobble:
    """How far the rim's wobble sets a reading of the gauge off.

    Attributes
    ----------
    run_out : float
        Lateral, at the spokes. [m]
    once, averaged : float
        Error of one reading of the gap, and of the mean of two a quarter round. [m]
    within : bool
        Whether the run-out is within its limit.
    gauged, read : bool
        Whether the gauge was read, and anything of the run-out.
    """

    run_out: float
    once: float
    averaged: float
    within: bool
    gauged: bool
    read: bool


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
    then : TurnSides, SidesHeld, WithinAim, NoQuarterHelps or None
        None: the gap is outside its limit, but quarter turns of whole sides don't mend it, or something else comes
        before them.
    """

    off: float
    target: float
    then: TurnSides | SidesHeld | WithinAim | NoQuarterHelps | None


@dataclass(frozen=True)
class ReadSpokeAgain:
    """A reading that all else contradicts, and that would take something past its limit if it were true.

    Attributes
    ----------
    kind : "tension", "lateral" or "radial"
    spoke : int
    value, likely : float
        As read, and as all else says. [N, m]
    stands : bool
        Whether it was read again already.
    past : tuple of Quantity
        What it would take past its limit.
    after_pass : int or None
        Number of the pass, 0 for none, after which it was read, where that isn't the last reading.
    """

    kind: str
    spoke: int
    value: float
    likely: float
    stands: bool
    past: tuple[Quantity, ...]
    after_pass: int | None = None


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


Advice: TypeAlias = (NoStableWheel | NotReadSince | SideUnknown | TurnSides | SidesHeld | RimLies | OddFirst | OddHeld
                     | PutIn | Wobble | ReadSpokeAgain | ReadGauge | ReadDial | ReadTensions | Bowed | LowerLimit
                     | SlackAtTheGround)
