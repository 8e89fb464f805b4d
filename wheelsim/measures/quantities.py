"""The quantities that a wheel is judged by, computed here only, for one wheel or many at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np

from wheelsim.arrays import Floats, Ints
from wheelsim.units import MM
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES, Side

SLACK = 1.0  # a spoke with less is called slack: own choice, such a spoke hangs loose in the hand [N]


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
        """Its name as mechanics say it."""
        return _TRADE[self]

    @property
    def unit(self) -> str:
        """Unit for display: "mm", "%" or "N"."""
        return _UNITS[self][0]

    @property
    def per_si(self) -> float:
        """Factor from the SI value to the unit for display."""
        return _UNITS[self][1]

    @property
    def rounding(self) -> float:
        """Tolerance of comparisons with a limit: far above rounding errors, far below what tools can read. [SI]"""
        return _UNITS[self][2]

    @property
    def sign(self) -> float:
        """+1 for an upper limit, -1 for a lower one (lowest tension)."""
        return -1.0 if self is Quantity.LOWEST else 1.0

    @property
    def is_tension(self) -> bool:
        """Whether the limit is on the tension of single spokes."""
        return self in (Quantity.HIGHEST, Quantity.LOWEST)


_TRADE = {
    Quantity.GAP: "gap", Quantity.TRUE: "true", Quantity.ROUND: "round", Quantity.SPREAD: "spread within a side",
    Quantity.HIGHEST: "highest tension", Quantity.LOWEST: "lowest tension",
    Quantity.OFF_USUAL: "usual tension",
}
# Unit, factor from SI, tolerance [SI]: 0.1 um, 1e-3 % of a side's mean, 1 mN (own choice).
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
class Tensions:
    """What hangs on the tensions alone, of one wheel or of k wheels: every array is () or (k,), in SI units.

    Attributes
    ----------
    mean : dict of side to ndarray
        Mean tension of a side, missing spokes left out. [N]
    spread : dict of side to ndarray
        Largest departure of a spoke from its side's mean, as a fraction of it; 0 where the mean is 0.
    highest, lowest : ndarray
        Tension of any spoke, missing ones left out. [N]
    usual : dict of side to float
        Nominal mean tension of the side: that of the true, centred wheel at the tension its file states. [N]
    """

    mean: dict[Side, Floats]
    spread: dict[Side, Floats]
    highest: Floats
    lowest: Floats
    usual: dict[Side, float]

    @property
    def from_usual(self) -> dict[Side, Floats]:
        """Departure of each side's mean from its usual tension, as a fraction of that, minus below; 0 if that is 0."""
        return {side: from_usual(self.mean[side], usual) for side, usual in self.usual.items()}

    @property
    def limited(self) -> dict[Quantity, Floats]:
        """The value of each quantity that has a limit."""
        return {
            Quantity.SPREAD: np.maximum(self.spread["right"], self.spread["left"]),
            Quantity.HIGHEST: self.highest, Quantity.LOWEST: self.lowest,
            Quantity.OFF_USUAL: np.maximum(*(np.abs(off) for off in self.from_usual.values())),
        }


@dataclass(frozen=True, eq=False)
class Measures(Tensions):
    """Values of one wheel, or of k wheels: every array is () or (k,), in SI units.

    Attributes
    ----------
    dish : ndarray
        Mean lateral offset of the rim from the hub's middle, plus right. [m]
    target_dish : float
        Dish that the frame needs, plus right; 0 for a frame built symmetrically. [m]
    true, round : ndarray
        Lateral and radial run-out. [m]
    """

    dish: Floats
    target_dish: float
    true: Floats
    round: Floats

    @property
    def gap(self) -> Floats:
        """Reading of the dish gauge, signed like the dish: twice the rim's offset. [m]"""
        return 2 * self.dish

    @property
    def off_target(self) -> Floats:
        """Gap less that of the target dish; the limit applies to its absolute value. [m]"""
        return gap_of(self.dish, self.target_dish)

    @property
    def limited(self) -> dict[Quantity, Floats]:
        return {Quantity.GAP: np.abs(self.off_target), Quantity.TRUE: self.true, Quantity.ROUND: self.round,
                **super().limited}


def gap_of(dish: Floats, target_dish: float) -> Floats:
    """Reading of the dish gauge less that of the target dish. [m]"""
    return 2 * (dish - target_dish)


