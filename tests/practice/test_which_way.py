"""The first exercises, answered as one who knows and as one who does not."""

import pytest

from tests.practice_facts.test_truing_practice import FOUR_CASES
from wheelsim.measures.view import Stands
from wheelsim.practice.which_way import ALONE, GUIDED, SHARES, USUAL, WhichWay

GO = {(set_on, gap_at): move for set_on, gap_at, _, move in FOUR_CASES}
OTHER = {"right": "left", "left": "right"}


@pytest.mark.parametrize("seed", range(6))
def test_right_answers_by_the_rule_of_the_bench(seed):
    play = WhichWay(seed)
    while (one := play.exercise) is not None:
        go = GO[one.gauge.set_on, one.gauge.gap_at]
        assert play.answer_way(go).right
        tighten = one.number % 2 if one.action is None else one.action == "tighten"
        assert play.answer_side(go if tighten else OTHER[go], "tighten" if tighten else "loosen").right
    assert play.results == [True] * (GUIDED + ALONE)
    assert play.success


@pytest.mark.parametrize("seed", range(6))
def test_all_four_cases_come(seed):
    exercises = WhichWay(seed).exercises
    assert {(one.gauge.set_on, one.gauge.gap_at) for one in exercises} == set(GO)
    assert [one.guided for one in exercises] == [True] * GUIDED + [False] * ALONE
    for one in exercises:
        assert one.gauge.dish == pytest.approx(one.state.dish, abs=0.03e-3)


def test_wrong_answers_are_told_why():
    play = WhichWay(0)
    one = play.exercise
    told = play.answer_way(one.lies)
    assert not told.right
    assert told.words.startswith(f"No, {one.go}.")
    told = play.answer_side(one.lies, "tighten")
    assert not told.right
    assert f"so the rim goes {one.lies}" in told.words
    assert f"tighten the {one.go} spokes" in told.words
    assert play.results == [False]


@pytest.mark.parametrize(("side", "action"), [("right", "tighten"), ("right", "loosen"), ("left", "tighten"),
                                              ("left", "loosen")])
def test_what_is_told_is_what_the_wheel_does(side, action):
    play = WhichWay(1)
    one = play.exercise
    play.answer_way(one.go)
    told = play.answer_side(side, action)
    nearer = abs(one.gap_after(side, action)) < abs(2 * one.state.dish)
    assert told.right == nearer
    assert f"to {abs(one.gap_after(side, action)) * 1e3:.1f} mm" in told.words


def test_success_needs_those_without_help():
    play = WhichWay(2)
    while (one := play.exercise) is not None:
        wrong = one.number == GUIDED + 1
        play.answer_way(one.lies if wrong else one.go)
        play.answer_side(*one.best)
    assert play.results.count(False) == 1
    assert not play.success


def test_bad_words_and_order():
    play = WhichWay(0)
    with pytest.raises(ValueError, match="say first"):
        play.answer_side("right", "tighten")
    with pytest.raises(ValueError, match="expected right or left"):
        play.answer_way("up")
    play.answer_way("right")
    with pytest.raises(ValueError, match="which way now"):
        play.answer_way("right")
    with pytest.raises(ValueError, match="tighten or loosen"):
        play.answer_side("right", "turn")
    assert not play.results


def test_same_seed_same_exercises():
    one, same, other = (WhichWay(seed).exercises for seed in (3, 3, 4))
    assert [k.gauge for k in one] == [k.gauge for k in same]
    assert [k.gauge for k in one] != [k.gauge for k in other]


@pytest.mark.parametrize("seed", range(6))
def test_tension_tells_tighten_or_loosen(seed):
    """Of the three without the rule one is slack, one tight, one about right; the meter says so."""
    alone = WhichWay(seed).exercises[GUIDED:]
    assert {one.stands for one in alone} == set(SHARES)
    for one in alone:
        mean = one.state.tension.mean()
        assert {Stands.SLACK: mean < 0.85 * USUAL, Stands.TIGHT: mean > 1.15 * USUAL,
                Stands.ABOUT_RIGHT: abs(mean / USUAL - 1) < 0.15}[one.stands]
        assert f"{USUAL:.0f} N is usual" in one.tension


@pytest.mark.parametrize(("stands", "action", "side"), [(Stands.SLACK, "loosen", "lies"),
                                                        (Stands.TIGHT, "tighten", "go")])
def test_the_right_way_by_the_wrong_side(stands, action, side):
    """Loosening a slack wheel centres it too, and is not the answer."""
    play = WhichWay(1)
    while (one := play.exercise).stands is not stands:
        play.answer_way(one.go)
        play.answer_side(*one.best)
    play.answer_way(one.go)
    told = play.answer_side(getattr(one, side), action)
    assert not told.right
    assert f"so the rim goes {one.go}" in told.words
    assert f"The wheel is {stands.value}" in told.words
