"""Whether predictions came true, as the readings tell."""

import numpy as np
import pytest

from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.practice.made import PracticeError, whole_sides
from wheelsim.practice.session import Session


def near_side(seed=0):
    return Session("near-side", seed)


@pytest.mark.parametrize(("way", "right"), [("right", True), ("left", False), ("still", False)])
def test_prediction_judged_by_the_gauge(way, right):
    session = near_side()
    session.gauge()
    session.predict(way)
    session.turn(left=-0.25)
    assert not session.answers  # not before it is read
    session.tension()
    assert not session.answers
    session.gauge()
    assert [one.right for one in session.answers] == [right]


def test_prediction_is_of_all_that_is_turned_before_it_is_read():
    session = Session("true", 0)
    session.tension()
    session.predict("tighter")
    for spoke in (1, 19, 1, 19, 1, 19):
        session.turn(spokes={spoke: 0.25})
    session.tension([1, 2, 19])
    assert [one.right for one in session.answers] == [True]
    assert "nothing was read" not in session.answers[0].words.lower()


@pytest.mark.parametrize(("way", "right"), [("looser", True), ("tighter", False)])
def test_prediction_judged_by_the_meter(way, right):
    session = near_side()
    session.tension()
    session.predict(way)
    session.turn(left=-0.5)
    session.tension()
    assert [one.right for one in session.answers] == [right]


def test_prediction_judged_by_the_dial():
    session = Session("one-spoke", 0)
    spoke = int(np.argmax(np.abs(session.state.turns))) + 1
    loose, on_right = session.state.turns[spoke - 1] < 0, spoke % 2 == 1
    session.dial("true")
    session.predict("right" if on_right == loose else "left")
    session.turn(spokes={spoke: 0.5 if loose else -0.5})
    session.dial("true")
    session.dial("round")
    assert [one.right for one in session.answers] == [True]
    session.dial("round")
    session.predict("in" if loose else "out")
    session.turn(spokes={spoke: 1.0 if loose else -1.0})
    session.dial("round")
    assert [one.right for one in session.answers] == [True, True]


def test_prediction_that_nothing_can_tell():
    session = near_side()
    session.predict("right")
    session.turn(left=-0.25)
    session.gauge()  # not read before the turn
    session.predict("in")
    session.turn(left=-0.125)
    session.dial("round")  # its zero is free
    session.predict("right")
    session.turn(left=-0.125)
    session.predict("looser")
    session.turn(spokes={8: -0.125})  # something else before it was read
    assert [one.right for one in session.answers] == [None] * 3
    assert "nothing to compare" in session.answers[0].words
    assert "zero is free" in session.answers[1].words
    assert "nothing was read after it" in session.answers[2].words


def test_a_side_turned_by_its_numbers_is_a_whole_side():
    """The gauge judges it, as if it had been named; the dial's zero is free and can't."""
    session = near_side()
    session.gauge()
    session.dial()
    session.predict("right", 1.0e-3)
    session.turn(spokes=dict.fromkeys(range(2, 33, 2), -0.25))
    session.dial()
    assert not session.answers
    session.gauge()
    assert [one.right for one in session.answers] == [True]
    with pytest.raises(PracticeError, match="a whole side"):
        session.turn(right=0.25)


def test_so_many_nipples_that_a_dial_cannot_tell():
    session = near_side()
    session.dial()
    session.predict("right")
    session.turn(spokes=dict.fromkeys(range(2, 28, 2), -0.25))
    session.dial()
    assert [one.right for one in session.answers] == [None]
    assert "zero is free" in session.answers[0].words


@pytest.mark.parametrize(("share", "near", "words"), [(1.0, True, "about as much"), (2.0, False, "less than that"),
                                                      (0.5, False, "more than that")])
def test_an_amount_is_judged(share, near, words):
    """Half a turn off the left: what it really does, twice that and half of it, by gauge and by meter."""
    turns = np.zeros(32)
    turns[1::2] = -0.5
    session = near_side()
    case = session.case
    after = equilibrium(case.wheel, case.state.turns + turns, case.state.own_shape)
    session.gauge()
    session.predict("right", share * (after.dish - case.state.dish))
    session.turn(left=-0.5)
    session.gauge()
    assert [(one.right, one.near) for one in session.answers] == [(True, near)]
    assert words in session.answers[0].words
    session = near_side()
    session.tension()
    session.predict("looser", share * -(after.tension - case.state.tension)[1::2].mean())
    session.turn(left=-0.5)
    session.tension()
    assert [(one.right, one.near) for one in session.answers] == [(True, near)]


def test_no_amount_is_judged_where_the_way_was_wrong():
    session = near_side()
    session.gauge()
    session.predict("left", 1.2e-3)
    session.turn(left=-0.5)
    session.gauge()
    assert [(one.right, one.near) for one in session.answers] == [(False, None)]


def test_a_spoke_may_be_named():
    """A turn more on a left spoke: the left one next to it loses tension, and the rim there goes left."""
    session = Session("true", 0)
    session.tension()
    session.predict("looser", spoke=10)
    session.turn(spokes={8: 1.0})
    session.tension()
    session.dial()
    session.predict("left", spoke=9)
    session.turn(spokes={8: -1.0})
    session.dial()
    before, after = session.case.state, equilibrium(
        session.wheel, session.case.state.turns + 1.0 * (np.arange(36) == 7), session.case.state.own_shape)
    assert after.tension[9] < before.tension[9]
    assert after.lateral[8] < before.lateral[8]
    assert [one.right for one in session.answers] == [True, False]
    assert "spoke 10 is" in session.answers[0].words
    assert "the rim at spoke 9 went right" in session.answers[1].words


