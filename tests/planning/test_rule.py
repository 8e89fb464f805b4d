"""The rule-of-thumb mechanic (common practice, no source)."""

import re
from io import StringIO

import numpy as np
import pytest

from tests.benchmarks.jobs import random_job
from tests.wheels import dished, front, side_turns
from wheelsim.estimation.estimate import estimate
from wheelsim.files import sample_job
from wheelsim.job.job import Job, Work
from wheelsim.measures.bounds import Bounds, broken, resolved
from wheelsim.measures.on_the_way import RISE_ABOVE, tension_on_the_way, times_round
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.plan import plan
from wheelsim.planning.rule import Purpose, Stopped, by_rule
from wheelsim.practice.faults import hidden_wheel
from wheelsim.report.terminal.plan import tell_plan
from wheelsim.report.terminal.shared import printer
from wheelsim.report.words.rule import stopped_words
from wheelsim.units import QUARTER


def done(state, **given):
    return by_rule(state, resolved(state.wheel), **given)


@pytest.mark.parametrize(("off", "first"), [
    ({"right": -0.6}, "right flange, tighten"),  # rim left, room in the near side
    ({"left": -0.6}, "left flange, tighten"),  # rim right
])
def test_dish_alone_tightens_the_side_it_must_move_to(off, first):
    wheel = dished(tension=800.0)
    result = done(equilibrium(wheel, side_turns(wheel, **off)))
    assert result.as_dict()["passes"][0]["action"].startswith(first)
    assert all(one.purpose is Purpose.SIDE for one in result.passes)
    assert result.within


def test_tight_near_side_loosens_the_far_one():
    wheel = dished(tension=1050.0)
    state = equilibrium(wheel, side_turns(wheel, left=0.6))  # rim left, near side near its limit
    assert 1100 < view(state).mean["right"] < 1200
    result = done(state)
    assert result.as_dict()["passes"][0]["action"].startswith("left flange, loosen")
    assert result.within
    # From there tightening would have passed the limit.
    assert equilibrium(wheel, state.turns + side_turns(wheel, right=QUARTER)).tension.max() > 1200


def test_target_dish():
    wheel = front(tension=800.0)
    result = done(equilibrium(wheel), target_dish=1.5e-3)
    assert result.within
    assert abs(2 * (result.after.dish - 1.5e-3)) <= 1e-3


def test_nothing_to_do():
    result = done(equilibrium(front()))
    assert (result.total_turns, result.nipples, result.passes, result.within) == (0.0, 0, (), True)


