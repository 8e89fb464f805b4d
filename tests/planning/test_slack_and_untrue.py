"""A slack wheel that is out of true as well is tightened, though tension makes a rim less true."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import make_wheel
from wheelsim.job.job import Job
from wheelsim.measures.bounds import resolved
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.notes import off_usual
from wheelsim.planning.passes import rounds
from wheelsim.planning.plan import plan
from wheelsim.readings.simulated import Tools
from wheelsim.report.words.planning import plan_advice_words
from wheelsim.report.words.verdict import verdict_words

WHEEL = make_wheel(28, cross=3, tension=1000.0)


def come_in():
    """Forty per cent below the usual; the rim's own shape makes it 0.33 mm out of true, between aim and limit."""
    angle = np.asarray(WHEEL.rim.hole_angles)
    state = equilibrium(WHEEL, np.full(WHEEL.n, -0.62), np.stack([0.2e-3 * np.cos(2 * angle), 0.0 * angle]))
    return state, Job(WHEEL, (Tools().everything(state),))


def test_it_is_tightened_and_ends_no_less_true():
    """Common practice, no source: a wheel that is slack is tightened, evenly and in quarter turns, then trued."""
    state, job = come_in()
    before = view(state)
    aims = resolved(WHEEL, aims=True)
    assert aims.lateral_runout < before.true < resolved(WHEEL).lateral_runout
    # What whole sides alone would do: the rim is softened by more tension, and its own shape shows more.
    assert view(equilibrium(WHEEL, np.full(WHEEL.n, -0.12), state.own_shape)).true > 1.1 * before.true
    found = plan(job, effort=4.0, seconds=600)
    assert (found.verdict.side, found.verdict.action) == ("both", "tighten")
    after = found.passes[-1].after
    for side in ("right", "left"):
        assert after.mean[side] == pytest.approx(1000.0, rel=aims.off_usual + 0.01)
    assert after.true < before.true + 1e-6
    of_sides = [one for one in found.passes if np.count_nonzero(one.turns) > 1]
    assert [(one.side, *np.unique(one.turns[one.turns != 0])) for one in of_sides] == 2 * [
        ("right", 0.25), ("left", 0.25)]
    assert len(found.passes) - len(of_sides) <= 2  # nipples named beside the sides


def test_what_every_spoke_of_a_side_takes_goes_first_by_quarters():
    turns = np.zeros(WHEEL.n)
    right = WHEEL.on_side("right")
    turns[right] = 0.5
    turns[right[2]] = 1.0
    even, again, rest = rounds(turns, WHEEL)["right", "tighten"]
    assert (even[right] == 0.25).all()
    assert (again[right] == 0.25).all()
    assert np.flatnonzero(rest).tolist() == [right[2]]
    turns[right[5]] = 0.0  # a stuck one
    assert [np.count_nonzero(one) for one in rounds(turns, WHEEL)["right", "tighten"]] == [13, 13, 1]
    # In as few as can be: each nipple as much as a pass may turn it.
    assert len(rounds(turns, WHEEL, 0.5)["right", "tighten"]) == 2


@pytest.mark.parametrize(("percent", "told"), [(0.15, True), (0.05, False)])
def test_how_far_off_the_usual_it_ends_is_told(percent, told):
    """Tightened to the near edge of its aim: the plan says that it is the aim, and how to come nearer."""
    before, after = (view(equilibrium(WHEEL, np.full(WHEEL.n, turns))) for turns in (-0.62, -0.2))
    assert 0.08 < -after.stands_off < 0.15
    said = off_usual(before, after, replace(resolved(WHEEL, aims=True), off_usual=percent))
    assert bool(said) == told
    assert all("% below the usual, as near as is asked for" in plan_advice_words(one) for one in said)
    assert not off_usual(after, after, resolved(WHEEL, aims=True))  # it came in as near


def test_to_limits_a_slack_wheel_is_not_called_right():
    """Nothing is to be turned for the limits, but it isn't where it should be."""
    _, job = come_in()
    found = plan(job, to="limits", effort=1.0, seconds=600)
    assert found.status == "nothing to do"
    said = verdict_words(found.verdict)
    assert said.startswith("The wheel is within its limits")
    assert said.endswith("its tension is 42 % below the usual.")
