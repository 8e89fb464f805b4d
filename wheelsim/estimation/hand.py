"""How far a hand strays from the turn it means to make at one nipple."""

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.windup import wind_up
from wheelsim.readings.errors import LEFT_WOUND, MISTURN_SD
from wheelsim.wheel.parts import Wheel


def misturn_sd(wheel: Wheel, tension: Floats) -> Floats:
    """Standard deviation of what a nipple moves on its thread about what was meant, (n,). [turn]

    Parameters
    ----------
    wheel : Wheel
    tension : (n,) ndarray
        Of the spokes while they are turned. [N]
    """
    out: Floats = np.hypot(MISTURN_SD, LEFT_WOUND * wind_up(wheel, tension))
    return out
