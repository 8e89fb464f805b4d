"""M. Ford, "Reinventing the Wheel", PhD dissertation, Northwestern University, 2018: the stiffness of a real
wheel against the shape of two waves that it collapses into, measured against the radial pull of its spokes.

The wheel is not fully given to us: the rim is taken for that of the standard research wheel, with its 36 spokes,
and the hub's width for the distance between the two planes where the spokes leave it.
"""

import numpy as np
import pytest

from tests.published import rings
from tests.published.row import Row, assert_holds
from tests.published.wheels import RADIUS, cosines, wheel
from wheelsim.mechanics.influence import nominal_factor
from wheelsim.wheel.geometry import LAT, wheel_geometry

SOURCE, WHERE = "Ford 2018", "measured stiffness of two waves against pull (figure)"
# Hub width mm, measured (pull N/mm, stiffness N/mm), and where the source's fitted line meets zero, N/mm.
MEASURED = (
    (70.0, ((5.52, 326.7), (9.48, 316.8), (13.43, 283.9), (17.44, 256.3), (20.35, 237.6), (23.48, 214.2)), "56.7"),
    (80.0, ((6.34, 411.7), (10.45, 383.6), (14.36, 364.8), (18.31, 347.0), (21.30, 319.2), (25.39, 297.1)), "75.65"),
)


def two_waves(width, pull):
    """Stiffness of the wheel against cos 2.theta, per unit amplitude, under a radial pull. [mm], [N/mm], [N/mm]"""
    flanges = (width / 2e3, width / 2e3)
    c2 = cosines(wheel_geometry(wheel(flanges=flanges)))[1]
    factor, geometry = nominal_factor(wheel(flanges=flanges, tension=pull * 1e3 * 2 * np.pi * RADIUS / (36 * c2)))
    wave = np.cos(2 * geometry.angle)
    load = np.zeros((36, 6))
    load[:, LAT] = wave
    amplitude = wave @ factor.solve(load)[:, LAT] / (wave @ wave)
    return wave @ wave / amplitude / 1e3


def zero_of_line(points):
    """Where the line of least squares through points meets zero, and its value at no pull."""
    slope, first = np.polyfit(*np.transpose(points), 1)
    return -first / slope, first


def fitted_lines():
    """Pull at which the line meets zero: measured, and ours through the same pulls."""
    for width, points, printed in MEASURED:
        ours = zero_of_line([(pull, two_waves(width, pull)) for pull, _ in points])[0]
        common = {"source": SOURCE, "where": WHERE, "printed": printed, "ours": ours, "unit": "N/mm",
                  "what": f"pull at which the line of two waves meets zero, hub {width:g} mm wide",
                  "kind": "measured", "under": ("prestress",)}
        if width == 80.0:
            yield Row(**common, remark="rim and width are taken, not given; the other width lies further off",
                      why="the source's own model and measurement of the pull lie within that",
                      rel=0.10)
        else:
            yield Row(**common, remark="reported: outside the 10 % within which the source has its own model; rim and "
                                       "width are taken, not given, and flanges 5 mm nearer together would give 56.0")


def spokes_part():
    """What the spokes give of that stiffness, the rim's taken off: measured, some 35 % less than theory."""
    rim = rings.mode_stiffness(rings.rim(), LAT, 2) / 1e3
    for width, points, _ in MEASURED:
        theory = zero_of_line([(pull, two_waves(width, pull)) for pull, _ in points])[1] - rim
        yield Row(SOURCE, WHERE, f"spokes' part of it at no pull, measured, less than theory by: hub {width:g} mm wide",
                  "35", 100 * (1 - (zero_of_line(points)[1] - rim) / theory), "%", kind="measured",
                  remark="reported: about 35 in print, for play at the elbow; the same rim and width taken")


CHECKS = (fitted_lines, spokes_part)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_ford_taco(check):
    """Two waves against pull: every row within its tolerance."""
    assert_holds(check)
