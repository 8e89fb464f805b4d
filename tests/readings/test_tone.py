"""The note of a spoke against the vibration of a stiff string, solved by finite differences."""

import numpy as np
import pytest
from scipy.linalg import eigh

from wheelsim.readings.tone import SPOKE_DENSITY, tension_from_tone

MODULUS, LENGTH, DIAMETER = 200e9, 0.29, 2.0e-3


def lowest_tone(tension, points=400):
    """Lowest note of a clamped beam under tension: E I y^(4) - T y^(2) = m w^2 y. [Hz]"""
    bending, mass = MODULUS * np.pi * DIAMETER**4 / 64, SPOKE_DENSITY * np.pi * DIAMETER**2 / 4
    h = LENGTH / (points + 1)
    near = np.diag(np.ones(points - 1), 1) + np.diag(np.ones(points - 1), -1)
    second = (near - 2 * np.eye(points)) / h**2
    # Clamped ends: the slope is nought, so the point beyond mirrors the first one inside.
    fourth = second @ second
    fourth[0, 0] += 2 / h**4
    fourth[-1, -1] += 2 / h**4
    lowest = eigh(bending * fourth - tension * second, eigvals_only=True, subset_by_index=[0, 0])[0]
    return np.sqrt(lowest / mass) / (2 * np.pi)


@pytest.mark.parametrize("tension", [400.0, 700.0, 1000.0, 1300.0])
def test_note_of_a_stiff_string(tension):
    tone = lowest_tone(tension)
    # The series stops at the square of the stiffness; at 400 N that is worth a per cent.
    assert tension_from_tone(tone, LENGTH, ((DIAMETER, 1.0),), MODULUS) == pytest.approx(tension, rel=0.015)


def test_string_law_without_stiffness():
    """f = (1 / 2 L) sqrt(T / m), any physics handbook; an octave is four times the tension."""
    mass = SPOKE_DENSITY * np.pi * DIAMETER**2 / 4
    limp = [tension_from_tone(tone, LENGTH, ((DIAMETER, 1.0),), 1e3) for tone in (200.0, 400.0)]
    assert limp[0] == pytest.approx(mass * (2 * LENGTH * 200) ** 2, rel=1e-3)
    assert limp[1] == pytest.approx(4 * limp[0], rel=1e-3)


def test_lower_than_a_slack_spoke_rings():
    assert tension_from_tone(50.0, LENGTH, ((DIAMETER, 1.0),), MODULUS) == 0.0
