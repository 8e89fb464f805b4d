"""Nipples that did not do what was logged, and a rim that bent meanwhile, told from two readings of erring tools."""

from dataclasses import replace

import numpy as np
import pytest

from tests.estimation.test_course import WHEEL, N, read
from wheelsim import Stand
from wheelsim.estimation.known import Known
from wheelsim.estimation.outliers import GaugeAstray, NewKink, OneReading, TurnedOtherwise, outliers
from wheelsim.estimation.problem import kinked, shape_waves
from wheelsim.job.job import Job, Pass
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.readings.simulated import Tools
from wheelsim.report.words.estimation import doubt_words

LEFT = WHEEL.on_side("left")


def job_of(seed, real=None, bend=(0.0, 0.0), at=11):
    """An uneven wheel, its left side loosened by half a turn; ``real`` are turns (by index) other than logged.

    The bend is the rim's, lateral and radial [m], got between the readings. Returns the job and the wheel as it is.
    """
    rng = np.random.default_rng(seed)
    received, logged = 0.15 * rng.standard_normal(N), np.zeros(N)
    logged[LEFT] = -0.5
    done = 0.93 * logged + (logged != 0) * rng.normal(0, 0.025, N)
    for i, turns in (real or {}).items():
        done[i] = turns
    angle = np.asarray(WHEEL.rim.hole_angles)
    kink = shape_waves(angle, 1.0)[0] @ kinked(angle)[:, at]
    before = equilibrium(WHEEL, received, np.zeros((2, N)))
    after = equilibrium(WHEEL, received + done, np.outer(bend, kink))
    tools = Tools.with_errors(rng)
    made = Pass(1, tuple((i + 1, -0.5) for i in LEFT))
    return Job(WHEEL, (read(tools, before, after_pass=0), read(tools, after, after_pass=1)), passes=(made,)), after


def named(job):
    return list(outliers(Known(job).as_logged))


def test_sound_turns_are_not_named():
    """The alarm is set to one in a hundred: of 25 sound wheels two at most."""
    assert sum(bool(named(job_of(seed)[0])) for seed in range(25)) <= 2


@pytest.mark.parametrize("seed", range(4))
def test_a_nipple_without_effect(seed):
    job, _ = job_of(seed, real={LEFT[2]: 0.0})
    one, = named(job)
    assert isinstance(one, TurnedOtherwise)
    assert (one.spoke, one.passes, one.logged) == (LEFT[2] + 1, (1,), -0.5)
    assert abs(one.moved) < 0.12
    assert Stand(job).assess().doubted == {LEFT[2] + 1}  # what the page marks on its strip
    assert "hardly anything came of it" in " ".join(map(doubt_words, Known(job).doubts))


@pytest.mark.parametrize(("index", "turns", "says"), [
    (WHEEL.on_side("right")[5], -0.5, "look for a crack"),
    (WHEEL.on_side("right")[5], 0.5, "not logged"),
    (LEFT[4], 0.5, "is the log right"),
])
def test_a_nipple_that_did_something_else(index, turns, says):
    job, _ = job_of(3, real={index: turns})
    one = named(job)[0]
    assert isinstance(one, TurnedOtherwise)
    assert one.spoke == index + 1
    assert one.moved == pytest.approx(turns, abs=0.15)
    assert says in " ".join(map(doubt_words, Known(job).doubts))


@pytest.mark.parametrize(("bend", "direction"), [((0.5e-3, 0.0), "lateral"), ((0.0, -0.5e-3), "radial")])
def test_a_rim_that_bent_meanwhile(bend, direction):
    job, _ = job_of(2, bend=bend)
    one = named(job)[0]
    assert isinstance(one, NewKink)
    assert (one.spoke, one.direction) == (12, direction)
    assert one.height == pytest.approx(sum(bend), rel=0.4)
    assert "look for a crack there, and if there is one, stop" in doubt_words(Known(job).doubts[0])


def test_a_bend_that_was_there_is_none():
    """Nor one of which the first reading could not tell: no dial was on it."""
    job, _ = job_of(2, bend=(0.5e-3, 0.0))
    first = replace(job.readings[0], lateral=())
    assert not any(isinstance(one, NewKink) for one in named(replace(job, readings=(first, job.readings[1]))))


def test_a_false_reading_stays_a_reading():
    """One tension of the second reading far off: that is what is doubted, not what was turned."""
    job, _ = job_of(1)
    last = job.readings[1]
    tension = tuple((spoke, 1.5 * value if spoke == 9 else value) for spoke, value in last.tension)
    one = named(replace(job, readings=(job.readings[0], replace(last, tension=tension))))[0]
    assert one == OneReading("tension", 9, True)


def test_the_estimate_follows_what_was_done():
    """Left free, the nipple without effect costs its neighbours nothing: tensions nearer to the truth."""
    off = []
    for seed in range(4):
        job, truth = job_of(seed, real={LEFT[2]: 0.0})
        know = Known(job)
        off.append([abs(one.state.tension[LEFT[2]] - truth.tension[LEFT[2]]) for one in (know.as_logged, know.found)])
    taken, freed = np.mean(off, axis=0)
    assert freed < 0.6 * taken


def gauged_only(seed, gap_mm, gap_at="hub"):
    """The job with nothing but a gauge reading after its pass."""
    job, after = job_of(seed)
    last = Reading(gauge=Gauge("right", gap_at, gap_mm * 1e-3, gap_mm * 1e-3), after_pass=1)
    return replace(job, readings=(job.readings[0], last)), after


@pytest.mark.parametrize("seed", range(3))
def test_a_gauge_written_for_the_wrong_place_is_named_and_taken_as_it_is(seed):
    """Hub written for feet turns the sign: a millimetre or two off, told before anything is turned for it."""
    _, after = job_of(seed)
    true = 2 * after.dish * 1e3
    for sign, sure in ((1, False), (-1, abs(true) > 0.5)):
        shown = -sign * true  # set on the right, a gap at the hub means that the rim lies left
        told, _ = gauged_only(seed, abs(shown), "hub" if shown > 0 else "feet")
        astray = [one for one in named(told) if isinstance(one, GaugeAstray)]
        assert bool(astray) == sure
        if sure:
            know = Known(told)
            assert 2e3 * know.found.state.dish == pytest.approx(-true, abs=0.1)
            assert astray[0].excess * 1e3 == pytest.approx(-2 * true, abs=0.5)
            assert f"{abs(true):.2f} mm (rim {'left' if true > 0 else 'right'})" in doubt_words(know.doubts[0])


def test_a_gauge_alone_tells_no_bend():
    """No dial was read after the pass, so no bend can be told from anything else: whatever the gauge shows."""
    job, _ = gauged_only(1, 6.0)
    assert not any(felt.any() for felt in Known(job).as_logged.moves[-1].bent)
    assert not any(isinstance(one, NewKink) for one in named(job))
    assert any(isinstance(one, GaugeAstray) for one in named(job))
