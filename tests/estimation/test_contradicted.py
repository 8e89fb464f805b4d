"""Readings with nothing turned between them that contradict each other: which are used, what is asked, what is lost."""

from dataclasses import replace

import pytest

from tests.estimation.test_slips import WHEEL, worked
from wheelsim.estimation.doubts import Contradicted
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job
from wheelsim.job.visits import visits
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.report.words.estimation import doubt_words, read_again_words

FIRST = worked("left", -0.5, -0.5)[0].readings[0]
GAP = FIRST.gauge.gap
FAR, FARTHER = Gauge.showing(GAP + 9e-3), Gauge.showing(GAP + 6.3e-3)
SOME = FIRST.tension[:4]


def after(*readings, first=FIRST):
    return Known(Job(WHEEL, (first, *readings)))


def gauge(one):
    return Reading(gauge=one, after_pass=0)


def test_all_is_asked_for_before_it_is_lost():
    told = after(gauge(FAR))
    one = Contradicted("gauge", GAP, FAR.gap, ("lateral", "radial", "tension"))
    assert told.contradicted == one
    assert one in told.read_first
    assert read_again_words(one) == "the gauge"
    assert after(gauge(FAR), gauge(FARTHER)).contradicted.lost == one.lost
    # One tension is not thirty-two.
    assert "tension" in after(replace(gauge(FAR), tension=SOME[:1])).contradicted.lost


@pytest.mark.parametrize("between", [(), (Reading(radial=FIRST.radial[:8], after_pass=0),)])
def test_read_as_at_first_only_the_slip_goes(between):
    """What was read meanwhile, and doesn't contradict, stays too."""
    first = replace(FIRST, radial=()) if between else FIRST
    told = after(gauge(FAR), *between, gauge(FIRST.gauge), first=first)
    reading = told.log[-1].reading
    assert told.contradicted is None
    assert (reading.gauge, reading.lateral, reading.tension) == (FIRST.gauge, FIRST.lateral, FIRST.tension)
    assert len(reading.radial) == (8 if between else len(FIRST.radial))
    assert told.log[-1].forgotten == 1


def test_the_same_again_stands():
    told = after(gauge(FAR), gauge(FAR))
    assert told.contradicted is None
    assert told.log[-1].reading.lateral == ()
    # A place of the dial that shows the same twice says nothing of the gauge.
    place = Reading(lateral=FIRST.lateral[:2], after_pass=0)
    assert after(replace(gauge(FAR), lateral=FIRST.lateral), place).contradicted is not None


def test_all_read_anew_is_asked_nothing():
    again = replace(FIRST, gauge=FAR)
    assert after(again).contradicted is None
    assert after(again).log[-1].contradiction is not None
    assert after(replace(again, lateral=())).contradicted.lost == ("lateral",)


def test_tensions_that_contradict_are_asked_for_themselves():
    tighter = Reading(gauge=FIRST.gauge, tension=tuple((spoke, 1.4 * value) for spoke, value in SOME), after_pass=0)
    one = after(tighter).contradicted
    assert (one.by, one.lost) == ("tension", ("lateral", "radial", "tension"))
    assert "tensions" in read_again_words(one)
    assert doubt_words(one).startswith("the tensions aren't those read before")
    assert after(tighter, gauge(FIRST.gauge)).contradicted is not None
    assert after(tighter, replace(tighter, gauge=None)).contradicted is None
    assert after(tighter, Reading(tension=SOME, after_pass=0)).log[-1].reading.lateral == FIRST.lateral


@pytest.mark.parametrize("tyres", [("off", "inflated"), ("inflated", "off"), ("off", "inflated", "off")])
def test_another_tyre_is_no_contradiction(tyres):
    """What was read with the tyre on and off isn't mixed; the last state counts, and nothing is asked."""
    readings = tuple(replace(FIRST, tyre=one, label="") for one in tyres)
    log = visits(Job(WHEEL, readings))
    assert [(one.reading.tyre, one.forgotten, one.contradiction) for one in log] == \
        [(tyres[-1], sum(one != tyres[-1] for one in tyres), None)]


def test_before_a_pass_what_tells_more_is_used():
    """The doubt can't be cleared any more: a gauge alone takes no other reading with it, and accuses no pass."""
    job, _ = worked("left", -0.5, -0.5)
    told = Known(replace(job, readings=(job.readings[0], gauge(FAR), job.last)))
    assert told.log[0].reading.tension == FIRST.tension
    assert told.doubts == Known(job).doubts == ()


@pytest.mark.parametrize("turned", [False, True])
def test_put_right_by_a_gauge_alone_and_read_with_the_dial_once_more(turned):
    """What the gauge alone has put right contradicts nothing that comes later, whether a pass was made since or not."""
    job, _ = worked("left", -0.5, -0.5)
    wrong = replace(job.last, gauge=Gauge.showing(job.last.gauge.gap + 9e-3))
    alone, both = (Reading(gauge=job.last.gauge, lateral=dial, after_pass=1) for dial in ((), job.last.lateral))
    passes = (*job.passes, replace(job.passes[0], number=2)) if turned else job.passes
    log = Known(replace(job, readings=(job.readings[0], wrong, alone, both), passes=passes)).log
    assert len(log) == (3 if turned else 2)
    assert (log[1].forgotten, log[1].contradiction, log[1].reading.gauge) == (0, None, job.last.gauge)
    assert log[1].reading.tension == job.last.tension


def test_after_a_pass_too():
    """What was read before the pass is lost with it, and is back once the gauge shows what it showed."""
    job, _ = worked("left", -0.5, -0.5)
    wrong = Reading(gauge=Gauge.showing(job.last.gauge.gap + 9e-3), lateral=job.last.lateral, after_pass=1)
    told = Known(replace(job, readings=(*job.readings, wrong)))
    assert told.contradicted.lost == ("radial", "tension")
    right = Reading(gauge=job.last.gauge, after_pass=1)
    assert len(Known(replace(job, readings=(*job.readings, wrong, right))).log) == 2
