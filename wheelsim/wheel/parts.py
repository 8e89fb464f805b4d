"""The parts of a wheel: frozen, in SI units, checked when they are made.

Each part lists its own faults as ``Fault(field, value, expected)``; the file reader maps the
fields to its keys, so that no rule is stated twice.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from wheelsim.units import spoke_runs
from wheelsim.wheel.hub_rim_spokes import DIAL_REACH as DIAL_REACH
from wheelsim.wheel.hub_rim_spokes import Flange as Flange
from wheelsim.wheel.hub_rim_spokes import Hub as Hub
from wheelsim.wheel.hub_rim_spokes import Joint as Joint
from wheelsim.wheel.hub_rim_spokes import Rim as Rim
from wheelsim.wheel.hub_rim_spokes import SideSpokes as SideSpokes
from wheelsim.wheel.hub_rim_spokes import Spokes as Spokes
from wheelsim.wheel.hub_rim_spokes import holes_fault as holes_fault
from wheelsim.wheel.lacing import lacing_faults
from wheelsim.wheel.limits import USUAL_WITHIN as USUAL_WITHIN
from wheelsim.wheel.limits import Limits as Limits
from wheelsim.wheel.limits import default_aims as default_aims
from wheelsim.wheel.placing import placing_faults
from wheelsim.wheel.rules import Fault, Part, require
from wheelsim.wheel.sides import OTHER as OTHER
from wheelsim.wheel.sides import SIDES as SIDES
from wheelsim.wheel.sides import Side as Side


@dataclass(frozen=True)
class Load(Part):
    """What the wheel bears in use: between ground and axle, and from the side at the ground. [N]"""

    radial: float | None = None
    lateral: float | None = None

    def _rules(self) -> Iterator[Fault | None]:
        for name in ("radial", "lateral"):
            if getattr(self, name) is not None:
                yield require(name, getattr(self, name), 0.0, 1e4, above=True, unit="N")


@dataclass(frozen=True)
class Tyre(Part):
    """The tyre fitted in use: gauge pressure [Pa], width of its section and height beyond the rim [m]."""

    pressure: float | None = None
    width: float | None = None
    height: float | None = None

    def _rules(self) -> Iterator[Fault | None]:
        if self.pressure is not None:
            yield require("pressure", self.pressure, 0.0, 2e6, above=True, unit="bar", scale=1e5)
        for name in ("width", "height"):
            if getattr(self, name) is not None:
                yield require(name, getattr(self, name), 5e-3, 0.15, unit="mm", scale=1e-3)


def tension_fault(tension: float) -> Fault | None:
    """Fault of a nominal tension, or None; apart so that it can be told when another part failed."""
    return require("tension", tension, 0.0, 1e4, unit="N")


@dataclass(frozen=True)
class Wheel(Part):
    """A whole wheel: the parts, the nominal tension of one side, what is accepted and aimed at.

    Parameters
    ----------
    tension_side : "right" or "left"
        The side whose mean tension is given; the other follows from lateral balance.
    tension : float
        [N]
    """

    name: str
    hub: Hub
    rim: Rim
    spokes: Spokes
    tension_side: Side
    tension: float
    limits: Limits = field(default_factory=Limits)
    aims: Limits | None = None
    load: Load | None = None
    tyre: Tyre | None = None

    @property
    def n(self) -> int:
        """Number of rim holes, so of nipples."""
        return self.rim.holes

    @property
    def striving(self) -> Limits:
        """The aims: as given, or the defaults that follow from the limits."""
        return self.aims or default_aims(self.limits)

    def on_side(self, side: Side) -> list[int]:
        """Spoke indices (from 0) of one flange, in numbering order."""
        letter = "R" if side == "right" else "L"
        return [i for i, s in enumerate(self.spokes.sides) if s == letter]

    def pulling(self, side: Side) -> list[int]:
        """Spoke indices (from 0) of one flange without the missing ones."""
        return [i for i in self.on_side(side) if i + 1 not in self.spokes.missing]

    def named(self, text: str) -> list[int]:
        """Spoke numbers (from 1) of a side, or of text as ``units.spoke_runs`` reads it; raises ValueError as that."""
        for side in SIDES:
            if text == side:
                return [i + 1 for i in self.on_side(side)]
        return [spoke for run in spoke_runs(text, self.n) for spoke in run]

    def _rules(self) -> Iterator[Fault | None]:
        fault = tension_fault(self.tension)
        yield fault
        faults = lacing_faults(self.rim, self.spokes)
        yield from faults
        if fault is None and not any(f.level == "error" for f in faults):
            yield from placing_faults(self.hub, self.rim, self.spokes, self.tension_side, self.tension)
