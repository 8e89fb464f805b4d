"""What is in doubt and decides: the wheel isn't called within, and nothing is planned, before it was read again."""

from dataclasses import replace

import numpy as np
import pytest

from tests.estimation.test_slips import WHEEL as REAR
from tests.estimation.test_slips import worked
from tests.wheels import front, with_limits
from wheelsim import Stand
from wheelsim.estimation.doubts import DoubtedReading, GaugeUnexpected
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job
from wheelsim.job.visits import visits
from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.verdict import ReadFirst
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.readings.simulated import Tools
from wheelsim.report.words.estimation import suspect_lines
from wheelsim.report.words.stand import advice_words, judged_words
from wheelsim.report.words.verdict import verdict_words
from wheelsim.stand.advice import ReadSpokeAgain

WHEEL = with_limits(front(), max_tension=1300.0)
QUICK = {"effort": 1.0, "seconds": 60}


@pytest.fixture(scope="module")
def even():
    """A front that is fine, everything read of it."""
    rng = np.random.default_rng(1)
    return Job(WHEEL, (Tools.with_errors(rng).everything(equilibrium(WHEEL, rng.normal(0, 0.03, WHEEL.n))),))


def typed(job, spoke, newtons):
    """The same with one tension typed otherwise."""
    pairs = dict(job.last.tension) | {spoke: newtons}
    return replace(job, readings=(*job.readings[:-1], replace(job.last, tension=tuple(pairs.items()))))


def again(job, **read):
    """The same with something read again, no pass between."""
    return replace(job, readings=(*job.readings, Reading(after_pass=job.last.after_pass, **read)))


def test_a_reading_that_would_break_a_limit_leaves_nothing_within(even):
    """600 N among 1000: the dial says otherwise, but were it true, the spread would be 40 %."""
    assert Stand(even).assess().verdict == "within"
    found = Stand(typed(even, 9, 600.0)).assess()
    assert [one.outlier.spoke for one in found.suspects] == [9]
    check, = (one for one in found.checks if one.doubted)
    assert (check.name, check.status, check.doubted) == ("spread right", "unknown", (9,))
    assert check.value < check.limit
    assert found.verdict == "unknown"
    assert judged_words(found) == "Can't tell: what was read is in doubt, and decides."
    one = next(one for one in found.advice if isinstance(one, ReadSpokeAgain))
    assert (one.spoke, one.value, one.stands, one.past) == (9, 600.0, False, (Quantity.SPREAD,))
    assert advice_words(one).startswith("read the tension at spoke 9 again before anything else: if 600 N is true")
    # And no plan before.
    plan = Stand(typed(even, 9, 600.0)).plan(**QUICK)
    assert (plan.verdict.action, plan.passes, plan.status) == ("read", (), "nothing to do")
    assert "read again and log: the tension at spoke 9" in verdict_words(plan.verdict)


def test_read_again_it_is_replaced_or_stands(even):
    """By a reading of its own, with no pass between: a sound one clears it, the same again stands."""
    sound = again(typed(even, 9, 600.0), tension=((9, dict(even.last.tension)[9]),))
    assert Stand(sound).assess().verdict == "within"
    stands = again(typed(even, 9, 600.0), tension=((9, 620.0),))
    know = Known(stands)
    assert know.log[-1].reading.stands == {("tension", 9)}
    assert know.doubts == ()
    found = Stand(stands).assess()
    assert found.verdict != "within"
    assert found.view.state.tension[8] < Stand(typed(even, 9, 620.0)).assess().view.state.tension[8] - 40


def test_a_doubt_that_decides_nothing_holds_nothing_up(even):
    """With a wide limit of spread the same reading, true or not, passes none: the plan doesn't wait."""
    wide = replace(even, wheel=replace(WHEEL, limits=replace(WHEEL.limits, side_spread=0.9)))
    job = typed(wide, 9, 600.0)
    found = Stand(job).assess()
    assert isinstance(found.suspects[0], DoubtedReading)
    assert (found.verdict, found.read_first) == ("within", ())
    assert "before you turn anything" not in " ".join(suspect_lines(found.suspects, found.read_first))
    assert not isinstance(Stand(job).plan(**QUICK).verdict.why, ReadFirst)


def test_no_passes_beneath_a_gauge_to_read_again():
    """A gauge far off what was turned; read again the same, then with tensions, it is believed, and what is turned is
    planned."""
    job, _ = worked("left", -0.5, -0.5, "gauge")
    wrong = Gauge.showing(-job.last.gauge.gap + 3e-3)
    astray = replace(job, readings=(job.readings[0], replace(job.last, gauge=wrong)))
    know = Known(astray)
    assert isinstance(know.read_first[0], GaugeUnexpected)
    plan = Stand(know.job).plan(**QUICK)
    assert (plan.verdict.action, plan.passes) == ("read", ())
    assert verdict_words(plan.verdict).startswith("Before anything is turned, read again and log: the gauge.")
    assert Stand(astray).assess().verdict != "within"
    # The right one read again takes its place, and nothing before is lost.
    right = Known(again(astray, gauge=job.last.gauge))
    assert len(right.log) == 2
    assert right.doubts == ()
    # The same again: what was turned is asked about, and tensions; with them it holds nothing up.
    twice = again(astray, gauge=wrong)
    assert Known(twice).doubts[0].again
    assert Known(twice).read_first
    tools = Tools.with_errors(np.random.default_rng(0))
    as_it_is = tools.everything(Known(twice).found.state)
    sure = Known(again(twice, tension=as_it_is.tension[:8]))
    assert not any(isinstance(one, GaugeUnexpected) for one in sure.read_first)


def test_a_gauge_typed_wrong_at_first_takes_no_other_reading_with_it():
    """The first reading's gauge set right by a second: by a slip of the pen, not by a turn that nobody logged."""
    job, _ = worked("left", -0.5, -0.5, "gauge")
    gauge = job.readings[0].gauge
    other = replace(gauge, set_on="left" if gauge.set_on == "right" else "right")
    first = replace(job, readings=(replace(job.readings[0], gauge=other),), passes=())
    log = visits(again(first, gauge=gauge))
    assert (len(log), log[0].forgotten, log[0].reading.gauge) == (1, 0, gauge)
    assert len(log[0].reading.tension) == REAR.n
    moved = visits(again(first, gauge=Gauge.showing(other.gap + 1.3e-3)))
    assert moved[0].forgotten == 1


def test_a_pass_that_cant_be_as_logged_waits_for_gauge_and_tensions():
    alone = Stand(worked("left", -0.75, -3.0, "gauge")[0])
    plan = alone.plan(**QUICK)
    assert (plan.verdict.action, plan.passes) == ("read", ())
    assert alone.assess().verdict != "within"
    assert not Known(worked("left", -0.75, -3.0, "gauge and tensions")[0]).read_first