def test_far_from_the_turned_nipples_the_rim_stays():
    """Eleven nipples turned one way shift the dial's own zero, and what is left of the rim is not enough to tell."""
    session = Session("true", 0)
    session.dial()
    session.predict("still", spoke=28)
    session.turn(spokes=dict.fromkeys((2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22), 0.5))
    session.dial()
    case = session.case
    turns = 0.5 * np.isin(np.arange(1, 37), range(2, 23, 2))
    after = equilibrium(case.wheel, case.state.turns + turns, case.state.own_shape)
    moved = after.lateral - case.state.lateral
    assert abs(moved[27] - moved.mean()) > 0.2e-3
    assert abs(moved[27]) > 0.1e-3
    assert [one.right for one in session.answers] == [None]  # too little of the rim is left to be the dial's zero
    session = Session("true", 0)
    session.dial()
    session.predict("right")
    session.turn(spokes=dict.fromkeys((3, 5, 7, 9, 11, 13), 0.25))
    session.dial()
    assert [one.right for one in session.answers] == [True]


def test_scattered_nipples_of_one_kind_are_not_told_the_reverse():
    """Ten right nipples over half the rim: every place goes right, and a dial that can't tell says so."""
    session = Session("near-side", 48)
    session.dial()
    session.predict("right")
    session.turn(spokes=dict.fromkeys((17, 7, 23, 25, 15, 19, 27, 31, 3, 11), 0.25))
    session.dial()
    assert [one.right for one in session.answers] == [None]


def test_turned_back_before_it_was_read():
    session = Session("true", 0)
    session.dial()
    session.predict("right")
    session.turn(spokes={7: 0.25})
    session.predict("left")
    session.turn(spokes={7: -0.25})
    session.dial()
    session.dial()
    session.predict("right")
    session.turn(spokes={7: 0.25})
    session.turn(spokes={7: -0.25})
    session.dial()
    assert [one.right for one in session.answers] == [None, None, None]


def test_still_and_right_are_never_both_right():
    """An eighth or a sixteenth off the left, as the gauge shows it, judged against either."""
    told = []
    for amount in (0.0625, 0.125, 0.25):
        both = []
        for way in ("right", "still"):
            session = near_side()
            session.gauge()
            session.predict(way)
            session.turn(left=-amount)
            session.gauge()
            both.append(session.answers[0].right)
        told.append(both)
    assert [True, True] not in told
    assert told[-1] == [True, False]


def test_a_slack_spoke_tells_nothing():
    session = Session("true", 0)
    for _ in range(3):
        if session.moves:
            session.turn(spokes={7: -2.0})
        else:
            session.predict("looser")
            session.turn(spokes={7: -2.0})
    assert session.tension([7]) == {7: 0.0}
    session.predict("tighter")
    session.turn(spokes={7: 0.25})
    session.tension([7])
    assert session.answers[-1].right is None


def test_another_place_does_not_settle_a_prediction():
    session = near_side()
    session.gauge()
    session.predict("right")
    session.turn(left=-0.25)
    session.gauge(quarter=True)
    assert not session.answers
    session.gauge()
    assert [one.right for one in session.answers] == [True]
    session.tension([8])
    session.predict("looser")
    session.turn(spokes={8: -0.5})
    session.tension([10])
    assert len(session.answers) == 1
    session.tension([8])
    assert session.answers[1].right


def test_a_turn_the_other_way_is_not_credited_to_a_prediction():
    session = Session("true", 0)
    session.tension()
    session.predict("looser")
    session.turn(spokes={25: -0.125})
    session.tension()
    session.predict("tighter")
    session.turn(spokes={7: 0.5})
    session.turn(spokes={25: -1.0})
    session.tension()
    assert session.answers[-1].right is None


def test_a_fold_leaves_the_prediction_as_it_was():
    session = Session("true", 0)
    session.predict("tighter")
    while not session.turn(right=2.0, left=2.0).folded:
        session.predict("tighter")
    assert session.guess.way == "tighter"


def test_whole_sides_leave_out_what_is_stuck():
    wheel = Session("rebuild", 0).wheel
    right = np.zeros(wheel.n)
    right[wheel.on_side("right")] = 0.25
    assert whole_sides(right, wheel)
    right[4] = 0.0
    assert not whole_sides(right, wheel)
    assert whole_sides(right, wheel, frozenset({5}))
    assert not whole_sides(np.zeros(wheel.n), wheel)
    right[4] = -0.25
    assert not whole_sides(right, wheel)


def test_opposite_places_contradict_each_other():
    session = Session("true", 0)
    session.dial()
    session.predict("right")
    session.turn(spokes={9: 0.5, 27: -0.5})
    session.dial()
    session.tension()
    session.predict("tighter")
    session.turn(spokes={9: 1.0, 27: -1.0})
    session.tension()
    assert [one.right for one in session.answers] == [None, None]
    assert all("both ways" in one.words for one in session.answers)
