"""Wheels of the sources, built as the product builds any wheel."""

import numpy as np

from wheelsim.mechanics.influence import nominal_factor
from wheelsim.wheel.geometry import RAD
from wheelsim.wheel.parts import Flange, Hub, Rim, SideSpokes, Spokes, Wheel

# The standard research wheel of Ford 2018 (appendix), in SI: radial spokes by turns on either side.
RADIUS = 0.304
RIM = {"radial_bending": 111.0, "lateral_bending": 219.0, "torsion": 26.3, "stretch": 69e9 * 104e-6}
NO_STRETCH = {**RIM, "stretch": 1e9}  # formulas that leave hoop stretch out
BUTTED = ((1.72e-3, 205e-3), (1.99e-3, 71e-3))  # nipple end first
EQUIVALENT = ((1.78e-3, 1.0),)
LENGTH = np.hypot(RADIUS - 0.029, 0.0265)
# The printed K of 1891 N/mm to the last digit, from the printed 1.78 mm: E moves by 0.03 %.
MODULUS = 1891e3 * LENGTH / (np.pi * 1.78e-3**2 / 4)

# A crossed, dished rear wheel (invented): its own influence is checked, no value of it is published.
REAR = {
    "radius": 0.301, "circle": 0.045, "flanges": (0.021, 0.034), "cross": (3, 3), "segments": ((2.0e-3, 1.0),),
    "modulus": 200e9,
    "rim": {"radial_bending": 110.0, "lateral_bending": 200.0, "torsion": 25.0, "stretch": 7.0e6},
}


def wheel(n=36, radius=RADIUS, rim=RIM, circle=0.058, flanges=(0.0265, 0.0265), cross=(0, 0),
          segments=EQUIVALENT, modulus=MODULUS, tension=0.0, sides=None, seat=None, **more):
    """A wheel, by default the research wheel of Ford; pairs are (right, left), spoke 1 on the right.

    ``tension`` is the mean of the right side; ``more`` goes to the rim. SI units.
    """
    angles = tuple(2 * np.pi * (i + 0.5) / n for i in range(n))
    right, left = (SideSpokes(c, segments) for c in cross)
    return Wheel(
        "check", Hub(0.12, left=Flange(flanges[1], circle), right=Flange(flanges[0], circle)),
        Rim(angles, seat or radius, radius, **rim, **more),
        Spokes(sides or "RL" * (n // 2), left=left, right=right, modulus=modulus), "right", tension)


def smeared(n, of=36, segments=EQUIVALENT, tension=0.0, **more):
    """The same steel and the same pull on ``n`` spokes instead of ``of``: the smeared limit."""
    thin = tuple((diameter * np.sqrt(of / n), length) for diameter, length in segments)
    return wheel(n, segments=thin, tension=tension * of / n, **more)


def point_load(wheel, **force):
    """Station shifts (n, 6) under a force at spoke 1: lateral=, tangential=, radial=. [N]"""
    factor, geometry = nominal_factor(wheel)
    load = np.zeros((wheel.n, 6))
    for axis, name in enumerate(("lateral", "tangential", "radial")):
        load[0, axis] = force.get(name, 0.0)
    return factor.solve(load), geometry


def tension_change(shift, geometry):
    """Change of every spoke's tension when the stations (seats at the section's centre) move. [N]"""
    return -geometry.stiffness * np.sum(geometry.axis * shift[:, :3], axis=1)


def cosines(geometry):
    """(c1, c2) of spoke 1: lateral and radial direction cosines, both positive."""
    return abs(geometry.axis[0, 0]), -geometry.axis[0, RAD]
