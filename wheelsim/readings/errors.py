"""How far the tools and the hands of a shop usually err: common practice, no source."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.wheel.rules import Fault, Part, require

GAUGE_SD = 0.1e-3  # a gap by rule or calliper [m]
DIAL_SD = 0.05e-3  # [m]
METER_SCATTER = 0.05  # of the reading, a standard deviation
METER_FLOOR = 100.0  # on a looser spoke the scatter shrinks no further [N]
MISTURN_SD = 0.02  # of the hand, each time a nipple is turned: seven degrees; common practice, no source [turn]
LEFT_WOUND = 0.25  # of the wind-up stays, either way, as threads rub by a quarter more or less: our own choice


@dataclass(frozen=True)
class ToolErrors(Part):
    """Errors that all readings of one meter or one calliper share, as standard deviations.

    Parameters
    ----------
    meter : float
        The meter's scale, the same on every spoke, as a share of the reading.
    sides : float
        The meter's scale on each side's spokes beside that: it reads spokes of another diameter or shape
        differently, as a share of the reading.
    flange : float
        Each flange's distance from the middle of the hub, as measured. [m]
    tone : float
        In the meter's place where tensions are told by their tones: how the ends are held shifts all alike.
    """

    meter: float = 0.05
    sides: float = 0.04
    flange: float = 0.5e-3
    tone: float = 0.15

    def _rules(self) -> Iterator[Fault | None]:
        yield require("meter", self.meter, 1e-3, 0.5, unit="per cent", scale=1e-2)
        yield require("sides", self.sides, 1e-3, 0.5, unit="per cent", scale=1e-2)
        yield require("tone", self.tone, 1e-3, 0.5, unit="per cent", scale=1e-2)
        yield require("flange", self.flange, 1e-5, 5e-3, unit="mm", scale=1e-3)


def meter_sd(tension: Floats) -> Floats:
    """Standard deviation of single readings of these tensions, the shared errors apart. [N]"""
    return METER_SCATTER * np.maximum(tension, METER_FLOOR)
