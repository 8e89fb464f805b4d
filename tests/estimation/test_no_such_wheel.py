"""Readings that no wheel can have: a state at rest with finite deviations all the same, or no stable wheel in words."""

import re
from dataclasses import replace

import numpy as np
import pytest

from tests.estimation.test_estimate import REAR, WHEELS, gauge
from wheelsim.estimation.estimate import estimate
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.reading import Reading
from wheelsim.report.words.shared import no_stable_words


def test_no_stable_wheel_is_explained():
    """A wheel file that buckles as it stands: no reading can explain that away."""
    buckled = replace(REAR, tension=9000.0)
    with pytest.raises(Unstable) as caught:
        estimate(buckled, Reading(tension=tuple((spoke, 9000.0) for spoke in range(1, 33))))
    assert re.match(r"no stable wheel explains the readings \(.*\); look at their units",
                    no_stable_words(caught.value.because))


def test_tension_past_buckling_is_answered_by_the_nearest_stable_wheel():
    """Newtons written as kilogram-force would buckle it; what is shown is at rest, and far from the reading."""
    found = estimate(REAR, Reading(tension=tuple((spoke, 9000.0) for spoke in range(1, 33))))
    assert found.state.tension.max() < 5000
    assert max(abs(misfit) for kind, _, misfit in found.residual if kind == "tension") > 5


@pytest.mark.parametrize("seed", range(12))
def test_readings_against_each_other(seed):
    """However they contradict each other, a state at rest with finite deviations, or no stable wheel in words."""
    rng = np.random.default_rng(seed)
    wheel = list(WHEELS.values())[seed % len(WHEELS)]
    size = 10 ** rng.uniform(-3.5, -2)

    def some(low, high):
        spokes = set(range(1, wheel.n + 1)) - wheel.spokes.missing
        return tuple((spoke, float(rng.uniform(low, high))) for spoke in sorted(spokes) if rng.random() < 0.6)

    reading = Reading("", gauge(rng.uniform(-8e-3, 8e-3)), some(-size, size), some(-size, size), some(0, 1500))
    try:
        found = estimate(wheel, reading)
    except Unstable as error:
        assert "units" in no_stable_words(error.because)  # noqa: PT017
        return
    # As above.
    assert np.abs(found.state.resultant()).max() < 1e-5
    assert np.isfinite(found.tension_sd).all()
    assert found.state.tension.min() >= 0
