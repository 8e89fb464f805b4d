"""One place typed tenfold is named as that, and neither bends the rim nor turns nipples."""

from dataclasses import replace

import numpy as np
import pytest

from tests.estimation.test_slips import WHEEL, worked
from wheelsim.estimation.doubts import DoubtedReading, GaugeFarOff, SomeKgf
from wheelsim.estimation.expected import unexpected
from wheelsim.estimation.held_out import DialFarOff, dials_far_off, points_missing
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job, Work
from wheelsim.job.visits import Visit, visits
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.report.words.estimation import doubt_words
from wheelsim.stand.stand import Stand


def with_dial(job, spoke, mm):
    pairs = dict(job.last.lateral) | {spoke: mm * 1e-3}
    return replace(job, readings=(*job.readings[:-1], replace(job.last, lateral=tuple(pairs.items()))))


@pytest.mark.parametrize("first", [False, True])
def test_a_dial_typed_tenfold(first):
    """6 mm for 0.6, after a pass and as received: a false reading, no bend, no nipple, no other place."""
    job, truth = worked("left", -0.5, -0.5)
    if first:
        job = replace(job, readings=job.readings[:1], passes=())
    job = with_dial(job, 7, 6.0)
    told = Known(job)
    one, = told.doubts
    assert isinstance(one, DoubtedReading)
    assert (one.outlier.kind, one.outlier.spoke, one.outlier.higher) == ("lateral", 7, True)
    assert "is there a point missing?" in doubt_words(one)
    assert told.pass_astray is None
    assert told.read_first == (one,)
    assert abs(one.likely) < 1e-3
    if not first:
        assert told.found.state.tension == pytest.approx(truth.tension, rel=0.2)


def test_its_place_read_again_is_put_in():
    """A single place read again stands among the others, by their zero."""
    job = with_dial(worked("left", -0.5, -0.5)[0], 7, 6.0)
    again = replace(job, readings=(*job.readings, Reading(lateral=((7, 0.3e-3),), after_pass=1)))
    merged = visits(again)[-1].reading
    assert dict(merged.lateral) == dict(job.last.lateral) | {7: 0.3e-3}
    assert merged.stands == frozenset()
    assert not any(isinstance(one, DoubtedReading) and one.value > 1e-3 for one in Known(again).doubts)


def test_the_same_again_stands():
    """Six millimetres read twice are a bend: at that place alone (its neighbours are doubted then), or all round."""
    job = with_dial(worked("left", -0.5, -0.5)[0], 7, 6.0)
    for pairs in (((7, 6.05e-3),), tuple((spoke, mm + 1e-3) for spoke, mm in job.last.lateral)):
        again = replace(job, readings=(*job.readings, Reading(lateral=pairs, after_pass=1)))
        told = Known(again)
        assert ("lateral", 7) in told.log[-1].reading.stands
        assert ("tension", 7) not in told.log[-1].reading.stands
        assert ("lateral", 7) not in {(one.outlier.kind, one.outlier.spoke) for one in told.read_first}
        assert told.read_first == () or len(pairs) == 1
        assert np.ptp(told.found.state.edge) > 3e-3


@pytest.mark.parametrize(("kind", "scale"), [("lateral", 30.0), ("lateral", 100.0), ("radial", 100.0)])
def test_a_whole_dial_tenfold(kind, scale):
    """Every place far too high, or in hundredths: doubted as a whole, and it bends no rim until it is read twice."""
    job, _ = worked("left", -0.5, -0.5)
    if kind == "radial":
        job = replace(job, readings=job.readings[:1], passes=())
    pairs = tuple((spoke, scale * mm) for spoke, mm in getattr(job.last, kind))
    far = replace(job, readings=(*job.readings[:-1], replace(job.last, **{kind: pairs})))
    told = Known(far)
    one = DialFarOff(kind, max(mm for _, mm in pairs) - min(mm for _, mm in pairs))
    assert told.doubts == told.read_first == (one,)
    told_at_once, = unexpected(far)
    assert told_at_once == one if len(job.readings) == 1 else told_at_once.tool == kind
    assert "is the point missing" in doubt_words(one)
    assert told.found.state.tension == pytest.approx(Known(job).found.state.tension, rel=0.15)
    status = {check.name: check.status for check in Stand(far).assess().checks}
    assert status["true" if kind == "lateral" else "round"] != "within"
    right = Reading(after_pass=job.last.after_pass, **{kind: getattr(job.last, kind)})
    assert Known(replace(far, readings=(*far.readings, right))).doubts == Known(job).doubts == ()
    twice = Known(replace(far, readings=(*far.readings, replace(right, **{kind: pairs}))))
    assert twice.dials_far_off == ()


