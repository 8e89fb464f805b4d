"""W. C. Young, R. G. Budynas, A. M. Sadegh, Roark's Formulas for Stress and Strain, 8th ed., 2012.

The rim alone in its plane, Table 9.2. The table's rings don't stretch: here bending is a hundredth of a
rim's, and EA far above one's.
"""

import numpy as np
import pytest

from tests.published import rings
from tests.published.row import Row, assert_holds
from tests.published.wheels import NO_STRETCH, RADIUS, RIM, cosines, wheel
from wheelsim.mechanics.influence import compression
from wheelsim.mechanics.ring import arc_stiffness
from wheelsim.wheel.geometry import RAD, wheel_geometry

SOURCE = "Roark"
R, EI, W = RADIUS, 1.0, 1.0
PLIABLE = {**NO_STRETCH, "radial_bending": EI}
EXACT = "the ring is solved exactly; what is left is its small stretch"


def _end_forces(rim, shift):
    """Force and moment that the first arc puts on its two stations, (2, 6)."""
    elastic, _ = arc_stiffness(rim.hole_angles[1], rim.section_radius, rim.radial_bending, rim.lateral_bending,
                               rim.torsion, rim.stretch)
    return (elastic @ shift[:2].ravel()).reshape(2, 6)


def two_opposed_loads():
    """Table 9.2, case 1: the ring pressed flat by W at both ends of a diameter."""
    rim = rings.rim(8, stiffness=PLIABLE)
    load = np.zeros((8, 6))
    load[[0, 4], RAD] = -W
    shift = rings.shift(rim, load)
    yield Row(SOURCE, "Table 9.2, case 1", "two opposed loads: shortening along them, (pi/4 - 2/pi) W R^3/EI",
              (np.pi / 4 - 2 / np.pi) * W * R**3 / EI * 1e3, -(shift[0, RAD] + shift[4, RAD]) * 1e3, "mm",
              why=EXACT,
              rel=1e-6)
    yield Row(SOURCE, "Table 9.2, case 1", "two opposed loads: widening across them, (2/pi - 1/2) W R^3/EI",
              (2 / np.pi - 1 / 2) * W * R**3 / EI * 1e3, (shift[2, RAD] + shift[6, RAD]) * 1e3, "mm",
              why=EXACT,
              rel=1e-6)
    yield Row(SOURCE, "Table 9.2, case 1", "two opposed loads: moment under the load, W R/pi",
              W * R / np.pi, abs(_end_forces(rim, shift)[0, 3]), "N.m", kind="value from memory",
              why=EXACT,
              rel=1e-6)


def equal_radial_loads():
    """Table 9.2, case 7: k equal radial loads, evenly spaced."""
    for k in (3, 4, 6, 12):
        rim = rings.rim(144, stiffness=PLIABLE)
        load = np.zeros((144, 6))
        load[::144 // k, RAD] = W
        a = np.pi / k
        yield Row(SOURCE, "Table 9.2, case 7",
                  f"{k} equal radial loads: deflection at them, (W R^3/4EI)(a/sin^2 a + cot a - 2/a)",
                  W * R**3 / (4 * EI) * (a / np.sin(a) ** 2 + 1 / np.tan(a) - 2 / a) * 1e3,
                  # The mean over the loads is free of where the supports stand.
                  rings.shift(rim, load)[::144 // k, RAD].mean() * 1e3, "mm", kind="value from memory",
                  why="the small stretch, W k R/(2 pi EA), tells most where many loads hardly bend the ring",
                  rel=5e-4)


def uniform_pull():
    """Any handbook: hoop force q R and radius change q R^2/EA under a radial pull q all round."""
    n = 144
    rim = rings.rim(n)
    load = np.zeros((n, 6))
    load[:, RAD] = -36 * 1000.0 / n
    shift = rings.shift(rim, load)
    hoop = _end_forces(rim, shift)
    middle = (hoop[0, 1] - hoop[1, 1]) / 2
    yield Row("any handbook", "ring under radial pull", "hoop compression of the rim under 36 spokes of 1000 N, q R",
              "5730", middle, "N", kind="value from memory",
              why="printed to 10 N; between 144 pulls the hoop force is that of a polygon, 1e-4 off",
              rel=1e-3)
    yield Row("any handbook", "ring under radial pull", "change of radius by q R^2/EA, 36 spokes of 1000 N",
              36000 / (2 * np.pi) * R / RIM["stretch"] * 1e3, -shift[:, RAD].mean() * 1e3, "mm",
              kind="value from memory",
              why="144 pulls for the even one leave 1e-3 of bending between them",
              rel=2e-3)
    built = wheel_geometry(wheel(tension=1000.0))
    yield Row("any handbook", "ring under radial pull", "compression that the spokes put in the rim, n T c2/(2 pi)",
              36000 * cosines(built)[1] / (2 * np.pi), compression(built.tension, built.axis), "N",
              kind="value from memory",
              why="both are exact; rounding only",
              rel=1e-9)
    yield Row("Ford 2018", "appendix \"Standard research wheel\"", "rim shrinks in radius under 1000 N in every spoke",
              "0.243", -shift[:, RAD].mean() * 1e3, "mm", kind="derived",
              why="printed to half a unit of its last digit, 0.2 %, and the bending between 144 pulls",
              rel=4e-3)


CHECKS = (two_opposed_loads, equal_radial_loads, uniform_pull)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_roark(check):
    """Table 9.2 and the handbook ring: every row within its tolerance."""
    assert_holds(check)
