"""S. Timoshenko, J. Gere, Theory of Elastic Stability, 2nd ed., 1961, and
S. Timoshenko, D. H. Young, Vibration Problems in Engineering, 3rd ed., 1955, as given by Ford 2018.

The rim alone: buckling in its plane, waves in its plane, tones of the ring hung free.
"""

import numpy as np
import pytest

from tests.published import rings
from tests.published.row import Row, assert_holds
from tests.published.test_ford_buckling import RIMS, parts
from tests.published.wheels import NO_STRETCH, RADIUS, RIM
from wheelsim.readings.tap import Tones, stiffness_from_tones
from wheelsim.wheel.geometry import RAD

BUCKLING, TONES = "Timoshenko & Gere", "Timoshenko & Young, in Ford 2018"
R, EI, EI_OUT, GJ = RADIUS, RIM["radial_bending"], RIM["lateral_bending"], RIM["torsion"]
MU = GJ / EI_OUT
TURNED_ROUND = "the theory turned round: a ring of the printed stiffness rings, and its tones give it back"
MASS = 0.538  # [kg] rim of the standard research wheel


def in_plane_buckling():
    """Rings, in-plane buckling: 4 EI/R^3 dead load, 4.5 to the centre (3 where the pull stays normal)."""
    rim = rings.rim(72, stiffness=NO_STRETCH)
    unit = EI / R**3
    for to_centre, printed, words in ((False, "4", "dead load"), (True, "4.5", "pull to the centre")):
        yield Row(BUCKLING, "rings under radial pull", f"in-plane buckling, {words}, in EI/R^3",
                  printed, rings.buckling_pull(rim, rings.IN_PLANE, to_centre=to_centre) / unit, "1",
                  kind="value from memory",
                  why="72 loads for the even one leave 1e-5",
                  rel=1e-4,
                  remark="" if to_centre else "3 holds for a fluid's pressure, which no spoke exerts")


def in_plane_waves():
    """Bare ring in its plane: stiffness of cos m.theta, pi EI_r (m^2-1)^2/R^3."""
    rim = rings.rim(144, stiffness=NO_STRETCH)
    for m in (2, 3, 4, 5):
        yield Row("any handbook", "bare ring, in plane", f"stiffness of {m} waves, pi EI_r (m^2-1)^2/R^3",
                  np.pi * EI * (m**2 - 1) ** 2 / R**3 / 1e3, rings.mode_stiffness(rim, RAD, m) / 1e3, "N/mm",
                  kind="value from memory",
                  why="144 forces for a smooth wave leave 1e-5",
                  rel=1e-4)


def free_tones():
    """Tones of the free ring: in plane sqrt(EI_r/(2 pi R^3 M)), out of plane sqrt(GJ/(2 pi R^3 M))."""
    m = np.array([2, 3, 4])
    size = m * (m**2 - 1)
    plane = size / np.sqrt(m**2 + 1) * np.sqrt(EI / (2 * np.pi * R**3 * MASS))
    out = size / np.sqrt(MU * m**2 + 1) * np.sqrt(GJ / (2 * np.pi * R**3 * MASS))
    rim = rings.rim(72, stiffness=NO_STRETCH)
    for words, printed, freedom in (("in plane", plane, rings.IN_PLANE), ("out of plane", out, rings.OUT_OF_PLANE)):
        for waves, tone, ours in zip(m, printed, rings.free_tones(rim, MASS, freedom, 3), strict=True):
            yield Row(TONES, "free ring", f"tone of {waves} waves {words}", tone, ours, "Hz",
                      why="mass lumped at 72 stations leaves below 1e-3",
                      rel=1e-3)


def tap_test():
    """The same tones read backwards: mu = (16 - r^2)/(9 r^2 - 64), GJ = ((4 mu + 1)/18) pi R^3 M f2^2."""
    f2, f3 = rings.free_tones(rings.rim(72), MASS, rings.OUT_OF_PLANE, 2)
    r = f3 / f2
    mu = (16 - r**2) / (9 * r**2 - 64)
    yield Row(TONES, "tap test", "mu from the two lowest lateral tones of our own ring", MU, mu, "1", kind="derived",
              why="mu is 10 to 20 times as sensitive as the tones, which carry 1e-4 of lumping",
              rel=5e-3, remark=TURNED_ROUND)
    yield Row(TONES, "tap test", "GJ from the same two tones", GJ,
              (4 * mu + 1) / 18 * np.pi * R**3 * MASS * f2**2, "N.m2", kind="derived",
              why="follows mu",
              rel=5e-3, remark=TURNED_ROUND)


def seven_rims():
    """Seven measured rims: our own ring rings, and the tap test of those tones gives the printed stiffnesses back."""
    for row in RIMS:
        radius, mass, stiffness = row[0] / 1e3, row[1] / 1e3, parts(row)["rim"]
        rim = rings.rim(72, radius, stiffness)
        (f2, f3), (flat,) = (rings.free_tones(rim, mass, freedom, count)
                             for freedom, count in ((rings.OUT_OF_PLANE, 2), (rings.IN_PLANE, 1)))
        found = stiffness_from_tones(Tones(radius, mass, f2, f3, flat))
        name = f"R {row[0]} mm, {row[1]} g"
        for what, printed, ours, unit in (
            ("EI_r", str(row[2]), found.radial_bending[0], "N.m2"),
            ("GJ", str(row[3]), found.torsion[0], "N.m2"),
            ("mu", str(row[4]), found.torsion[0] / found.lateral_bending[0], "1"),
        ):
            yield Row("Ford 2018", "acoustic chapter, table of rim properties",
                      f"{what} from the tones of our own ring: {name}", printed, ours, unit, kind="derived",
                      why="mass lumped at 72 stations leaves 1e-4 in the tones, ten times that in mu; and the hoop "
                          "stretch that the formula leaves out takes 1e-3 off EI_r",
                      rel=2e-3, remark=TURNED_ROUND)


CHECKS = (in_plane_buckling, in_plane_waves, free_tones, tap_test, seven_rims)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_timoshenko(check):
    """Formulas of rings: every row within its tolerance."""
    assert_holds(check)
