"""What a plan must keep and what it strives for, as numbers for one wheel in one state."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.loads import least_tension
from wheelsim.mechanics.tyre import expected_loss, squeeze
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES

TYPED_MINIMUM = 300.0  # the default of ``Limits``, where "from load" can't be met [N]


@dataclass(frozen=True)
class Bounds:
    """Largest gap, run-outs and spread, highest and lowest tension; all SI, spread a fraction.

    ``off_usual`` is the largest departure of a side's mean from its usual tension, a fraction; infinite where that
    is not asked for.
    """

    gap: float
    lateral_runout: float
    radial_runout: float
    side_spread: float
    max_tension: float
    min_tension: float
    off_usual: float = math.inf

    def of(self, name: Quantity) -> float:
        """The bound of a quantity."""
        return float(getattr(self, name))

    def less(self, keep: Mapping[Quantity, float]) -> "Bounds":
        """Bounds drawn in by what is kept from each, by name, never below a third."""
        out: dict[Quantity, float] = {}
        for name in Quantity:
            limit, kept = self.of(name), keep.get(name, 0.0)
            out[name] = limit + kept if name is Quantity.LOWEST else max(limit - kept, limit / 3)
        return Bounds(**out)

    def tighter_of(self, other: "Bounds") -> "Bounds":
        """The stricter of two, name by name."""
        return Bounds(**{name: (max if name is Quantity.LOWEST else min)(self.of(name), other.of(name))
                         for name in Quantity})


class LowerLimitFrom(Enum):
    """Where a lowest tension that is wished "from load" comes from."""

    LOAD = "load"
    NO_LOAD_STATED = "no load stated"
    OUT_OF_REACH = "out of reach"


@dataclass(frozen=True)
class LowerLimit:
    """A lowest tension taken from the load.

    Attributes
    ----------
    tension : float
        The limit to use. [N]
    source : LowerLimitFrom
    load : float
        On the wheel, 0 where none is stated. [N]
    needed : float
        What every spoke would have to have under it. [N]
    available : float
        What the looser side has when the tighter is at its limit. [N]
    taken : float
        Of what is needed, what an inflated tyre takes. [N]
    """

    tension: float
    source: LowerLimitFrom
    load: float = 0.0
    needed: float = 0.0
    available: float = 0.0
    taken: float = 0.0


def from_load(wheel: Wheel) -> LowerLimit:
    """The least tension at which no spoke goes slack under the wheel's radial load, the tyre inflated, if it can be.

    What a tyre takes is counted one standard deviation above the likeliest: without its pressure and width, the upper
    end of what practice reports.

    Without a stated load, or where the looser side can't have that much while the tighter keeps its highest, it is
    the default lowest tension.
    """
    if wheel.load is None or wheel.load.radial is None:
        return LowerLimit(TYPED_MINIMUM, LowerLimitFrom.NO_LOAD_STATED)
    load = wheel.load.radial
    g = wheel_geometry(wheel)
    mean_loss = sum(expected_loss(wheel)) * float(g.tension[g.present].mean())
    taken = mean_loss * float(-squeeze(wheel).tension[g.present].min())
    needed = least_tension(wheel, load) + taken
    mean = [float(g.tension[wheel.on_side(side)].mean()) for side in SIDES]
    available = wheel.limits.max_tension * (min(mean) / max(mean) if max(mean) > 0 else 1.0)
    if needed < available:
        return LowerLimit(needed, LowerLimitFrom.LOAD, load, needed, available, taken)
    return LowerLimit(TYPED_MINIMUM, LowerLimitFrom.OUT_OF_REACH, load, needed, available, taken)


def resolved(wheel: Wheel, *, aims: bool = False) -> Bounds:
    """The bounds that a wheel's limits, or aims, ask for."""
    asked = wheel.striving if aims else wheel.limits
    low = from_load(wheel).tension if asked.min_tension == "from load" else asked.min_tension
    return Bounds(asked.gap, asked.lateral_runout, asked.radial_runout, asked.side_spread, asked.max_tension, low,
                  asked.off_usual)


def broken(values: Mapping[Quantity, float], bounds: Bounds) -> list[Quantity]:
    """The quantities, by name to their value, that lie outside bounds."""
    return [name for name, value in values.items()
            if name.sign * (value - bounds.of(name)) > name.rounding]
