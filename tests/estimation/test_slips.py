"""A pass that was logged otherwise than turned is named itself, not the gauge that shows what came of it."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import dished, side_turns
from wheelsim import Stand
from wheelsim.estimation.doubts import GaugeUnexpected
from wheelsim.estimation.expected import unexpected
from wheelsim.estimation.known import Known
from wheelsim.estimation.large_turns import LargeTurn, large_turns, more_than_a_hand
from wheelsim.estimation.outliers import GaugeAstray
from wheelsim.estimation.slips import PassAstray, PassSlip
from wheelsim.job.job import Job, Pass
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.simulated import Hand, Tools
from wheelsim.report.words.estimation import doubt_words, large_turn_words, read_again_words

WHEEL = dished()
FEW = {1, 2, 9, 10, 17, 18, 25, 26}
READ_AFTER = {"gauge": {"lateral": (), "tension": ()}, "gauge and tensions": {"lateral": ()}, "all": {}}


def worked(side, turned, logged, after="all", seed=3):
    """A rear off centre, one side turned by a real hand and logged otherwise; what was read after it, and the truth."""
    rng = np.random.default_rng(seed)
    tools, hand = Tools.with_errors(rng), Hand.of(rng, WHEEL.n)
    off = -0.5 if turned > 0 else 0.5
    before = equilibrium(WHEEL, rng.normal(0, 0.08, WHEEL.n) + side_turns(WHEEL, **{side: off}))
    state = hand.turn(before, side_turns(WHEEL, **{side: turned}))
    first, then = tools.everything(before, after_pass=0), tools.everything(state, after_pass=1)
    then = replace(then, radial=(), tension=tuple(one for one in then.tension if after == "all" or one[0] in FEW))
    made = Pass(1, tuple((i + 1, logged) for i in WHEEL.on_side(side)))
    return Job(WHEEL, (first, replace(then, **READ_AFTER[after])), passes=(made,)), state


@pytest.mark.parametrize(("side", "turned", "logged", "after"), [
    ("left", -0.75, -3.0, "gauge"), ("left", -0.75, -3.0, "all"), ("right", 0.75, 3.0, "gauge and tensions"),
    ("right", 0.75, 3.0, "gauge"), ("left", -0.25, -1.0, "gauge"), ("right", 0.25, 1.0, "gauge and tensions")])
def test_turns_typed_for_quarters(side, turned, logged, after):
    job, truth = worked(side, turned, logged, after)
    told = Known(job)
    assert told.doubts[0] == PassAstray(1, PassSlip.QUARTERS, side, logged, turned, 0)
    assert not any(isinstance(one, GaugeUnexpected) for one in told.doubts)
    # The wheel as it is: what was read before still tells the tensions.
    assert told.found.state.tension == pytest.approx(truth.tension, rel=0.25)
    assert told.found.tension_sd.max() < 130
    assert unexpected(told) == (told.pass_astray,)
    assert "for 3/4" in doubt_words(told.doubts[0]) or "for 1/4" in doubt_words(told.doubts[0])


def test_no_wheel_with_the_pass_as_logged_is_no_riddle():
    """Three turns of the right tighter: no wheel stands so; the answer names the pass, and the wheel as it is."""
    found = Stand(worked("right", 0.75, 3.0)[0]).assess()
    assert found.view is not None
    assert isinstance(found.suspects[0], PassAstray)


@pytest.mark.parametrize(("side", "turned", "logged", "slip"), [
    ("left", -0.25, 0.25, PassSlip.OTHER_WAY), ("right", 0.5, -0.5, PassSlip.OTHER_WAY),
    ("left", 0.0, -0.5, PassSlip.NOT_MADE)])
def test_other_slips(side, turned, logged, slip):
    """By gauge and tensions the pass is named; by the gauge alone the gauge, which is quicker to read again."""
    assert Known(worked(side, turned, logged)[0]).pass_astray.slip is slip
    alone = Known(worked(side, turned, logged, "gauge")[0])
    assert alone.pass_astray is None
    assert any(isinstance(one, GaugeAstray) for one in alone.outliers)


def test_one_side_logged_for_the_other():
    job, _ = worked("left", -0.5, -0.5)
    other = Pass(1, tuple((i + 1, -0.5) for i in WHEEL.on_side("right")))
    told = Known(replace(job, passes=(other,)))
    assert told.pass_astray.slip is PassSlip.OTHER_SIDE
    assert "1/2 looser on the left: one side for the other?" in doubt_words(told.pass_astray)


def test_no_slip_at_all():
    """Less than a half logged as four: no slip makes that; how far each side was turned is then an unknown."""
    job, truth = worked("right", 0.4, 4.0)
    told = Known(job)
    assert told.pass_astray == PassAstray(1, None, "right", 4.0, None, 0)
    assert 2e3 * told.found.state.dish == pytest.approx(2e3 * truth.dish, abs=0.5)
    assert "whatever slip is thought of" in doubt_words(told.pass_astray)


@pytest.mark.parametrize("after", READ_AFTER)
@pytest.mark.parametrize(("side", "turned"), [("left", -0.5), ("right", -0.25), ("left", 1.0)])
def test_sound_passes_are_not_named(side, turned, after):
    """Large ones too: a full turn that was made stands, once it was read."""
    for seed in range(2):
        assert Known(worked(side, turned, turned, after, seed)[0]).pass_astray is None


def by_side(**sides):
    return {int(i) + 1: float(turns) for i, turns in enumerate(side_turns(WHEEL, **sides)) if turns}


@pytest.mark.parametrize(("turns", "planned", "large"), [
    (by_side(left=-0.75), {}, False), (by_side(left=-1.0), {}, True), (by_side(right=3.0), {}, True),
    ({7: 1.5}, {}, False), ({7: -3.0}, {}, True), ({1: 3.0, 3: 3.0, 5: 3.0}, {}, True),
    (by_side(left=0.75), by_side(left=0.25), True), (by_side(left=0.5), by_side(left=0.25), False),
    (by_side(left=-0.75), by_side(left=0.25), False), (by_side(left=0.75), by_side(left=0.5), False)])
def test_more_than_a_hand_gives_in_a_pass(turns, planned, large):
    assert (more_than_a_hand(WHEEL, turns, planned) is not None) == large


def test_what_was_planned_so_or_read_since_is_not_told():
    turns = tuple(sorted(by_side(right=3.0).items()))
    job, _ = worked("right", 0.75, 3.0)
    alone = replace(job, readings=job.readings[:1])
    one, = large_turns(alone)
    assert (one.number, one.side, one.turns, one.meant) == (1, "right", 3.0, 0.75)
    assert large_turn_words(one) == \
        "pass 1: every right spoke +3 turns, more than is turned in one pass. Was it +3/4?"
    assert large_turns(job) == ()  # what was read after it tells
    assert large_turns(job, [1]) == (one,)
    assert large_turns(replace(alone, passes=(Pass(1, turns, turns),))) == ()


@pytest.mark.parametrize(("side", "turns"), [("left", -3.0), ("right", 1.0)])
def test_turns_too_large_are_read_after_first(side, turns):
    """Nothing read since a side was turned more than a hand gives: the gauge before any further turn."""
    job, _ = worked(side, turns / 4, turns)
    told = Known(replace(job, readings=job.readings[:1]))
    one, = told.read_first
    assert (one.side, one.turns) == (side, turns)
    assert read_again_words(one) == "the gauge (pass 1 may not be as it is logged)"
    plan = Stand(told.job).plan(effort=0.2, seconds=60)
    assert (plan.verdict.action, plan.passes) == ("read", ())
    assert Known(job).read_first == () or not isinstance(Known(job).read_first[0], LargeTurn)
