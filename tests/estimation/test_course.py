"""All visits to one wheel in one fit: what was turned between them counts, and teaches."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from tests.wheels import dished
from wheelsim import Stand
from wheelsim.estimation.assumed import UsualMean
from wheelsim.estimation.course import GAINS, Course
from wheelsim.estimation.known import Known, known
from wheelsim.files.reader import read_job, sample_path
from wheelsim.job.job import Job, Pass
from wheelsim.job.visits import visits
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.errors import ToolErrors
from wheelsim.readings.simulated import Tools
from wheelsim.report.terminal.assess import learnt_lines
from wheelsim.stand.advice import NotReadSince

WHEEL = dished()
N = WHEEL.n


def read(tools, state, after_pass=None):
    """Everything read of a wheel."""
    return tools.everything(state, after_pass=after_pass)


def bench(soft=1.0, gain=1.0, seed=1, errors=None):
    """A wheel read, its left side loosened by half a turn and two nipples by more, and read again."""
    rim = replace(WHEEL.rim, lateral_bending=WHEEL.rim.lateral_bending * soft, torsion=WHEEL.rim.torsion * soft)
    real = replace(WHEEL, rim=rim, spokes=replace(WHEEL.spokes, thread_pitch=WHEEL.spokes.thread_pitch * gain))
    received = 0.1 * np.random.default_rng(seed).standard_normal(N)
    turned = np.zeros(N)
    turned[WHEEL.on_side("left")] = -0.5
    turned[[3, 10, 17, 24]] += [-0.75, 0.75, -0.75, 0.75]
    before, after = equilibrium(real, received), equilibrium(real, received + turned)
    tools = Tools(errors)
    one = Pass(1, tuple((int(i) + 1, float(turned[i])) for i in np.flatnonzero(turned)))
    job = Job(WHEEL, (read(tools, before, after_pass=0), read(tools, after, after_pass=1)), passes=(one,),
              errors=ToolErrors(0.01, 0.01, 1e-4))
    return job, before, after


def learnt(job):
    return {one.name: one for one in Known(job).found.learnt}


def test_not_read_since_is_the_prediction():
    job, _, _ = bench()
    alone = Known(replace(job, readings=job.readings[:1], passes=()))
    since = Known(replace(job, readings=job.readings[:1]))
    turns = dict(job.passes[0].turns)
    told = Stand(alone.job).predict(spokes=turns).after.state
    assert since.unread_since == (1,)
    assert since.found.state.tension == pytest.approx(told.tension, abs=0.5)
    assert since.found.state.dish == pytest.approx(told.dish, abs=5e-6)
    # The doubt that turning adds: the hand's, and what a turn gives.
    assert since.found.dish_sd > 1.1 * alone.found.dish_sd
    assert np.mean(since.found.tension_sd) > np.mean(alone.found.tension_sd)


def test_what_was_read_before_still_counts():
    """The second time only the gauge: the tensions of the first time, as turned since, beat what the file says."""
    job, _, after = bench()
    last = replace(job.readings[1], lateral=(), radial=(), tension=())
    together = Known(replace(job, readings=(job.readings[0], last))).found
    alone = Known(Job(WHEEL, (replace(last, after_pass=None),), errors=job.errors)).found
    off, alone_off = (np.abs(one.state.tension - after.tension).mean() for one in (together, alone))
    assert off < 30
    assert off < alone_off / 2
    assert not any(isinstance(one, UsualMean) for one in together.assumed)
    assert any(isinstance(one, UsualMean) for one in alone.assumed)


@pytest.mark.parametrize(("soft", "gain"), [(0.75, 1.0), (1.25, 1.0), (1.0, 0.88)])
def test_rim_and_thread_are_learnt(soft, gain):
    found = learnt(bench(soft, gain)[0])
    assert found["lateral_stiffness"].value == pytest.approx(soft, abs=2 * found["lateral_stiffness"].sd + 0.02)
    assert found["gain_per_turn"].value == pytest.approx(gain, abs=2 * found["gain_per_turn"].sd + 0.01)
    assert found["lateral_stiffness"].sd < 0.18  # from a quarter
    assert found["gain_per_turn"].sd < 0.05
    if soft != 1.0:
        assert abs(found["lateral_stiffness"].value - 1) > 0.12


def test_nothing_is_learnt_from_one_visit():
    job, _, _ = bench(0.75)
    assert learnt(replace(job, readings=job.readings[:1], passes=())) == {}


def test_predictions_count_with_what_was_learnt():
    """A quarter turn of one nipple on a rim a quarter softer: nearer to the truth than before the passes."""
    job, _, after = bench(0.75)
    turned = equilibrium(after.wheel, after.turns + 0.25 * (np.arange(N) == 6), after.own_shape, start=after)
    truth = turned.lateral[6] - after.lateral[6]
    said = []
    for one in (replace(job, readings=(replace(job.last, after_pass=None),), passes=()), job):
        told = Stand(one).predict(spokes={7: "1/4"})
        said.append(told.after.state.lateral[6] - told.before.state.lateral[6])
    assert abs(said[1] - truth) < 0.6 * abs(said[0] - truth)


def test_what_was_learnt_is_told_in_the_shop_s_units():
    """A rim a quarter softer: how far one nipple moves it, as learnt and by its kind, against the truth."""
    job, _, after = bench(0.75)
    found = Stand(job).assess()
    learnt, kind = found.nipple_moves
    truth = 0.25 * np.abs(np.diag(after.influence.edge)).mean()
    assert kind < learnt < 1.05 * truth
    line = next(line for line in learnt_lines(found) if "sideways" in line)
    assert f"moves it {learnt * 1e3:.2f} mm, not {kind * 1e3:.2f}" in line


def test_rows_are_the_slopes_of_the_misfits():
    """Finite differences through all visits, stiffness and gain included."""
    job, _, _ = bench(0.9, 0.95)
    course = Course(WHEEL, visits(job), job.errors)
    at = 0.2 * course.prior_sd(np.zeros(course.size)) * np.random.default_rng(2).standard_normal(course.size)
    at[:2] = 0.1
    states = course.states(at, None, push=False)
    course.weigh(states, at)
    rows, _, spread, _ = course.rows(states, at)
    for k in (0, 5, course.of_gain.start, course.of_soft.start, course.size - 3):
        step = np.zeros(course.size)
        step[k] = 1e-3 * course.sd[k] if k > 1 else 1e-3
        low, high = (course.rows(course.states(at + sign * step, states, push=False), at + sign * step,
                                 misfits_only=True)[1] for sign in (-1, 1))
        slope = (low - high) / (2 * step[k])
        scale = course.prior_sd(at)[k] / spread if k > 1 else 0.1 / spread
        assert np.abs((rows[:, k] - slope) * scale).max() < 0.03 + 0.03 * np.abs(slope * scale).max()


def test_readings_with_no_pass_between_are_one():
    job, _, _ = bench()
    first = job.readings[0]
    apart = (replace(first, lateral=(), radial=(), tension=()), replace(first, gauge=None))
    assert len(visits(Job(WHEEL, apart))) == 1
    together = visits(Job(WHEEL, apart))[0].reading
    assert (together.gauge, together.tension) == (first.gauge, first.tension)


def test_contradicting_readings_with_no_pass_logged_are_not_mixed():
    job, _, _ = bench()
    first, second = (replace(one, after_pass=0) for one in job.readings)
    log = visits(Job(WHEEL, (first, second)))
    assert (len(log), log[0].forgotten) == (1, 1)
    assert log[0].reading.tension == second.tension


def test_unread_wheel_is_not_signed_off():
    job, _, _ = bench()
    centred = equilibrium(WHEEL)
    exact = read(Tools(), centred, after_pass=0)
    within = Stand(Job(WHEEL, (exact,), errors=job.errors)).assess()
    turned = Stand(Job(WHEEL, (exact,), passes=(Pass(1, ((3, 0.0625),)),), errors=job.errors)).assess()
    assert within.verdict == "within"
    assert turned.verdict == "unknown"
    assert NotReadSince((1,)) in turned.advice
    unread = Job(WHEEL, (exact,), passes=(Pass(1, ((3, 0.0625),)),), errors=job.errors)
    told = Stand(unread).plan(effort=0.5, seconds=60)
    assert told.first[0] == NotReadSince((1,))


def test_no_turn_gives_more_than_its_thread():
    """A gauge that shows far more than was turned for: not put down to the thread."""
    job, _, _ = bench(gain=1.12)
    assert learnt(job)["gain_per_turn"].value < 1.03


def test_a_gain_at_the_pitch_is_no_surer_than_one_below_it():
    """Where the readings put it above the pitch, the prior keeps it near 1: that is no knowledge of it."""
    at_the_edge, below = (learnt(bench(gain=gain)[0])["gain_per_turn"] for gain in (1.12, 0.88))
    assert at_the_edge.value > 1.0
    assert at_the_edge.sd > 0.7 * below.sd


def test_a_gauge_far_off_says_nothing_of_the_thread(tmp_path, run):
    """A point missing in the gap after a pass: the reading is suspected, and every answer is given."""
    for name in ("dished-rear.toml", "dished-rear-wheel.toml"):
        (tmp_path / name).write_bytes(sample_path(name).read_bytes())
    job = str(tmp_path / "dished-rear.toml")
    assert run("plan", job, "--keep")[0] == 0
    assert run("log", job, "--done", "1", "--gauge", "right 19 hub")[0] == 0
    code, out, _ = run("assess", job)
    assert code == 1
    assert "Suspect: the gauge" in out
    assert run("predict", job)[0] == 0
    assert GAINS[0] <= known(read_job(job)).found.gain <= GAINS[1]


@pytest.mark.parametrize("gain", [1.0, 0.9])
def test_no_drawn_wheel_gets_more_than_the_pitch_of_a_turn(gain):
    """Truncated normal (Johnson, Kotz and Balakrishnan 1994, sec. 13.10.1, from memory): its mean; the rest follows it.

    Tensions hang on the gain linearly, so their mean moves by the regression on it.
    """
    found = Known(bench(1.0, gain)[0]).found
    at = [one.name for one in found.learnt].index("gain_per_turn")
    of_gain = found.learnt_root[at]
    sd = float(np.linalg.norm(of_gain))
    _, _, tension, learnt = found.deviations(20_000)
    # Rounding of the normal distribution and its inverse.
    assert learnt[at].max() <= -np.log(found.gain) + 1e-6
    top = -np.log(found.gain) / sd
    mean = -sd * norm.pdf(top) / norm.cdf(top)
    # Half of twenty thousand draws are independent; five standard errors.
    assert learnt[at].mean() == pytest.approx(mean, abs=5 * sd / 100)
    assert tension.mean(axis=1) == pytest.approx(
        found.tension_root @ of_gain / sd**2 * mean, abs=5 * found.tension_sd.max() / 100)
    assert (abs(mean) > 0.5 * sd) == (gain == 1.0)  # else the bound is too far off to tell


def test_meter_and_gain_err_together():
    """A meter that shows too little makes both tensions and what a turn gives look too small."""
    found = Known(replace(bench(1.0, 0.9)[0], errors=None)).found
    *_, tension, learnt = found.deviations(2000)
    gain, right = learnt[[[one.name for one in found.learnt].index(name) for name in ("gain_per_turn", "meter_right")]]
    # A thousand independent draws know a correlation to 0.03.
    assert np.corrcoef(tension.mean(axis=0), gain)[0, 1] > 0.1
    assert np.corrcoef(tension.mean(axis=0), right)[0, 1] < -0.9
