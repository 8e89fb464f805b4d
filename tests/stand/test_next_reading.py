"""What assess asks to be read next is what a plan waits for."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import dished, side_turns
from wheelsim import Stand
from wheelsim.job.job import Job, Pass
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.verdict import GaugeUnread, RimUnread
from wheelsim.readings.reading import Reading
from wheelsim.readings.simulated import Tools
from wheelsim.report.words.verdict import verdict_words
from wheelsim.stand.advice import ReadDial, ReadGauge, ReadTensions

WHEEL = dished()


def asked(uneven, spokes=range(1, 33), gauge=True):
    """A rear off centre, read by the gauge, the dial's highest and lowest place and some tensions."""
    rng = np.random.default_rng(5)
    found = Tools.with_errors(rng).everything(
        equilibrium(WHEEL, rng.normal(0, uneven, WHEEL.n) + side_turns(WHEEL, left=0.4)))
    dial = sorted(found.lateral, key=lambda one: one[1])
    reading = replace(found, lateral=(dial[0], dial[-1]), extremes=frozenset({"lateral"}), radial=(),
                      tension=tuple(one for one in found.tension if one[0] in spokes))
    stand = Stand(Job(WHEEL, (reading if gauge else replace(reading, gauge=None),)))
    nexts = [one for one in stand.assess().advice if isinstance(one, ReadDial | ReadGauge | ReadTensions)]
    return nexts, stand.plan(effort=0.5, seconds=60).verdict


@pytest.mark.parametrize("spokes", [range(1, 33), (1, 2, 9, 10, 17, 18), ()])
def test_only_the_ends_of_a_dial_on_a_rim_out_of_true(spokes):
    """Before more tensions, and before the other dial: the dial all round, as the plan says."""
    nexts, verdict = asked(0.3, spokes)
    assert nexts == [ReadDial("lateral")]
    assert isinstance(verdict.why, RimUnread)


def test_no_gauge():
    nexts, verdict = asked(0.3, gauge=False)
    assert nexts == [ReadGauge()]
    assert isinstance(verdict.why, GaugeUnread)


def test_a_rim_that_is_true_enough_waits_for_no_dial():
    nexts, verdict = asked(0.05, (1, 2, 9, 10, 17, 18))
    assert [type(one) for one in nexts] == [ReadTensions]
    assert verdict.action != "read"


def test_where_all_else_is_right_a_rim_out_of_true_at_few_places_is_not_left():
    """Five places of the dial, too few to true by, show more than the limit: read all round, not "leave it"."""
    state = equilibrium(WHEEL, np.where(np.arange(WHEEL.n) == 6, 0.5, 0.0))
    found = Tools.with_errors(np.random.default_rng(5)).everything(state)
    dial = dict(found.lateral)
    assert np.ptp(list(dial.values())) > WHEEL.limits.lateral_runout
    few = Stand(Job(WHEEL, (replace(found, lateral=tuple((k, dial[k]) for k in (7, 8, 15, 23, 31)), radial=(),
                                    tension=tuple(one for one in found.tension if one[0] in (1, 2, 9, 10, 17, 18))),)))
    assert few.assess().verdict == "outside"
    verdict = few.plan(effort=0.5, seconds=60).verdict
    assert (verdict.action, type(verdict.why)) == ("read", RimUnread)


def test_what_was_read_before_the_last_pass_only():
    """A wheel that is right by gauge and prediction: dial and tensions again before it is signed off."""
    state = equilibrium(WHEEL, side_turns(WHEEL, left=0.5))
    tools = Tools.with_errors(np.random.default_rng(5))
    first = tools.everything(state, after_pass=0)
    after = equilibrium(WHEEL, np.zeros(WHEEL.n))
    made = Pass(1, tuple((i + 1, -0.5) for i in WHEEL.on_side("left")))
    seen = tools.everything(after, after_pass=1)

    def told(**read):
        stand = Stand(Job(WHEEL, (first, Reading(after_pass=1, gauge=seen.gauge, **read)), passes=(made,)))
        nexts = [type(one) for one in stand.assess().advice if isinstance(one, ReadDial | ReadGauge | ReadTensions)]
        return nexts, verdict_words(stand.plan(effort=0.5, seconds=60).verdict)

    nexts, said = told()
    assert nexts == [ReadDial]
    assert "(true, round, spread, highest tension, lowest tension not read since the last pass)" in said
    nexts, said = told(lateral=seen.lateral, radial=seen.radial)
    assert nexts == [ReadTensions]
    assert "(spread, highest tension, lowest tension not read since the last pass)" in said
    nexts, said = told(lateral=seen.lateral, radial=seen.radial, tension=seen.tension)
    assert nexts == []
    assert "not read" not in said
