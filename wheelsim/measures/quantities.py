"""The quantities a wheel is judged by: each computed in one place, for one wheel or for many at once."""

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np

from wheelsim.arrays import Floats, Ints
from wheelsim.units import MM
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES, Side

SLACK = 1.0  # a spoke that pulls less hangs loose in the hand; our own choice [N]


class Quantity(StrEnum):
    """A quantity that has a limit; its value is the name of its field in ``Limits`` and ``Bounds``."""

    GAP = "gap"
    TRUE = "lateral_runout"
    ROUND = "radial_runout"
    SPREAD = "side_spread"
    HIGHEST = "max_tension"
    LOWEST = "min_tension"
    OFF_USUAL = "off_usual"

    @property
    def trade(self) -> str:
        """The trade's word for it."""
        return _TRADE[self]

    @property
    def unit(self) -> str:
        """The bench's unit: "mm", "%" or "N"."""
        return _UNITS[self][0]

    @property
    def per_si(self) -> float:
        """What an SI value is multiplied with to stand in the bench's unit."""
        return _UNITS[self][1]

    @property
    def rounding(self) -> float:
        """Differences below this are arithmetic, far below what a bench can read. [SI]"""
        return _UNITS[self][2]

    @property
    def sign(self) -> float:
        """+1 where the limit is an upper one, -1 for the lowest tension."""
        return -1.0 if self is Quantity.LOWEST else 1.0

    @property
    def is_tension(self) -> bool:
        """Whether the limit is one of single spokes' tensions."""
        return self in (Quantity.HIGHEST, Quantity.LOWEST)


_TRADE = {
    Quantity.GAP: "gap", Quantity.TRUE: "true", Quantity.ROUND: "round", Quantity.SPREAD: "spread within a side",
    Quantity.HIGHEST: "highest tension", Quantity.LOWEST: "lowest tension",
    Quantity.OFF_USUAL: "usual tension",
}
# Unit, units per SI, rounding [SI].
_UNITS = {
    Quantity.GAP: ("mm", 1 / MM, 1e-7),
    Quantity.TRUE: ("mm", 1 / MM, 1e-7),
    Quantity.ROUND: ("mm", 1 / MM, 1e-7),
    Quantity.SPREAD: ("%", 100.0, 1e-5),
    Quantity.HIGHEST: ("N", 1.0, 1e-3),
    Quantity.LOWEST: ("N", 1.0, 1e-3),
    Quantity.OFF_USUAL: ("%", 100.0, 1e-5),
}


@dataclass(frozen=True, eq=False)
class Measures:
    """What one wheel, or k of them, measure: every array is () or (k,), in SI units.

    Attributes
    ----------
    dish : ndarray
        Mean lateral offset of the rim from the hub's middle, plus right. [m]
    target_dish : float
        Offset that the frame wants. [m]
    true, round : ndarray
        Lateral and radial run-out, highest less lowest over one revolution. [m]
    mean : dict of side to ndarray
        Mean tension of a side's spokes that are there. [N]
    spread : dict of side to ndarray
        Largest departure from the side's mean, as a fraction of it; 0 where the mean is 0.
    highest, lowest : ndarray
        Of the spokes that are there. [N]
    usual : dict of side to float
        Mean tension the side should usually carry: that of the true, centred wheel at its nominal tension. [N]
    """

    dish: Floats
    target_dish: float
    true: Floats
    round: Floats
    mean: dict[Side, Floats]
    spread: dict[Side, Floats]
    highest: Floats
    lowest: Floats
    usual: dict[Side, float]

    @property
    def gap(self) -> Floats:
        """What the dish gauge shows, signed like the dish: twice the offset. [m]"""
        return 2 * self.dish

    @property
    def off_target(self) -> Floats:
        """The gap less the one that the frame wants; the gap's limit is on its size. [m]"""
        return 2 * (self.dish - self.target_dish)

    @property
    def from_usual(self) -> dict[Side, Floats]:
        """How far each side's mean is from its usual tension, as a fraction of that, minus below; 0 if that is 0."""
        return {side: (self.mean[side] - usual) / usual if usual > 0 else 0.0 * self.mean[side]
                for side, usual in self.usual.items()}

    @property
    def limited(self) -> dict[Quantity, Floats]:
        """The value of each quantity that has a limit."""
        return {
            Quantity.GAP: np.abs(self.off_target), Quantity.TRUE: self.true, Quantity.ROUND: self.round,
            Quantity.SPREAD: np.maximum(self.spread["right"], self.spread["left"]),
            Quantity.HIGHEST: self.highest, Quantity.LOWEST: self.lowest,
            Quantity.OFF_USUAL: np.maximum(*(np.abs(off) for off in self.from_usual.values())),
        }


def measure(wheel: Wheel, lateral: Floats, radial: Floats, tension: Floats, target_dish: float = 0.0) -> Measures:
    """Measure one wheel or many.

    Parameters
    ----------
    wheel : Wheel
        Says which spokes stand on which side, and which are missing.
    lateral, radial : (n,) or (n, k) ndarray
        Rim position at the stations; a dial's readings do as well, for run-outs. [m]
    tension : (n,) or (n, k) ndarray
        [N]
    target_dish : float
        [m]

    Returns
    -------
    Measures
    """
    pulling, usual = _sides(wheel)
    mean: dict[Side, Floats] = {}
    spread: dict[Side, Floats] = {}
    highest, lowest = [], []
    for side in SIDES:
        mine = tension[pulling[side]]
        top, bottom, middle = mine.max(axis=0), mine.min(axis=0), mine.mean(axis=0)
        off = np.maximum(top - middle, middle - bottom)
        mean[side] = middle
        some = middle > 0
        spread[side] = off / middle if some.all() else np.where(some, off / np.where(some, middle, 1.0), 0.0)
        highest.append(top)
        lowest.append(bottom)
    run_out, hop = (shape.max(axis=0) - shape.min(axis=0) for shape in (lateral, radial))
    return Measures(lateral.mean(axis=0), target_dish, run_out, hop, mean, spread,
                    np.maximum(*highest), np.minimum(*lowest), usual)


@lru_cache(maxsize=64)
def _sides(wheel: Wheel) -> tuple[dict[Side, Ints], dict[Side, float]]:
    """What ``measure`` needs of a wheel: each side's spokes that are there, and its usual tension."""
    return {side: np.array(wheel.pulling(side), dtype=int) for side in SIDES}, usual_tension(wheel)


@lru_cache(maxsize=64)
def usual_tension(wheel: Wheel) -> dict[Side, float]:
    """Mean tension that each side should usually carry, by side; shared, so don't write to it. [N]"""
    tension = wheel_geometry(wheel).tension
    return {side: float(tension[wheel.on_side(side)].mean()) for side in SIDES}
