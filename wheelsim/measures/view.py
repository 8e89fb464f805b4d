"""One equilibrium state with its measured quantities, as plain numbers."""

from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np

from wheelsim.encoded import Encoded
from wheelsim.measures.quantities import SLACK, Measures, Quantity, measure
from wheelsim.mechanics.between import half_way
from wheelsim.mechanics.equilibrium import State
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES, Side


class Stands(Enum):
    """Overall tension of a wheel against its usual tension."""

    SLACK = "slack"
    ABOUT_RIGHT = "about right"
    TIGHT = "tight"


@dataclass(frozen=True, eq=False)
class View(Encoded):
    """A state and its quantities as plain floats in SI units; see ``Measures`` for their definitions."""

    state: State
    measures: Measures

    @property
    def wheel(self) -> Wheel:
        """The wheel of the state."""
        return self.state.wheel

    @property
    def target_dish(self) -> float:
        """Dish that the frame needs, plus right. [m]"""
        return self.measures.target_dish

    @property
    def dish(self) -> float:
        """Mean lateral offset of the rim from the hub's middle, plus right. [m]"""
        return float(self.measures.dish)

    @property
    def gap(self) -> float:
        """Reading of the dish gauge, signed like the dish. [m]"""
        return float(self.measures.gap)

    @property
    def off_target(self) -> float:
        """Gap less that of the target dish. [m]"""
        return float(self.measures.off_target)

    @property
    def true(self) -> float:
        """Lateral run-out at the spokes. [m]"""
        return float(self.measures.true)

    @property
    def round(self) -> float:
        """Radial run-out at the spokes. [m]"""
        return float(self.measures.round)

    @cached_property
    def runout_between(self) -> dict[Quantity, float]:
        """Lateral and radial run-out (TRUE and ROUND) with the places midway between spokes included. [m]"""
        lateral, radial = half_way(self.state)
        return {Quantity.TRUE: float(np.ptp(np.concatenate([self.state.edge, lateral]))),
                Quantity.ROUND: float(np.ptp(np.concatenate([self.state.radial, radial])))}

    @property
    def mean(self) -> dict[Side, float]:
        """Mean tension of each side. [N]"""
        return {side: float(value) for side, value in self.measures.mean.items()}

    @property
    def spread(self) -> dict[Side, float]:
        """Largest departure of a spoke from its side's mean, as a fraction of it."""
        return {side: float(value) for side, value in self.measures.spread.items()}

    @property
    def highest(self) -> float:
        """Highest tension. [N]"""
        return float(self.measures.highest)

    @property
    def lowest(self) -> float:
        """Lowest tension. [N]"""
        return float(self.measures.lowest)

    @property
    def values(self) -> dict[Quantity, float]:
        """Value of each quantity that has a limit, in SI units."""
        return {name: float(value) for name, value in self.measures.limited.items()}

    @property
    def usual(self) -> dict[Side, float]:
        """Usual mean tension of each side. [N]"""
        return self.measures.usual

    @property
    def stands_off(self) -> float:
        """Departure of the sum of both sides' means from the usual sum, as a fraction of it, minus below."""
        usual = sum(self.usual.values())
        return sum(self.mean.values()) / usual - 1 if usual > 0 else 0.0

    def stands(self, within: float) -> Stands:
        """Whether the wheel is slack, about right (within this fraction of the usual tension) or tight.

        By the sides' means: a slack spoke alone does not make the wheel slack.
        """
        off = self.stands_off
        if abs(off) <= within:
            return Stands.ABOUT_RIGHT
        return Stands.SLACK if off < 0 else Stands.TIGHT

    @property
    def tighter_side(self) -> Side:
        """The side with the higher mean tension."""
        mean = self.mean
        return max(SIDES, key=lambda side: mean[side])

    @property
    def slack(self) -> list[int]:
        """Numbers of the spokes with less than ``SLACK``, missing ones left out."""
        there = np.sort(np.concatenate([self.wheel.pulling(side) for side in SIDES]))
        return [int(i) + 1 for i in there if self.state.tension[i] < SLACK]


def view(state: State, target_dish: float = 0.0) -> View:
    """The quantities of a state; ``target_dish`` is the dish that the frame needs, plus right. [m]"""
    return View(state, measure(state.wheel, state.edge, state.radial, state.tension, target_dish))
