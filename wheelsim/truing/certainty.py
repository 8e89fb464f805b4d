"""How surely the bounded quantities of a wheel are known."""

import numpy as np

from wheelsim.readings.estimate import DRAWS
from wheelsim.readings.problem import FEW
from wheelsim.truing.bounds import QUANTITIES
from wheelsim.wheel.parts import SIDES


def was_read(wheel, reading):
    """Which bounded quantities a reading (or None, a nominal wheel) says something of directly, by name.

    Beside them "right", "left", the spreads of the sides: a few spokes of the side must have been read.
    """
    if reading is None:
        return dict.fromkeys((*QUANTITIES, *SIDES), True)
    spokes = {spoke - 1 for spoke, _ in reading.tension}
    sides = {side: len(spokes.intersection(wheel.pulling(side))) >= FEW for side in SIDES}
    tension = len(spokes) >= FEW
    # The dial all round or its two ends; a few places leave the rest of the rim unseen.
    dialled = {name: name in reading.extremes or len(getattr(reading, name)) >= wheel.n / 2
               for name in ("lateral", "radial")}
    return {"gap": reading.gauge is not None, "lateral_runout": dialled["lateral"],
            "radial_runout": dialled["radial"], "side_spread": all(sides.values()), "max_tension": tension,
            "min_tension": tension, **sides}


def drawn_quantities(wheel, found, target_dish=0.0, count=DRAWS):
    """The bounded quantities of the wheels that a reading allows, by name, (count,) each.

    Beside them "right", "left", the spreads of the sides, and "right mean"; the gap is from the target.
    [m, N, fraction]
    """
    lateral, radial, tension = found.draw(count)
    out = {
        "gap": np.abs(2 * (lateral.mean(axis=0) - target_dish)),
        "lateral_runout": np.ptp(lateral, axis=0),
        "radial_runout": np.ptp(radial, axis=0),
        "max_tension": tension.max(axis=0),
        "right mean": tension[wheel.pulling("right")].mean(axis=0),
    }
    lowest = []
    for side in SIDES:
        mine = tension[wheel.pulling(side)]
        mean = np.maximum(mine.mean(axis=0), 1.0)
        out[side] = np.abs(mine - mean).max(axis=0) / mean
        lowest.append(mine.min(axis=0))
    out["min_tension"] = np.minimum(*lowest)
    out["side_spread"] = np.maximum(*(out[side] for side in SIDES))
    return out


def standard_deviations(wheel, found):
    """Standard deviations of the bounded quantities over the wheels that a reading allows, by name. [m, N, fraction]"""
    out = {name: float(values.std()) for name, values in drawn_quantities(wheel, found).items()}
    # That of the signed gap: near nought its size alone strays less.
    out["gap"] = 2 * found.dish_sd
    return out
