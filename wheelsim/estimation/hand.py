"""Error of a hand at one nipple: the turn made against the turn meant."""

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.windup import wind_up
from wheelsim.readings.errors import LEFT_WOUND, MISTURN_SD
from wheelsim.wheel.parts import Wheel


def misturn_sd(wheel: Wheel, tension: Floats) -> Floats:
    """Standard deviation of how far a nipple moves on its thread, about the turn that was meant.

    Parameters
    ----------
    wheel : Wheel
    tension : (n,) ndarray
        Of the spokes while they are turned. [N]

    Returns
    -------
    (n,) ndarray
        Root sum of squares of the hand's error and of the part of the wind-up that stays in the spoke. [turn]
    """
    out: Floats = np.hypot(MISTURN_SD, LEFT_WOUND * wind_up(wheel, tension))
    return out
