"""The dish gauge: what it shows, turned into the rim's offset.

Common practice, no source: the gauge is set on one contact face and read on the other.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Floats
from wheelsim.readings.errors import GAUGE_SD
from wheelsim.wheel.rules import Fault, Part, require
from wheelsim.wheel.sides import Side

GAP_AT = ("hub", "feet", "one foot")


@dataclass(frozen=True)
class Gauge(Part):
    """One reading of the dish gauge.

    Parameters
    ----------
    set_on : "right" or "left"
        The contact face on which it was set; it is read on the other.
    gap_at : "hub", "feet" or "one foot"
        Where the gap shows when it is read: at the hub, at both feet held level, or at one foot
        while the other rests.
    low, high : float
        The gap lies between these; equal for a measured number, apart for feelers. [m]
    """

    set_on: str
    gap_at: str
    low: float
    high: float

    def _rules(self) -> Iterator[Fault | None]:
        if self.set_on not in ("right", "left"):
            yield Fault("set_on", self.set_on, 'expected "right" or "left"')
        if self.gap_at not in GAP_AT:
            yield Fault("gap_at", self.gap_at, 'expected "hub", "feet" (held level) or "one foot"')
        low, high = (require(name, getattr(self, name), 0.0, 0.05, unit="mm", scale=1e-3) for name in ("low", "high"))
        yield low
        if self.high != self.low:
            yield high
            if low is None and high is None and self.high < self.low:
                yield Fault("high", self.high, "expected the feeler that stops to be thicker than the one that passes")

    @classmethod
    def showing(cls, gap: float, set_on: Side | None = None) -> Self:
        """A gauge set on that side, or so that the gap is at the hub, that shows this ``gap``. [m]"""
        if set_on is None:
            return cls("left" if gap > 0 else "right", "hub", abs(gap), abs(gap))
        toward_read_face = (math.copysign(1.0, gap) < 0) == (set_on == "right")
        return cls(set_on, "hub" if toward_read_face else "feet", abs(gap), abs(gap))

    @property
    def on_the_other_face(self) -> Self:
        """The same reading, had the gauge been set on the other face: the sign of the gap changes."""
        return replace(self, set_on="left" if self.set_on == "right" else "right")

    @property
    def gap(self) -> float:
        """Twice the lateral offset of the rim from the hub's middle, plus right, which is the gap at the hub. [m]

        The rim lies toward the second face when the gap is at the hub, away from it when the feet
        lift; read at one foot while the other rests, it is twice as large.
        """
        toward_read_face = 1.0 if self.gap_at == "hub" else -1.0
        read_face = -1.0 if self.set_on == "right" else 1.0
        return toward_read_face * read_face * (self.low + self.high) / 2 / self._times

    @property
    def gap_sd(self) -> float:
        """Standard deviation of ``gap``; feelers add that of an even spread between them. [m]"""
        return math.hypot(GAUGE_SD, (self.high - self.low) / math.sqrt(12)) / self._times

    @property
    def dish(self) -> float:
        """Lateral offset of the rim from the hub's middle, plus right. [m]"""
        return self.gap / 2

    @property
    def dish_sd(self) -> float:
        """Standard deviation of ``dish``. [m]"""
        return self.gap_sd / 2

    @property
    def _times(self) -> float:
        return 2.0 if self.gap_at == "one foot" else 1.0


def feet_deviation(angle: ArrayLike, lateral: ArrayLike, place: ArrayLike) -> Floats:
    """How far the rim under the gauge's two feet lies from its mean, on average: (k,) for places (k,). [m]

    Parameters
    ----------
    angle : (n,) array_like
        Of the stations, rising. [rad]
    lateral : (n,) array_like
        [m]
    place : (k,) array_like
        Where one foot stands; the other stands opposite. [rad]
    """
    angle, lateral, place = (np.asarray(one, dtype=float) for one in (angle, lateral, place))
    at = np.concatenate([place, place + np.pi]) % (2 * np.pi)
    here, opposite = np.interp(at, angle, lateral, period=2 * np.pi).reshape(2, -1)
    deviation: Floats = (here + opposite) / 2 - lateral.mean()
    return deviation


def gauge_reading(angle: ArrayLike, lateral: Floats, set_at: float, read_at: float) -> float:
    """Twice the dish as the gauge shows it on a rim that is out of true, signed like the dish. [m]

    Derived: twice the dish, plus the mean deviation of the rim at the feet when the gauge is set, plus
    the same when it is read. Odd waves cancel between opposite feet; the two-wave saddle does not.
    """
    errors = feet_deviation(angle, lateral, [set_at, read_at])
    return float(2 * np.mean(lateral) + errors.sum())


def saddle_error(angle: ArrayLike, lateral: ArrayLike) -> tuple[float, float]:
    """Largest error of the gap for feet at one place both times, and for the mean of two places a quarter apart. [m]"""
    places = np.linspace(0, np.pi, 180, endpoint=False)
    one = 2 * feet_deviation(angle, lateral, places)
    averaged = (one + 2 * feet_deviation(angle, lateral, places + np.pi / 2)) / 2
    return float(np.abs(one).max()), float(np.abs(averaged).max())
