"""How surely the bounded quantities of a wheel are known."""

import numpy as np

from wheelsim.truing.bounds import QUANTITIES
from wheelsim.truing.view import pulling
from wheelsim.wheel.parts import SIDES


def was_read(reading):
    """Which bounded quantities a reading (or None, a nominal wheel) says something of directly, by name."""
    if reading is None:
        return dict.fromkeys(QUANTITIES, True)
    tension = bool(reading.tension)
    return {"gap": reading.gauge is not None, "lateral_runout": len(reading.lateral) > 1,
            "radial_runout": len(reading.radial) > 1, "side_spread": tension, "max_tension": tension,
            "min_tension": tension}


def standard_deviations(wheel, found):
    """Standard deviations of the bounded quantities over the wheels that a reading allows, by name.

    Beside them "right", "left", the spreads of the sides, and "right mean". [m, N, fraction]
    """
    lateral, radial, tension = found.draw()
    out = {
        "gap": 2 * found.dish_sd,
        "lateral_runout": float(np.ptp(lateral, axis=0).std()),
        "radial_runout": float(np.ptp(radial, axis=0).std()),
        "max_tension": float(tension.max(axis=0).std()),
        "right mean": float(tension[wheel.on_side("right")].mean(axis=0).std()),
    }
    lowest = []
    for side in SIDES:
        mine = tension[pulling(wheel, side)]
        mean = np.maximum(mine.mean(axis=0), 1.0)
        out[side] = float((np.abs(mine - mean).max(axis=0) / mean).std())
        lowest.append(mine.min(axis=0))
    out["min_tension"] = float(np.minimum(*lowest).std())
    out["side_spread"] = max(out[side] for side in SIDES)
    return out