@pytest.mark.parametrize("seed", range(3))
def test_simple_untrue_wheels_end_within(seed):
    wheel = front()
    turns = np.random.default_rng(seed).normal(0, 0.15, 36)
    turns[8] += 1.0
    state = equilibrium(wheel, turns)
    assert broken(view(state).values, resolved(wheel))
    result = done(state)
    assert result.within
    assert not broken(result.after.values, resolved(wheel))
    followed = equilibrium(wheel, turns + result.turns)
    assert followed.lateral == pytest.approx(result.after.state.lateral, abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_costs_more_than_a_plan(seed):
    """Fewest turns to the same limits from the same wheel: no rule can do it for less."""
    job = random_job(seed)
    state = estimate(job.wheel, job.last).state
    result = by_rule(state, resolved(job.wheel))
    found = plan(Job(job.wheel, job.readings, Work(margin=0.0)), fewest="turns", to="limits", effort=0.5,
                 seconds=60.0)
    assert result.total_turns > np.abs(found.turns).sum()


def test_counts_turns_that_were_undone():
    """Turns made add up pass by pass; the net of a nipple turned both ways is less."""
    job = random_job(2)
    result = done(estimate(job.wheel, job.last).state)
    made = np.array([one.turns for one in result.passes])
    assert result.total_turns == pytest.approx(np.abs(made).sum())
    assert result.total_turns > np.abs(result.turns).sum()
    assert result.nipples == np.count_nonzero(np.any(made != 0, axis=0))


def test_never_turns_what_is_not_free():
    job = random_job(1)
    free = np.ones(job.wheel.n, dtype=bool)
    free[[2, 3, 9, 17]] = False
    result = done(estimate(job.wheel, job.last).state, free=free)
    assert result.nipples > 5
    assert all(not one.turns[~free].any() for one in result.passes)
    with pytest.raises(ValueError, match="expected"):
        done(equilibrium(front()), free=[True])


def test_never_turns_a_missing_spoke():
    wheel = front(missing=(7,))
    result = done(equilibrium(wheel, side_turns(wheel, right=-0.3)), most_passes=12)
    assert result.passes
    assert all(one.turns[6] == 0 for one in result.passes)


def test_gives_up_on_a_bent_rim():
    wheel = front()
    shape = np.zeros((2, 36))
    shape[0] = 4e-3 * np.exp(-((np.arange(36) - 18) / 2.0) ** 2)
    result = by_rule(equilibrium(wheel, None, shape), resolved(wheel))
    assert not result.within
    assert result.stopped in (Stopped.NO_HEADWAY, Stopped.NO_TURN_HELPS)


def test_stops_at_its_number_of_passes():
    job = random_job(2)
    result = done(estimate(job.wheel, job.last).state, most_passes=3)
    assert len(result.passes) == 3
    assert result.stopped is Stopped.ENOUGH_PASSES
    assert result.as_dict()["why_stopped"] == "it had made 3 passes"


def test_errors_of_its_tools_are_its_own():
    """The same errors, the same work; it stops by what it reads, and says whether the wheel itself is within."""
    job = random_job(4)
    state = estimate(job.wheel, job.last).state
    one, same, other = (done(state, errors=np.random.default_rng(k)) for k in (1, 1, 2))
    assert np.array_equal(one.turns, same.turns)
    assert not np.array_equal(one.turns, other.turns)
    assert one.within == (not broken(one.after.values, resolved(job.wheel)))


def test_errors_may_deceive_it():
    """A limit of the gap hardly wider than the error of a gauge: what it reads is within, what is there not always."""
    wheel = front()
    limits = Bounds(0.1e-3, 0.5e-3, 0.5e-3, 0.2, 1200.0, 300.0)
    state = equilibrium(wheel, side_turns(wheel, right=0.3))
    ended = [by_rule(state, limits, errors=np.random.default_rng(k)) for k in range(12)]
    sure = [one for one in ended if one.stopped is Stopped.WITHIN]
    assert any(not one.within for one in sure)
    assert all(one.within == (not broken(one.after.values, limits)) for one in ended)
    exact = by_rule(state, limits)
    assert exact.within == (exact.stopped is Stopped.WITHIN)


def test_peak_is_that_of_the_way():
    """Nipple by nipple a round of tightening peaks above where it ends."""
    wheel = dished(tension=800.0)
    state = equilibrium(wheel, side_turns(wheel, right=-0.6))
    turns = side_turns(wheel, right=QUARTER)
    after = equilibrium(wheel, state.turns + turns)
    way = tension_on_the_way(state, after, turns)
    assert way[:, -1] == pytest.approx(after.tension)
    assert way.max() > after.tension.max() + 10
    # Half-way: within a few newtons of the wheel really turned so far.
    half = turns * (np.arange(32) < 16)
    assert way[:, 7] == pytest.approx(equilibrium(wheel, state.turns + half).tension, abs=5.0)
    assert done(state).peak_tension >= way.max() - 1e-6


def test_passed_is_what_it_did_and_not_what_came_in():
    """Nipple by nipple on its own passes: a spoke received above its limit counts from well above where it came in."""
    wheel = dished(tension=1120.0)
    turns = side_turns(wheel, left=0.6)
    turns[0] = 1.0  # a near-side spoke far above the limit as it comes in
    state = equilibrium(wheel, turns)
    limit = resolved(wheel).max_tension
    assert state.tension[0] > limit + 100
    result = done(state)
    highest, at = state.tension.copy(), state
    for made in (one.turns for one in result.passes):
        after = equilibrium(wheel, at.turns + made, start=at)
        if (made > 0).any():
            highest = np.maximum(highest, tension_on_the_way(at, after, made).max(axis=1))
        highest, at = np.maximum(highest, after.tension), after
    over = np.flatnonzero(highest > np.where(state.tension > limit, state.tension + RISE_ABOVE, limit) + 0.01)
    assert sorted(result.passed) == [i + 1 for i in over]
    assert all(result.passed[i + 1] == pytest.approx(highest[i]) for i in over)
    assert 1 not in result.passed
    assert result.peak_tension >= state.tension[0]
    # A near side with no room: common practice tightens it all the same, and loosens later.
    case = hidden_wheel("near-side", 4)
    tight = by_rule(case.state, case.limits)
    assert 27 in tight.passed
    assert case.state.tension.max() < limit < min(tight.passed.values())
    assert max(tight.passed.values()) <= tight.peak_tension
    eased = done(equilibrium(front(), side_turns(front(), right=0.45)))
    assert (eased.passed, eased.within) == ({}, True)


def test_as_dict_is_plain():
    import json

    told = done(equilibrium(front(), side_turns(front(), right=-0.5))).as_dict()
    assert json.loads(json.dumps(told)) == told
    assert told["within"]
    assert told["total_turns"] == sum(abs(t) for one in told["passes"] for t in one["turns"])


def test_impossible_limits_end_in_words():
    """No room to tighten or to loosen: it says so and turns nothing."""
    wheel = front()
    tight = Bounds(1e-3, 0.5e-3, 0.5e-3, 0.2, 1080.0, 960.0)
    result = by_rule(equilibrium(wheel, side_turns(wheel, right=0.2, left=-0.2)), tight)
    assert not result.within
    assert not result.passes
    assert result.stopped is Stopped.NO_TURN_HELPS
    assert "no turn" in stopped_words(result)


def test_its_passes_are_counted_as_a_plans_are():
    """A round of both flanges or both ways is several passes; the screen and the ending of practise say the same."""
    wheel = sample_job().wheel
    shape = np.zeros((2, wheel.n))
    shape[0] = 0.6e-3 * np.cos(2 * np.asarray(wheel.rim.hole_angles))
    state = equilibrium(wheel, None, shape)
    result = by_rule(state, resolved(wheel))
    each = [times_round([one.turns], wheel) for one in result.passes]
    assert result.times_round == sum(each) > len(result.passes)
    out = StringIO()
    tell_plan(plan(sample_job(), effort=0.2, seconds=60), printer(out), result)
    (line,) = [line for line in out.getvalue().splitlines() if line.startswith("rule of thumb")]
    _, _, _, passes, *_ = re.split(r"  +", line)
    assert int(passes) == result.times_round