def run_out(shape: Floats) -> Floats:
    """Highest less lowest value of (n,) or (n, k) positions over one revolution: () or (k,). [m]"""
    out: Floats = shape.max(axis=0) - shape.min(axis=0)
    return out


def measure(wheel: Wheel, lateral: Floats, radial: Floats, tension: Floats, target_dish: float = 0.0) -> Measures:
    """Compute the quantities of one wheel or many.

    Parameters
    ----------
    wheel : Wheel
        For the side of each spoke, and which are missing.
    lateral, radial : (n,) or (n, k) ndarray
        Rim position at each spoke; readings of a dial do as well, if only run-outs are needed. [m]
    tension : (n,) or (n, k) ndarray
        [N]
    target_dish : float
        As in ``Measures``. [m]

    Returns
    -------
    Measures
        Arrays () or (k,).
    """
    tensions = measure_tension(wheel, tension)
    return Measures(**vars(tensions), dish=lateral.mean(axis=0), target_dish=target_dish, true=run_out(lateral),
                    round=run_out(radial))


def measure_tension(wheel: Wheel, tension: Floats) -> Tensions:
    """The same of what hangs on the tensions alone."""
    of = {side: tension[mine] for side, mine in pulling_of(wheel).items()}
    return tensions_of(wheel, [np.add.reduce(values) / len(values) for values in of.values()],
                       [np.maximum.reduce(values) for values in of.values()],
                       [np.minimum.reduce(values) for values in of.values()])


def tensions_of(wheel: Wheel, mean: Sequence[Floats], highest: Sequence[Floats], lowest: Sequence[Floats]) -> Tensions:
    """The same from each side's mean, highest and lowest tension, in the order of ``SIDES``: () or (k,) each. [N]"""
    spread = {side: spread_of(*one) for side, *one in zip(SIDES, mean, highest, lowest, strict=True)}
    return Tensions(dict(zip(SIDES, mean, strict=True)), spread, np.maximum(*highest), np.minimum(*lowest),
                    _sides(wheel)[1])


def spread_of(mean: Floats, highest: Floats, lowest: Floats) -> Floats:
    """Largest departure from a side's mean, as a fraction of it; 0 where the mean isn't above 0. Of any shape."""
    off: Floats = np.maximum(highest - mean, mean - lowest)
    some = mean > 0
    return off / mean if some.all() else np.where(some, off / np.where(some, mean, 1.0), 0.0)


def from_usual(mean: Floats, usual: float | Floats) -> Floats:
    """Departure of a side's mean from its usual tension, as a fraction of that; 0 where that is 0. Of any shape."""
    return np.asarray((mean - usual) / np.where(np.greater(usual, 0), usual, np.inf))


def pulling_of(wheel: Wheel) -> dict[Side, Ints | slice]:
    """Of each side the spokes that are there, to take their rows by; cached, so don't write to it."""
    return _sides(wheel)[0]


def departures(wheel: Wheel, tension: Floats) -> Floats:
    """How far each spoke is from its side's mean, (n,), as a fraction of it, minus below; 0 for missing spokes.

    A mean below ``SLACK`` counts as that much, so that a slack side has finite ones.
    """
    out = np.zeros(len(tension))
    for mine in _sides(wheel)[0].values():
        out[mine] = tension[mine] / max(float(tension[mine].mean()), SLACK) - 1
    return out


@lru_cache(maxsize=64)
def _sides(wheel: Wheel) -> tuple[dict[Side, Ints | slice], dict[Side, float]]:
    """What ``measure`` needs of a wheel: each side's spokes that are there, and its usual tension."""
    return {side: _evenly(np.array(wheel.pulling(side), dtype=int)) for side in SIDES}, usual_tension(wheel)


def _evenly(spokes: Ints) -> Ints | slice:
    """The same spokes as a slice where they are evenly spaced: numpy takes those without a copy."""
    apart = np.diff(spokes)
    even = len(apart) > 0 and bool((apart == apart[0]).all())
    return slice(int(spokes[0]), int(spokes[-1]) + 1, int(apart[0])) if even else spokes


@lru_cache(maxsize=64)
def usual_tension(wheel: Wheel) -> dict[Side, float]:
    """Usual mean tension of each side, as in ``Measures``; cached, so don't write to it. [N]"""
    tension = wheel_geometry(wheel).tension
    return {side: float(tension[wheel.on_side(side)].mean()) for side in SIDES}