def test_beside_a_missing_spoke_a_dial_may_be_far_off():
    wheel = replace(WHEEL, spokes=replace(WHEEL.spokes, missing=frozenset({7})))
    places = Reading(lateral=((5, 0.2e-3), (7, 9e-3), (20, -9e-3)))
    assert dials_far_off([Visit(places)], wheel) == ()
    assert dials_far_off([Visit(places)], WHEEL) == (DialFarOff("lateral", 18e-3),)


def test_a_wild_place_or_two_are_no_whole_dial():
    """12 mm at a place among 32 sound ones: that place is named, the others stay."""
    job = with_dial(worked("left", -0.5, -0.5)[0], 8, 12.0)
    assert dials_far_off(visits(job), WHEEL) == ()
    one, = Known(job).doubts
    assert (one.outlier.kind, one.outlier.spoke) == ("lateral", 8)


def test_a_dial_far_off_before_a_pass():
    """Left out there too; true isn't judged by it then, but unread. Read twice it is a bent rim, and stays one."""
    job, _ = worked("left", -0.5, -0.5)
    far = tuple((spoke, 60 * mm) for spoke, mm in job.readings[0].lateral)
    first = replace(job.readings[0], lateral=far)
    unread = replace(job.last, lateral=())
    check, = (one for one in Stand(replace(job, readings=(first, unread))).assess().checks if one.name == "true")
    assert (check.status, check.read) == ("unknown", False)
    bent = replace(job, readings=(first, replace(first, label=""), replace(job.last, lateral=far)))
    assert Known(bent).dials_far_off == ()


def test_a_tenth_among_tensions_moves_nothing_meanwhile():
    """100 typed for 1000: doubted, left out of the estimate, and no surprise once it is put right."""
    job, _ = worked("left", -0.5, -0.5, "all")
    tension = dict(job.last.tension)
    spoke = max(tension, key=lambda one: tension[one])
    far = replace(job, readings=(*job.readings[:-1], replace(
        job.last, tension=tuple((tension | {spoke: tension[spoke] / 10}).items()))))
    told = Known(far)
    assert told.doubts == told.read_first == (SomeKgf((spoke,)),)
    assert told.found.state.tension == pytest.approx(Known(job).found.state.tension, rel=0.02)
    right = Reading(tension=((spoke, tension[spoke]),), after_pass=1)
    put_right = replace(far, readings=(*far.readings, right))
    assert unexpected(put_right) == ()
    assert Known(put_right).doubts == Known(job).doubts


def test_a_first_gap_that_no_wheel_has():
    """30 mm for 3.0: doubted at once, and until it is read again; no wheel for an off-centre frame is."""
    def job(gap, **work):
        return Job(WHEEL, (Reading(gauge=Gauge.showing(gap), after_pass=0),), Work(**work))

    told = Known(job(30e-3))
    assert told.doubts == told.read_first == unexpected(told.job) == (GaugeFarOff(30e-3),)
    assert "is there a point missing" in doubt_words(told.doubts[0])
    assert Known(job(8e-3)).doubts == ()
    assert Known(job(16e-3, target_dish=8e-3)).doubts == ()
    again = replace(told.job, readings=(*told.job.readings, Reading(gauge=Gauge.showing(3e-3), after_pass=0)))
    assert Known(again).doubts == ()


@pytest.mark.parametrize("first", [False, True])
def test_a_point_missing_among_a_few_places(first):
    """5 mm typed for 0.5 at one of five places: that place is named, no pass, no bend, no other."""
    job, _ = worked("left", -0.5, -0.5)
    if first:
        job = replace(job, readings=job.readings[:1], passes=())
    few = dict(job.last.lateral)
    pairs = ((7, 5e-3), *((spoke, few[spoke]) for spoke in (8, 15, 23, 31)))
    told = Known(replace(job, readings=(*job.readings[:-1], replace(job.last, lateral=pairs))))
    one, = (one for one in told.doubts if isinstance(one, DoubtedReading))
    assert (one.outlier.kind, one.outlier.spoke) == ("lateral", 7)
    assert told.doubts == (one,)
    assert told.read_first == (one,)
    assert told.pass_astray is None
    assert np.ptp(told.found.state.edge) < 3e-3
    # The same again is no slip: it stands, as a bend or whatever it may be.
    again = replace(told.job, readings=(*told.job.readings, Reading(lateral=pairs, after_pass=0 if first else 1)))
    assert points_missing(Known(again).log[-1].reading, WHEEL.n) == ()
