"""M. Ford, "Reinventing the Wheel", PhD dissertation, Northwestern University, 2018: tension at which a
wheel buckles, by the formula of smeared spokes, over the seven rims measured there, and by finite elements.
"""

import numpy as np
import pytest

from tests.published.row import Row, assert_holds
from tests.published.wheels import RADIUS, RIM, cosines, smeared, wheel
from wheelsim.mechanics.stability import critical_tension
from wheelsim.wheel.geometry import wheel_geometry

SOURCE, WHERE = "Ford 2018", "\"Buckling tension\", least over m"
# Radius mm, mass g, EI_r, GJ N.m2, mu = GJ/EI_l: tapping tests of seven alloy rims.
RIMS = ((305, 480, 310, 85.7, 0.405), (304, 459, 274, 103.6, 0.449), (217, 380, 103, 26.4, 0.175),
        (304, 538, 111, 26.3, 0.120), (307, 594, 131, 16.9, 0.108), (271, 459, 114, 14.6, 0.114),
        (302, 551, 125, 19.2, 0.123))

# Finite elements, read off the published curves: lam, mu and the printed R^3 q/EI_l at buckling.
FINITE_ELEMENTS = ((5.0, 0.38, "3.57"), (9.2, 0.38, "5.04"), (17.1, 0.38, "7.74"), (31.5, 0.38, "10.28"),
                   (58.3, 0.38, "13.73"), (107.7, 0.38, "20.13"), (199.0, 0.38, "26.7"),
                   (10.0, 0.010, "1.96"), (10.0, 0.0341, "3.18"), (10.0, 0.117, "4.43"), (10.0, 0.398, "5.34"),
                   (10.0, 1.0, "5.89"))


def parts(row):
    """Radius and stiffnesses of a measured rim; stretch from its mass, aluminium 69 GPa, 2700 kg/m3."""
    radius, mass = row[0] / 1e3, row[1] / 1e3
    stretch = mass / (2 * np.pi * radius) / 2700 * 69e9
    return {"radius": radius, "rim": {"radial_bending": float(row[2]), "lateral_bending": row[3] / row[4],
                                      "torsion": row[3], "stretch": stretch}}


def formula(wheel):
    """R^3 q/EI_l = [lam + mu m^2 (m^2-1)^2/(1 + mu m^2)]/(m^2 - g), least over m >= 2, as tension. [N]"""
    geometry, rim = wheel_geometry(wheel), wheel.rim
    c1, c2 = cosines(geometry)
    radius, bend, m = rim.section_radius, rim.lateral_bending, np.arange(2, 20)
    mu = rim.torsion / bend
    around = 2 * np.pi * radius
    lam = wheel.n * geometry.stiffness[0] * c1**2 / around * radius**4 / bend
    g = radius * (1 - c1**2) / (geometry.length[0] * c2)
    pull = np.min((lam + mu * m**2 * (m**2 - 1) ** 2 / (1 + mu * m**2)) / (m**2 - g)) * bend / radius**3
    return pull * around / (wheel.n * c2)


def seven_rims():
    """Buckling of seven rims on the hub and spokes of the research wheel: formula and eigenvalue."""
    for row in RIMS:
        name = f"R {row[0]} mm, EI_r {row[2]}, GJ {row[3]} N.m2"
        few = "the formula smears the spokes: it can't see the rim give way between them"
        for n, this in ((36, wheel(36, **parts(row))), (24, wheel(24, **parts(row)))):
            common = {"source": SOURCE, "where": WHERE, "printed": formula(this),
                      "ours": critical_tension(this), "unit": "N", "what": f"buckling tension, {n} spokes: {name}",
                      "under": ("prestress",)}
            if n == 36:
                yield Row(**common, remark=few,
                          why="36 discrete spokes against smeared ones",
                          rel=0.05)
            else:
                yield Row(**common, remark=f"reported: {few}; with 24 it is unsafe and the eigenvalue governs")


def many_spokes():
    """The same formula where it holds, with 144 spokes of the same steel."""
    for row in RIMS:
        this = smeared(144, **parts(row))
        yield Row(SOURCE, WHERE,
                  f"buckling tension, 144 spokes: R {row[0]} mm, EI_r {row[2]}, GJ {row[3]} N.m2",
                  formula(this), critical_tension(this), "N",
                  why="144 spokes for smeared ones",
                  rel=5e-3, under=("prestress",))


def finite_elements():
    """Buckling over lam and mu on the hub and spokes of the research wheel; EI_l and GJ make lam and mu."""
    geometry, radius = wheel_geometry(wheel()), RADIUS
    c1, c2 = cosines(geometry)
    around = 2 * np.pi * radius
    bed = 36 * geometry.stiffness[0] * c1**2 / around
    for lam, mu, printed in FINITE_ELEMENTS:
        bend = bed * radius**4 / lam
        this = smeared(144, rim={**RIM, "lateral_bending": bend, "torsion": mu * bend})
        pull = 144 * critical_tension(this) * c2 / around
        over = abs(pull * radius**3 / bend / float(printed) - 1) > 0.01
        yield Row(SOURCE, "\"Buckling tension\", finite elements (figure)",
                  f"pull at buckling, R^3 q/EI_l, lam {lam:g}, mu {mu:g}: here 144 spokes", printed,
                  pull * radius**3 / bend, "1",
                  why="reading the figure, and R/l of its wheel is not known: from 1.00 to 1.15 it moves 1 to 5 %",
                  rel=0.04, under=("prestress",),
                  remark="R/l of the source's wheel is not known; it is 1.10 here" if over else "")


CHECKS = (seven_rims, many_spokes, finite_elements)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_ford_buckling(check):
    """Buckling: every row within its tolerance."""
    assert_holds(check)


@pytest.mark.parametrize("row", RIMS, ids=lambda row: f"{row[0]}-{row[3]}")
def test_formula_is_on_the_unsafe_side(row):
    """With 24 spokes the smeared formula lies above the eigenvalue, so it must not be the limit."""
    few = wheel(24, **parts(row))
    assert critical_tension(few) < formula(few)
