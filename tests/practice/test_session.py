"""One learner with one hidden wheel."""

import numpy as np
import pytest

from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.practice.faults import drawn_case
from wheelsim.practice.made import PracticeError
from wheelsim.practice.session import Session
from wheelsim.readings.errors import DIAL_SD, GAUGE_SD, METER_SCATTER, ToolErrors
from wheelsim.readings.gauge import feet_deviation

pytestmark = pytest.mark.usefixtures("quick_plans")


def near_side(seed=0):
    return Session("near-side", seed)


def test_readings_err_as_the_tools_do():
    session = Session("true", 3)
    state = session.state
    gaps, dials, meters = [], [], []
    for _ in range(60):
        gaps.append(2 * session.gauge().dish)
        dials.append(session.dial("true") - (state.lateral - state.lateral.mean()))
        meters.append(np.array(list(session.tension().values())) / state.tension)
    feet = 2 * feet_deviation(np.asarray(session.wheel.rim.hole_angles), state.lateral, [0.0])[0]
    # 60 readings: a mean is known to its sd over 7.7, an sd to a tenth; three of these, and the last digit shown.
    assert np.mean(gaps) == pytest.approx(2 * state.dish + feet, abs=3 * GAUGE_SD / 7.7 + 1e-5)
    assert np.std(gaps) == pytest.approx(GAUGE_SD, rel=0.4)
    assert np.std(dials) == pytest.approx(DIAL_SD, rel=0.05)
    # One scale a side for good, and scatter.
    usual = ToolErrors()
    sides = [np.mean(np.array(meters)[:, session.wheel.on_side(side)]) for side in ("right", "left")]
    assert sides == pytest.approx(session.meter_scale, rel=0.01)
    assert all(1e-4 < abs(scale - 1) < 4 * np.hypot(usual.meter, usual.sides) for scale in sides)
    assert sides[0] != sides[1]
    assert np.std(meters / np.mean(meters, axis=0)) == pytest.approx(METER_SCATTER, rel=0.05)


def test_each_reading_has_its_own_error_by_seed_and_count():
    one, other = near_side(), near_side()
    first, second = one.dial(), one.dial()
    assert not np.array_equal(first, second)
    other.gauge()
    other.tension([7])
    assert np.array_equal(other.dial(), first)  # whatever else was read before
    assert np.array_equal(other.dial(), second)
    assert not np.array_equal(near_side(1).dial(), first)


def test_meter_reads_one_spoke_as_it_reads_all():
    assert near_side().tension([7])[7] == near_side().tension()[7]


def test_gauge_shows_either_way_it_is_set():
    session = near_side()
    assert session.state.dish < -1e-3
    right, left = session.gauge("right"), session.gauge("left")
    assert (right.gap_at, left.gap_at) == ("hub", "feet")
    assert right.dish == pytest.approx(session.state.dish, abs=0.3e-3)
    assert left.dish == pytest.approx(session.state.dish, abs=0.3e-3)
    with pytest.raises(PracticeError, match="right or left"):
        session.gauge("top")


def test_predict_before_each_new_kind_of_turn():
    session = near_side()
    with pytest.raises(PracticeError, match="predict first"):
        session.turn(left=-0.25)
    assert session.state is session.case.state
    assert not session.moves
    session.predict("right")
    session.turn(left=-0.25)
    session.turn(left=-0.25)  # of that kind nothing is asked any more
    with pytest.raises(PracticeError, match="tightened a whole side"):
        session.turn(right=0.25)
    with pytest.raises(PracticeError, match="loosened single nipples"):
        session.turn(spokes={7: -0.25})


def test_turns_follow_the_wheel():
    session = near_side()
    session.predict("right")
    session.turn(left=-0.25)
    turns = np.zeros(32)
    turns[1::2] = -0.25
    expected = equilibrium(session.wheel, session.case.state.turns + turns, session.case.state.own_shape)
    assert session.state.tension == pytest.approx(expected.tension, abs=1e-3)


@pytest.mark.parametrize(("given", "words"), [
    ({}, "no turn named"), ({"right": 5.0}, "at once"), ({"spokes": {99: 0.25}}, "expected 1 to 32"),
    ({"right": float("nan")}, "expected turns"),
])
def test_bad_turns_change_nothing(given, words):
    session = near_side()
    session.predict("right")
    with pytest.raises(PracticeError, match=words):
        session.turn(**given)
    assert session.moves == ["predict right"]
    assert session.state is session.case.state
    session.turn(left=-0.25)  # and the prediction still stands


