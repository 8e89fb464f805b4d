"""Limits (must be kept) and aims (should be reached) of one wheel, resolved to plain numbers."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Bools, Floats
from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.loads import least_tension
from wheelsim.mechanics.tyre import expected_loss, squeeze
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES

TYPED_MINIMUM = 300.0  # same as the default of ``Limits``; used where "from load" gives no number [N]


@dataclass(frozen=True)
class Bounds:
    """Bounds on the limited quantities; each field is named as the value of its ``Quantity``."""

    gap: float  # largest size of the gap at the dish gauge, from its target [m]
    lateral_runout: float  # [m]
    radial_runout: float  # [m]
    side_spread: float  # largest departure of a spoke from its side's mean, as a fraction of it
    max_tension: float  # of any spoke [N]
    min_tension: float  # of any spoke [N]
    off_usual: float = math.inf  # largest departure of a side's mean from its usual tension, as a fraction of that

    def of(self, name: Quantity) -> float:
        """The bound of a quantity, in SI units."""
        return float(getattr(self, name))

    def less(self, keep: Mapping[Quantity, float]) -> "Bounds":
        """Tightened bounds: each moved inward by its margin in ``keep`` (SI), but an upper one not below a third.

        The third is our own choice: with poor readings the margin may exceed the bound, and nothing would be left.
        """
        out: dict[Quantity, float] = {}
        for name in Quantity:
            limit, kept = self.of(name), keep.get(name, 0.0)
            out[name] = limit + kept if name is Quantity.LOWEST else max(limit - kept, limit / 3)
        return Bounds(**out)

    def tighter_of(self, other: "Bounds") -> "Bounds":
        """For each quantity the stricter of the two bounds."""
        return Bounds(**{name: (max if name is Quantity.LOWEST else min)(self.of(name), other.of(name))
                         for name in Quantity})


class LowerLimitFrom(Enum):
    """How the lowest tension was found where the file asks for it "from load"."""

    LOAD = "load"
    NO_LOAD_STATED = "no load stated"
    OUT_OF_REACH = "out of reach"


@dataclass(frozen=True)
class LowerLimit:
    """The lowest tension that results from ``min_tension = "from load"``.

    Attributes
    ----------
    tension : float
        The limit to use. [N]
    source : LowerLimitFrom
    load : float
        Radial load on the wheel, 0 where none is stated. [N]
    needed : float
        Tension that every spoke needs so that none goes slack under the load. [N]
    available : float
        Mean tension of the looser side when the tighter side is at its highest allowed tension. [N]
    taken : float
        Part of ``needed`` that makes up for what an inflated tyre takes. [N]
    """

    tension: float
    source: LowerLimitFrom
    load: float = 0.0
    needed: float = 0.0
    available: float = 0.0
    taken: float = 0.0


def from_load(wheel: Wheel) -> LowerLimit:
    """The lowest tension at which no spoke goes slack under the wheel's radial load with an inflated tyre.

    Parameters
    ----------
    wheel : Wheel

    Returns
    -------
    LowerLimit
        ``TYPED_MINIMUM`` where no load is stated, or where the looser side can't have that much tension while the
        tighter one keeps its highest.

    Notes
    -----
    The tyre's loss is taken one standard deviation above its expected value (own choice, to be on the safe side); where
    its pressure and width aren't known that is the upper end of what practice reports.
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
    """The wheel's limits, or its aims, as numbers: "from load" is worked out."""
    asked = wheel.striving if aims else wheel.limits
    low = from_load(wheel).tension if asked.min_tension == "from load" else asked.min_tension
    return Bounds(asked.gap, asked.lateral_runout, asked.radial_runout, asked.side_spread, asked.max_tension, low,
                  asked.off_usual)


def within(name: Quantity, values: ArrayLike, limit: float | Floats) -> Bools:
    """Whether values of a quantity keep its limit; the one place that says how much counts as rounding.

    Parameters
    ----------
    name : Quantity
        Says whether the limit is an upper or a lower one.
    values : float or (k,) array_like
        SI.
    limit : float or (k,) ndarray
        SI.

    Returns
    -------
    () or (k,) ndarray of bool
        True also where the limit is passed by no more than ``Quantity.rounding``: a plan may end exactly on a limit,
        and must not be called outside because of the last digits of a sum.
    """
    kept: Bools = name.sign * (np.asarray(values, dtype=float) - limit) <= name.rounding
    return kept


def broken(values: Mapping[Quantity, float], bounds: Bounds) -> list[Quantity]:
    """The quantities whose value lies outside its bound; ``values`` in SI units."""
    return [name for name, value in values.items() if not within(name, value, bounds.of(name))]
