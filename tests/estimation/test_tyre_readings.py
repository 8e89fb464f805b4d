"""Readings taken with the tyre inflated: the estimate is the wheel without it, and says so."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import dished, front
from wheelsim.estimation.assumed import TyreTakes
from wheelsim.estimation.estimate import estimate
from wheelsim.job.job import Job
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.tyre import expected_loss, squeeze
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.report.words.estimation import assumed_words
from wheelsim.stand.predict import predict
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import Tyre

WHEELS = pytest.mark.parametrize("wheel", [front(), dished()], ids=["front", "dished"])


def read_with_tyre(wheel, loss, tyre="inflated"):
    """What the bench reads on the true, centred wheel squeezed by ``loss`` newtons off its mean tension."""
    rest, change = equilibrium(wheel), squeeze(wheel)
    lateral, radial = rest.lateral + loss * change.lateral, rest.radial + loss * change.radial
    tension = rest.tension + loss * change.tension
    gap = 2 * float(lateral.mean())
    gauge = Gauge.showing(gap)
    return Reading(gauge=gauge, lateral=tuple(enumerate(lateral, 1)), radial=tuple(enumerate(radial, 1)),
                   tension=tuple(enumerate(tension, 1)), tyre=tyre)


def mean_loss(wheel):
    """Likely loss of the mean tension. [N]"""
    g = wheel_geometry(wheel)
    return expected_loss(wheel)[0] * float(g.tension[g.present].mean())


@WHEELS
@pytest.mark.parametrize("tyre", [None, Tyre(pressure=7e5, width=25e-3)], ids=["unknown", "known"])
def test_bare_tensions_are_higher_by_the_loss(wheel, tyre):
    """Read 10 to 15 % low with the tyre on: the wheel without it is the nominal one."""
    wheel = replace(wheel, tyre=tyre)
    reading = read_with_tyre(wheel, mean_loss(wheel))
    found = estimate(wheel, reading).state
    read = np.array([value for _, value in reading.tension])
    # The loss itself is only known as likely; what it is taken to be comes back to within what a meter tells.
    assert (found.tension - read).mean() == pytest.approx(mean_loss(wheel), rel=0.02)
    assert found.tension == pytest.approx(wheel_geometry(wheel).tension, rel=0.01)
    assert np.abs(found.lateral).max() < 0.02e-3


@WHEELS
def test_says_so(wheel):
    """In ``assumed``: how much, how surely, and that the wheel shown is without it."""
    words = [assumed_words(one) for one in estimate(wheel, read_with_tyre(wheel, 100.0)).assumed
             if isinstance(one, TyreTakes)]
    assert len(words) == 1
    assert "inflated" in words[0]
    assert "15 +- 5 %" in words[0]
    assert "without it" in words[0]
    job = Job(wheel, (read_with_tyre(wheel, 100.0),))
    assert words[0] in predict(job).as_dict()["assumed"]


@WHEELS
def test_tyre_off_takes_readings_as_they_are(wheel):
    reading = read_with_tyre(wheel, mean_loss(wheel), tyre="off")
    found = estimate(wheel, reading)
    assert not [one for one in found.assumed if isinstance(one, TyreTakes)]
    # A meter of 5 % on every spoke, and 3 % common to all, leave the mean a few tenths of a per cent.
    assert found.state.tension.mean() == pytest.approx(np.mean([value for _, value in reading.tension]), rel=0.01)


@WHEELS
def test_tyre_widens_what_is_known(wheel):
    """What the tyre takes is known to a third or so, so tensions read with it are known less well."""
    reading = read_with_tyre(wheel, mean_loss(wheel))
    inflated, off = (estimate(wheel, replace(reading, tyre=tyre)).tension_sd.mean() for tyre in ("inflated", "off"))
    assert inflated > off
    # Five per cent of the tension.
    assert inflated > 0.04 * wheel_geometry(wheel).tension.mean()


def test_no_tension_read():
    """Without a tension the nominal mean is taken as the bare wheel's: the tyre changes nothing of it."""
    wheel = front()
    bare = estimate(wheel, replace(read_with_tyre(wheel, mean_loss(wheel)), tension=())).state
    # The radial dial has a free zero, so only [tension] tells.
    assert bare.tension.mean() == pytest.approx(1000.0, rel=0.01)
