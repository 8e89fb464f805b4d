"""Stiffness of a rim from its tones: M. Ford, PhD dissertation, Northwestern University, 2018, seven tapped rims.

The rows and the formulas of the free ring are those of tests/published (Ford, Timoshenko).
"""

from dataclasses import replace

import numpy as np
import pytest

from tests.published.test_ford_buckling import RIMS
from wheelsim.readings.tap import TONE_SD, TONES, Tones, free_tone, stiffness_from_tones
from wheelsim.wheel.rules import PartError

EACH = pytest.mark.parametrize("row", RIMS, ids=lambda row: f"{row[0]}-{row[3]}")


def tones_of(row):
    """Tones of the free ring, Timoshenko & Young 1955 as given by Ford 2018, from a printed row."""
    radius, mass, (bending, torsion, mu) = row[0] / 1e3, row[1] / 1e3, row[2:]
    whole = 2 * np.pi * radius**3 * mass
    lateral = {m: m * (m**2 - 1) / np.sqrt(mu * m**2 + 1) * np.sqrt(torsion / whole) for m in (2, 3)}
    return Tones(radius, mass, lateral[2], lateral[3], 6 / np.sqrt(5) * np.sqrt(bending / whole))


def mu_of(tones):
    found = stiffness_from_tones(tones)
    return found.torsion[0] / found.lateral_bending[0]


@EACH
def test_printed_rims_there_and_back(row):
    """Tones from the printed EI_r, GJ and mu, and the stiffnesses from the tones."""
    found = stiffness_from_tones(tones_of(row))
    # The formulas are each other's inverse; rounding only.
    assert found.radial_bending[0] == pytest.approx(row[2], rel=1e-9)
    assert found.torsion[0] == pytest.approx(row[3], rel=1e-9)
    assert found.lateral_bending[0] == pytest.approx(row[3] / row[4], rel=1e-9)


def test_tones_lie_where_a_hand_hears_them():
    """The standard research wheel's rim: 82, 277 and 92 Hz, as its own ring rings (tests/published)."""
    tones = tones_of(RIMS[3])
    # Whole hertz.
    assert (tones.lateral2, tones.lateral3, tones.radial2) == pytest.approx((82.0, 277.0, 92.0), abs=0.5)


@EACH
def test_half_a_per_cent_in_each_tone(row):
    """Derived: it can be 5 to 9 % in mu; one tone alone 5 to 7 %, the two lateral ones together 7 to 9 %."""
    tones = tones_of(row)
    one = [mu_of(replace(tones, **{name: getattr(tones, name) * 1.005})) / mu_of(tones) - 1 for name in TONES]
    # Second order makes a step up and a step down differ by a twentieth.
    assert 0.045 < abs(one[0]) < 0.07
    assert 0.045 < abs(one[1]) < 0.07
    assert 0.065 < np.hypot(one[0], one[1]) < 0.095
    assert one[2] == 0


@EACH
def test_stated_deviations_are_those_of_many_tappings(row):
    """Tones off by half a per cent at random: the stiffnesses scatter as much as is said."""
    tones, rng = tones_of(row), np.random.default_rng(7)
    drawn = []
    for _ in range(400):
        heard = {name: getattr(tones, name) * (1 + TONE_SD * rng.standard_normal()) for name in TONES}
        found = stiffness_from_tones(replace(tones, **heard))
        drawn.append((found.radial_bending[0], found.lateral_bending[0], found.torsion[0]))
    said = stiffness_from_tones(tones)
    for scatter, (_, sd) in zip(np.std(drawn, axis=0), (said.radial_bending, said.lateral_bending, said.torsion),
                                strict=True):
        # 400 draws know a deviation to 4 %; what is said is linear, worth some more.
        assert scatter == pytest.approx(sd, rel=0.15)


def test_deviation_grows_with_that_of_the_tones():
    tones = tones_of(RIMS[0])
    once, twice = (stiffness_from_tones(tones, tone_sd=sd).torsion[1] for sd in (0.005, 0.01))
    assert twice == pytest.approx(2 * once, rel=1e-12)  # linear


@pytest.mark.parametrize("ratio", [2.5, 8 / 3 - 1e-3, 4.001, 6.0])
def test_impossible_ratio(ratio):
    """Below 8/3 or above 4 no ring rings so: the fault says what would do."""
    with pytest.raises(PartError, match=r"lateral3.*8/3 to 4 times") as caught:
        Tones(0.3, 0.5, 80.0, 80.0 * ratio, 90.0)
    assert [fault.field for fault in caught.value.faults] == ["lateral3"]


@pytest.mark.parametrize(("field", "value", "unit"), [("radius", 300.0, "mm"), ("mass", 0.0, "g"), ("mass", 480.0, "g"),
                                                      ("lateral2", -1.0, "Hz"), ("radial2", float("nan"), "Hz")])
def test_impossible_figures(field, value, unit):
    with pytest.raises(PartError, match=rf"{field}.*{unit}"):
        replace(tones_of(RIMS[0]), **{field: value})


def test_as_wheel_files_write_it():
    found = stiffness_from_tones(tones_of(RIMS[3])).as_dict()
    assert set(found) == {"radial_bending_Nm2", "lateral_bending_Nm2", "torsion_Nm2"}
    assert found["torsion_Nm2"]["value"] == pytest.approx(26.3, rel=1e-9)  # there and back, as above
    assert found["torsion_Nm2"]["sd"] > 0


def test_rotary_inertia_of_the_section():
    """A box of 20 by 22 mm: left out, lateral bending comes out some tenth too low; counted, tones give it back."""
    made = Tones(0.3, 0.5, 84.1, 282.7, 96.6, height=0.020, width=0.022)
    lateral, torsion = 200.0, 60.0
    heard = replace(made, lateral2=free_tone(2, lateral, torsion, made), lateral3=free_tone(3, lateral, torsion, made))
    found = stiffness_from_tones(heard)
    assert found.lateral_bending[0] == pytest.approx(lateral, rel=1e-6)
    assert found.torsion[0] == pytest.approx(torsion, rel=1e-6)
    plain = stiffness_from_tones(replace(heard, height=0.0, width=0.0))
    assert 0.80 < plain.lateral_bending[0] / lateral < 0.97
    assert found.radial_bending[0] > plain.radial_bending[0]


def test_tones_without_rotary_inertia_are_those_of_the_thin_ring():
    """f = m (m^2 - 1) / sqrt(mu m^2 + 1) sqrt(GJ / (2 pi R^3 M)), mu = GJ / EI (Timoshenko and Young, as cited)."""
    rim = Tones(0.3, 0.5, 84.1, 282.7, 96.6)
    lateral, torsion = 200.0, 60.0
    for m in (2, 3):
        thin = m * (m**2 - 1) / np.sqrt(torsion / lateral * m**2 + 1) * np.sqrt(torsion / (2 * np.pi * 0.3**3 * 0.5))
        assert free_tone(m, lateral, torsion, rim) == pytest.approx(thin, rel=1e-9)
