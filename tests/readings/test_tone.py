"""The note of a spoke against the vibration of a stiff string, solved by finite differences."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import eigh

from tests.wheels import front
from wheelsim.estimation.estimate import estimate
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job, Pass
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading, Shown
from wheelsim.readings.tone import SPOKE_DENSITY, tension_from_tone, tensions_from_tone

MODULUS, LENGTH, DIAMETER = 200e9, 0.29, 2.0e-3


def lowest_tone(tension, segments=((DIAMETER, 1.0),), points=1500):
    """Lowest note of a clamped stepped beam under tension: (E I y'')'' - T y'' = m w^2 y. [Hz]"""
    ends = np.cumsum([part for _, part in segments]) / sum(part for _, part in segments)
    h = LENGTH / (points + 1)
    # Nodes from one clamped end to the other; curvature at every node, its slope nought at both ends.
    at = np.arange(points + 2) / (points + 1)
    thick = np.array([segments[min(int(np.searchsorted(ends, x)), len(segments) - 1)][0] for x in at])
    bending, mass = MODULUS * np.pi * thick**4 / 64, SPOKE_DENSITY * np.pi * thick**2 / 4
    curved = np.zeros((points + 2, points))
    inner = np.arange(points)
    curved[inner + 1, inner] = -2.0
    curved[inner[1:], inner[1:]] = curved[inner[:-1] + 2, inner[:-1]] = 1.0
    curved[0, 0] = curved[-1, -1] = 2.0  # the point beyond mirrors the first one inside
    curved /= h**2
    half = np.ones(points + 2)
    half[[0, -1]] = 0.5
    stiffness = curved.T @ ((bending * half)[:, None] * curved) - tension * curved[1:-1]
    lowest = eigh((stiffness + stiffness.T) / 2, np.diag(mass[1:-1]), eigvals_only=True, subset_by_index=[0, 0])[0]
    return np.sqrt(lowest) / (2 * np.pi)


@pytest.mark.parametrize("tension", [400.0, 700.0, 1000.0, 1300.0])
def test_note_of_a_stiff_string(tension):
    tone = lowest_tone(tension)
    # What 1500 points of the finite differences leave.
    assert tension_from_tone(tone, LENGTH, ((DIAMETER, 1.0),), MODULUS) == pytest.approx(tension, rel=5e-3)


def test_string_law_without_stiffness():
    """f = (1 / 2 L) sqrt(T / m), any physics handbook; an octave is four times the tension."""
    mass = SPOKE_DENSITY * np.pi * DIAMETER**2 / 4
    limp = [tension_from_tone(tone, LENGTH, ((DIAMETER, 1.0),), 1e3) for tone in (200.0, 400.0)]
    assert limp[0] == pytest.approx(mass * (2 * LENGTH * 200) ** 2, rel=0.01)
    assert limp[1] == pytest.approx(4 * limp[0], rel=1e-3)


def test_lower_than_a_slack_spoke_rings():
    assert tension_from_tone(50.0, LENGTH, ((DIAMETER, 1.0),), MODULUS) == 0.0


@pytest.mark.parametrize("tension", [300.0, 1000.0])
@pytest.mark.parametrize("segments", [((2.0e-3, 12.0), (1.8e-3, 266.0), (2.0e-3, 12.0)),
                                      ((2.0e-3, 12.0), (1.5e-3, 266.0), (2.0e-3, 12.0)),
                                      ((2.0e-3, 60.0), (1.5e-3, 170.0), (2.0e-3, 60.0))])
def test_butted_spoke(segments, tension):
    """A stepped stiff string by finite differences of its energy; means of mass and bending are 6 to 36 % off."""
    tone = lowest_tone(tension, segments)
    clamped, pinned = tensions_from_tone(tone, LENGTH, segments, MODULUS)
    # What 1500 points leave at the steps.
    assert clamped == pytest.approx(tension, rel=0.01)
    assert tension_from_tone(tone, LENGTH, segments, MODULUS) == clamped
    assert 1.05 < pinned / clamped < 2.0


def test_tones_tell_differences_and_not_the_level():
    """A reading by tone leaves the level of the tensions as unsure as ends that clamp or don't."""
    state = equilibrium(front(), 0.1 * np.random.default_rng(0).standard_normal(36))
    read = Reading(gauge=Gauge("right", "hub", 0.0, 0.0), tension=tuple((i + 1, float(v))
                                                                      for i, v in enumerate(state.tension)))
    # The tones themselves don't matter here, only that there are some.
    plucked = replace(read, shown=tuple(Shown(spoke, 400.0, "Hz") for spoke, _ in read.tension))
    meter, tone = (estimate(front(), one) for one in (read, plucked))
    level = [float(np.linalg.norm(one.tension_root.mean(axis=0))) for one in (meter, tone)]
    spread = [float(np.linalg.norm(one.tension_root[4] - one.tension_root[6])) for one in (meter, tone)]
    assert level[1] > 2 * level[0]
    assert spread[1] == pytest.approx(spread[0], rel=0.1)


def test_a_level_told_by_tone_stays_unsure_after_a_pass():
    """A pass with nothing read after it brings no new information of the level of the tensions."""
    wheel = front()
    state = equilibrium(wheel, 0.1 * np.random.default_rng(0).standard_normal(36))
    read = Reading(gauge=Gauge("right", "hub", 0.0, 0.0), after_pass=0,
                   tension=tuple((i + 1, float(v)) for i, v in enumerate(state.tension)),
                   shown=tuple(Shown(i + 1, 400.0, "Hz") for i in range(36)))
    level = [float(np.linalg.norm(Known(job).found.tension_root.mean(axis=0))) for job in (
        Job(wheel, (read,)), Job(wheel, (read,), passes=(Pass(1, ((1, 0.125),)),)))]
    assert level[1] == pytest.approx(level[0], rel=0.05)
