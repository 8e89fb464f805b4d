"""One wheel at rest as the bench reads it."""

from dataclasses import dataclass
from enum import Enum
from typing import TypedDict

import numpy as np

from wheelsim.measures.quantities import SLACK, Measures, Quantity, measure
from wheelsim.mechanics.equilibrium import State
from wheelsim.units import MM, rounded
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES, Side


class Stands(Enum):
    """How the tension of a wheel stands against what it usually carries."""

    SLACK = "slack"
    ABOUT_RIGHT = "about right"
    TIGHT = "tight"


class ViewDict(TypedDict):
    """A view as JSON writes it; lists are (n,), ``slack`` holds spoke numbers."""

    dish_mm: float
    gauge_gap_mm: float
    lateral_mm: list[float]
    radial_mm: list[float]
    lateral_runout_mm: float
    radial_runout_mm: float
    tension_N: list[float]
    slack: list[int]


@dataclass(frozen=True, eq=False)
class View:
    """A state and what it measures, as plain numbers in SI units; see ``Measures`` for each."""

    state: State
    measures: Measures

    @property
    def wheel(self) -> Wheel:
        return self.state.wheel

    @property
    def target_dish(self) -> float:
        return self.measures.target_dish

    @property
    def dish(self) -> float:
        return float(self.measures.dish)

    @property
    def gap(self) -> float:
        """What the gauge would show, signed like the dish. [m]"""
        return float(self.measures.gap)

    @property
    def off_target(self) -> float:
        """The gap less the one that the frame wants. [m]"""
        return float(self.measures.off_target)

    @property
    def true(self) -> float:
        return float(self.measures.true)

    @property
    def round(self) -> float:
        return float(self.measures.round)

    @property
    def mean(self) -> dict[Side, float]:
        return {side: float(value) for side, value in self.measures.mean.items()}

    @property
    def spread(self) -> dict[Side, float]:
        return {side: float(value) for side, value in self.measures.spread.items()}

    @property
    def highest(self) -> float:
        return float(self.measures.highest)

    @property
    def lowest(self) -> float:
        return float(self.measures.lowest)

    @property
    def values(self) -> dict[Quantity, float]:
        """The value of each quantity that has a limit."""
        return {name: float(value) for name, value in self.measures.limited.items()}

    @property
    def usual(self) -> dict[Side, float]:
        """Mean tension that each side should usually carry. [N]"""
        return self.measures.usual

    @property
    def stands_off(self) -> float:
        """How far both sides' means together are from the usual, as a fraction of it, minus below."""
        usual = sum(self.usual.values())
        return sum(self.mean.values()) / usual - 1 if usual > 0 else 0.0

    def stands(self, within: float) -> Stands:
        """How the tension of both sides together stands against the usual; ``within`` is a fraction of that."""
        off = self.stands_off
        if self.slack or off < -within:
            return Stands.SLACK
        return Stands.TIGHT if off > within else Stands.ABOUT_RIGHT

    @property
    def tighter_side(self) -> Side:
        mean = self.mean
        return max(SIDES, key=lambda side: mean[side])

    @property
    def slack(self) -> list[int]:
        """Numbers of the spokes that are there and hang loose."""
        there = np.sort(np.concatenate([self.wheel.pulling(side) for side in SIDES]))
        return [int(i) + 1 for i in there if self.state.tension[i] < SLACK]

    def as_dict(self) -> ViewDict:
        state = self.state
        lateral = [rounded(v / MM, 6) for v in state.lateral]
        dish = sum(lateral) / len(lateral)
        return {
            "dish_mm": dish,
            "gauge_gap_mm": 2 * dish,
            "lateral_mm": lateral,
            "radial_mm": [rounded(v / MM, 6) for v in state.radial],
            "lateral_runout_mm": rounded(self.true / MM, 6),
            "radial_runout_mm": rounded(self.round / MM, 6),
            "tension_N": [rounded(v, 3) for v in state.tension],
            "slack": self.slack,
        }


def view(state: State, target_dish: float = 0.0) -> View:
    """Measure a state; ``target_dish`` is the offset that the frame wants. [m]"""
    return View(state, measure(state.wheel, state.edge, state.radial, state.tension, target_dish))
