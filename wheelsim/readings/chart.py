"""A tension meter's chart: what it shows against the tension of the spoke, for all spokes or a size at a time."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from wheelsim.units import MM

NEAR = 0.05  # how far a spoke may be from the size that a chart is for; own choice [mm]
Size: TypeAlias = float | None  # diameter that a column is for, None for all [mm]


@dataclass(frozen=True)
class Column:
    """Readings, rising, and the forces that belong to them [N], for spokes of one size."""

    size: Size
    readings: tuple[float, ...]
    forces: tuple[float, ...]

    def holds(self, value: float) -> bool:
        """Whether the column reaches as far as what the meter shows."""
        return self.readings[0] <= value <= self.readings[-1]

    def newtons(self, value: float) -> float:
        """Tension of a spoke on which the meter shows ``value``, between two rows; ValueError beyond them. [N]"""
        if not self.holds(value):
            raise ValueError(f"the meter shows {value:g}; its chart goes from {self.readings[0]:g} to "
                             f"{self.readings[-1]:g}")
        return float(np.interp(value, self.readings, self.forces))


@dataclass(frozen=True)
class Chart:
    """The columns of one meter; ``name`` is that of its file."""

    name: str
    columns: tuple[Column, ...]

    @property
    def for_all(self) -> bool:
        """Whether one column serves spokes of every size."""
        return self.columns[0].size is None

    def column(self, diameter: float) -> Column | None:
        """The column for a spoke that is so thick where the meter sits [mm]; None where no size is near."""
        if self.for_all:
            return self.columns[0]
        nearest = min(self.columns, key=lambda one: abs((one.size or 0.0) - diameter))
        return nearest if abs((nearest.size or 0.0) - diameter) <= NEAR + 1e-9 else None


def middle_diameter(segments: Sequence[tuple[float, float]]) -> float:
    """Diameter halfway along a spoke, where the meter sits: of (diameter, length) pairs [m]. [m]"""
    half = sum(length for _, length in segments) / 2
    for diameter, length in segments:
        half -= length
        if half <= 0:
            return diameter
    return segments[-1][0]


def chart_size(segments: Sequence[tuple[float, float]]) -> float:
    """The same rounded, as a chart names it. [mm]"""
    return round(middle_diameter(segments) / MM, 4)