def test_other_bad_words():
    session = near_side()
    for way, amount, spoke in (("up", None, None), ("right", -1.0, None), ("right", float("nan"), None),
                               ("still", 0.1, None), ("in", None, 33), ("in", None, 0)):
        with pytest.raises(PracticeError, match="expected"):
            session.predict(way, amount, spoke)
    for spokes in ([0], [33], []):
        with pytest.raises(PracticeError):
            session.tension(spokes)
    with pytest.raises(PracticeError, match="true or round"):
        session.dial("up")
    assert not session.moves


def test_a_wheel_that_folds_is_put_back():
    session = Session("true", 0)
    session.predict("tighter")
    while not (done := session.turn(right=2.0, left=2.0)).folded:
        assert session.peak < 20_000
        state = session.state
    assert session.state is state
    assert not done.turns.any()
    assert session.folded == 1
    found = session.finish()
    assert found.outcome == "outside"
    assert "folded" in " ".join(found.why)


def test_slack_is_felt_by_hand():
    session = Session("true", 0)
    session.predict("looser")
    done = session.turn(spokes={7: -2.0})
    session.turn(spokes={7: -2.0})
    done = session.turn(spokes={7: -2.0})
    assert 7 in done.slack
    assert session.tension([7]) == {7: 0.0}
    assert session.hint().cause == "slack"


def test_a_seized_nipple_stays():
    session = Session("rebuild", 0)
    seized = next(iter(session.case.stuck))
    session.predict("tighter")
    assert session.turn(spokes={seized: 0.25}).seized == (seized,)
    assert session.state is session.case.state
    done = session.turn(right=0.25, left=0.25)
    assert done.seized == (seized,)
    assert done.turns[seized - 1] == 0
    assert np.count_nonzero(done.turns) == 31


def test_passes():
    session = near_side()
    for way in ("right",) * 3:
        session.predict(way)
    session.turn(left=-0.25)
    session.predict("looser")
    session.turn(spokes={1: -0.25})
    session.turn(spokes={3: -0.25})
    session.gauge()
    session.turn(spokes={5: -0.25})
    assert session.passes == 3  # once round; then two nipples together; then one after reading
    session.predict("still")
    session.turn(spokes={7: -0.25, 9: 0.25, 8: 0.25})
    assert session.passes == 5  # with the one before it: right loosened, right tightened, left tightened
    session.predict("tighter")
    session.turn(right=0.125, left=0.125)
    assert session.passes == 7  # both flanges


def test_each_direction_asks_for_its_prediction():
    session = near_side()
    session.predict("right")
    session.turn(left=-0.25)
    with pytest.raises(PracticeError, match="tightened a whole side"):
        session.turn(right=0.125, left=-0.125)


def test_hint_does_not_praise_a_wheel_that_passed_a_limit():
    session = near_side()
    session.predict("tighter")
    session.turn(right=0.25)
    session.predict("looser")
    session.turn(right=-0.25)
    session.turn(left=-0.25)
    session.turn(left=-0.25)
    found = session.hint()
    assert found.cause == "within"
    assert "a limit was passed" in found.words


def test_loosening_alone_passes_no_limit():
    """In passing, loosening lifts some spokes; no hand can help that."""
    session = near_side()
    session.predict("right")
    session.turn(left=-0.25)
    assert session.peak > session.case.state.tension.max()
    assert not session.passed


def test_moves_do_it_again():
    from wheelsim.practice.commands import Desk

    session = near_side(4)
    session.gauge("left", quarter=True)
    session.tension(session_right := [1, 3, 5])
    session.tension(range(1, 33, 2))
    session.predict("right", 0.5e-3)
    session.turn(left=-1 / 3)
    session.predict("tighter", 60, spoke=8)
    session.turn(spokes={7: 1.25, 9: 1.0, 1: 0.25})
    session.hint()
    drawn_case.cache_clear()
    again = near_side(4)
    desk = Desk(again, lambda line: None)
    for move in session.moves:
        desk.do(move)
    assert again.moves == session.moves
    assert session_right == [1, 3, 5]
    assert np.array_equal(again.state.turns, session.state.turns)
    assert np.array_equal(again.dial(), session.dial())
