"""M. Ford, "Reinventing the Wheel: Stress Analysis, Stability, and Optimization of the Bicycle Wheel",
PhD dissertation, Northwestern University, 2018: the rim alone, out of its plane.
"""

import numpy as np
import pytest

from tests.published import rings
from tests.published.row import Row, assert_holds
from tests.published.wheels import RADIUS, RIM
from wheelsim.wheel.geometry import LAT

SOURCE = "Ford 2018"
R, EI, GJ = RADIUS, RIM["lateral_bending"], RIM["torsion"]
MU = GJ / EI


def four_points():
    """Ring held at three points of a square, weight P at the fourth: (P R^3/2GJ)[2(pi-3) + mu (pi-2)]."""
    rim = rings.rim(8)
    load = np.zeros((8, 6))
    load[0, LAT] = 10.0
    yield Row(SOURCE, "\"four-point bending\"", "closed ring on three points, 10 N at the fourth: it sinks",
              10 * R**3 / (2 * GJ) * (2 * (np.pi - 3) + MU * (np.pi - 2)) * 1e3,
              rings.shift(rim, load)[0, LAT] * 1e3, "mm",
              why="the ring is solved exactly; rounding only",
              rel=1e-8)


def lateral_waves():
    """Bare ring out of its plane: Kb Kt/(Kb + Kt)."""
    rim = rings.rim(144)
    for m in (2, 3, 4, 5):
        bending = np.pi * EI * (m**2 - 1) ** 2 / R**3
        torsion = np.pi * GJ * m**2 * (m**2 - 1) ** 2 / R**3
        yield Row(SOURCE, "acoustic chapter, modes of the bare rim", f"lateral stiffness of {m} waves, Kb Kt/(Kb + Kt)",
                  bending * torsion / (bending + torsion) / 1e3, rings.mode_stiffness(rim, LAT, m) / 1e3, "N/mm",
                  why="144 forces for a smooth wave leave 1e-5",
                  rel=1e-4)


def buckling():
    """Ring under radial pull, out of plane: 12 mu/(1 + 4 mu) EI_l/R^3 to the centre, 3/4 of it dead."""
    rim = rings.rim(72)
    to_centre = 12 * MU / (1 + 4 * MU)
    for printed, aimed, words in ((to_centre, True, "pull to the centre, 12 mu/(1 + 4 mu)"),
                                  (0.75 * to_centre, False, "dead load, 3/4 of 12 mu/(1 + 4 mu)")):
        yield Row(SOURCE, "\"all spokes lie in the plane\"", f"out-of-plane buckling, {words}, in EI_l/R^3",
                  printed, rings.buckling_pull(rim, rings.OUT_OF_PLANE, to_centre=aimed) * R**3 / EI, "1",
                  why="72 loads for the even one leave 1e-5",
                  rel=1e-4)


CHECKS = (four_points, lateral_waves, buckling)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_ford_rim(check):
    """The bare rim: every row within its tolerance."""
    assert_holds(check)
