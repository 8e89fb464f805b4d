"""Slips in one visit: a tension with its point missing beside a nipple turned the wrong way, and one forgotten."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import make_wheel
from wheelsim.estimation.doubts import DoubtedReading
from wheelsim.estimation.held_out import tensions_too_high
from wheelsim.estimation.known import Known
from wheelsim.estimation.outliers import NewKink, TurnedOtherwise
from wheelsim.estimation.problem import kinked, shape_waves
from wheelsim.job.job import Job, Pass
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.reading import Reading
from wheelsim.readings.simulated import Tools

WHEEL = make_wheel(28, cross=3, tension=1000.0)
LOGGED = {4: 0.25, 10: 0.5, 12: 0.25, 20: 0.5, 24: 0.5}
READ_AFTER = (4, 9, 10, 11, 12, 20, 23, 24, 25)


def job(seed, **really):
    """A slack wheel, five nipples of it turned as logged but for ``really``, then the dial and some tensions."""
    rng = np.random.default_rng(seed)
    before = equilibrium(WHEEL, rng.normal(-0.75, 0.12, WHEEL.n))
    turned = np.zeros(WHEEL.n)
    for spoke, turns in (LOGGED | {int(name[1:]): turns for name, turns in really.items()}).items():
        turned[spoke - 1] = turns
    after = equilibrium(WHEEL, before.turns + turned, start=before)
    tools = Tools(rng)
    second = tools.everything(after, after_pass=1)
    lateral = tuple((spoke, round(value, 4)) for spoke, value in second.lateral)  # to a tenth of a millimetre
    tension = tuple(one for one in second.tension if one[0] in READ_AFTER)
    second = replace(second, radial=(), lateral=lateral, tension=tension)
    return Job(WHEEL, (tools.everything(before, after_pass=0), second), passes=(Pass(1, tuple(LOGGED.items())),))


def tenfold(one, spoke):
    reading = one.readings[-1]
    tension = tuple((k, 10 * value if k == spoke else value) for k, value in reading.tension)
    return replace(one, readings=(*one.readings[:-1], replace(reading, tension=tension)))


@pytest.mark.parametrize("seed", [0, 2, 16])
def test_a_forgotten_nipple_is_no_crack(seed):
    """Common practice, no source: a nipple on the list that was left out is far more common than a rim that bends."""
    found = Known(job(seed, s24=-0.5, s12=0.0))
    turned = {one.spoke: one for one in found.outliers if isinstance(one, TurnedOtherwise)}
    assert set(turned) == {12, 24}
    # One nipple moves a dial read to some hundredths by little more than a rim's own doubt: a third of a turn.
    assert turned[24].moved == pytest.approx(-0.5, abs=0.3)
    assert turned[12].moved == pytest.approx(0.0, abs=0.3)
    assert not any(isinstance(one, NewKink) for one in found.outliers)


@pytest.mark.parametrize("seed", range(4))
def test_a_tenfold_tension_bends_nothing(seed):
    """Left out before any estimate; told with what all else says, and the nipple turned the wrong way beside it."""
    right = job(seed, s24=-0.5)
    found, sound = Known(tenfold(right, 24)), Known(right)
    first = next(one for one in found.doubts if isinstance(one, DoubtedReading))
    assert (first.outlier.kind, first.outlier.spoke) == ("tension", 24)
    assert first.likely == pytest.approx(sound.found.state.tension[23], rel=0.15)  # without its own reading
    assert [one.spoke for one in found.outliers if isinstance(one, TurnedOtherwise)] == [24]
    assert found.found.state.edge == pytest.approx(sound.found.state.edge, abs=0.1e-3)
    assert first in found.read_first


def test_what_is_no_tenfold_tension():
    """One of two tensions; one that stands when read twice; one not twice all others, or that a spoke may have."""
    def missing(tension, **more):
        return [one.spoke for one in tensions_too_high(Reading("", None, tension=tension, **more))]

    others = ((1, 500.0), (2, 450.0), (3, 480.0))
    assert missing((*others, (7, 4700.0))) == [7]
    assert missing(((1, 500.0), (7, 4700.0))) == []
    assert missing((*others, (9, 1200.0), (7, 2300.0))) == []
    assert missing((*others, (7, 1900.0))) == []
    assert missing(((1, 0.0), (2, 0.0), (7, 4700.0))) == [7]
    assert missing(tuple((k, 4000.0 if k < 5 else 450.0) for k in range(1, 29))) == []  # too many for slips of a hand
    assert missing((*others, (7, 4700.0)), read_again=frozenset({7})) == []


def test_a_tenfold_tension_stays_out_after_the_next_pass():
    """It was not read again: named with the pass after which it was read, and still no part of the estimate."""
    right = job(0, s24=-0.5)
    later = Pass(2, ((9, 0.25),))
    then, sound = (Known(replace(one, passes=(*one.passes, later))) for one in (tenfold(right, 24), right))
    named = [one for one in then.doubts if isinstance(one, DoubtedReading)]
    assert [(one.outlier.spoke, one.after_pass) for one in named] == [(24, 1)]
    assert then.found.state.edge == pytest.approx(sound.found.state.edge, abs=0.1e-3)


@pytest.mark.parametrize(("height", "seed"), [(0.2e-3, 4), (0.3e-3, 3), (0.3e-3, 4)])
def test_a_bend_is_named_though_it_is_rare(height, seed):
    """A small kink at a spoke that nobody turned, and nothing else: named, whatever counts against it."""
    rng, angle = np.random.default_rng(seed), np.asarray(WHEEL.rim.hole_angles)
    before = equilibrium(WHEEL, rng.normal(-0.75, 0.12, WHEEL.n))
    kink = shape_waves(angle, 1.0)[0] @ kinked(angle)[:, 15]
    after = equilibrium(WHEEL, before.turns, np.stack([height * kink, 0 * kink]))
    tools = Tools(rng)
    readings = (tools.everything(before, after_pass=0), tools.everything(after, after_pass=1))
    found = Known(Job(WHEEL, readings, passes=(Pass(1, ((3, 0.125),)),)))
    assert [one.spoke for one in found.outliers if isinstance(one, NewKink)] == [16]
