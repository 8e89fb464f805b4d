"""Practice on the page without a browser: done again by its commands, the strip held back until the answer."""

import json

import numpy as np
import pytest

from wheelsim.measures.view import view
from wheelsim.page.lesson import LARGEST, begin, kept, target
from wheelsim.practice.faults import drawn_case
from wheelsim.practice.made import PracticeError
from wheelsim.practice.session import Session


def test_the_page_does_what_the_session_does():
    lesson, session = begin("near-side", 3), Session("near-side", 3)
    for command in ("gauge right", "dial true", "tension", "predict right", "turn left -1/4", "gauge right"):
        lesson.do(command)
    session.gauge("right")
    dialled, read = session.dial("true"), session.tension()
    session.predict("right")
    session.turn(left=-0.25)
    assert lesson.session.moves == [*session.moves, "gauge right"]
    assert np.array_equal(lesson.session.state.tension, session.state.tension)
    assert lesson.stale
    face = lesson.face
    assert face["now"] == pytest.approx(1000 * dialled, abs=1e-4)
    assert face["tension"] == pytest.approx([read[i] for i in range(1, 33)])


def test_what_is_read_after_a_turn_takes_the_place_of_all_before():
    lesson = begin("near-side", 3)
    for command in ("tension", "predict looser", "turn left -1/4", "tension 2"):
        lesson.do(command)
    assert [i for i, value in enumerate(lesson.face["tension"], 1) if value is not None] == [2]
    assert not lesson.stale


def test_in_class_the_strip_shows_only_once_answered():
    lesson = begin("near-side", 3, in_class=True)
    for command in ("gauge right", "dial true", "tension", "predict right", "turn left -1/4"):
        lesson.do(command)
        assert not lesson.answered
        assert set(lesson.face["tension"]) == {None}
        assert set(lesson.face["now"]) == {None}
    lesson.do("gauge right")
    assert lesson.answered
    assert lesson.face["tension"] == pytest.approx(lesson.session.state.tension, abs=0.06)
    assert lesson.face["turns"][1] == -0.25
    lesson.do("turn left -1/8")  # nothing said of it yet
    assert set(lesson.face["tension"]) == {None}


def test_which_way_holds_the_strip_back_until_both_answers():
    lesson = begin("which-way", 1, in_class=True)
    exercise = lesson.play.exercise
    assert lesson.face is None
    assert lesson.asks_way
    lesson.do(exercise.go)
    assert lesson.face is None
    assert not lesson.asks_way
    said = lesson.do(f"{exercise.go} tighten")
    assert said.lines[0].startswith("Yes")
    assert np.mean(lesson.face["was"]) == pytest.approx(1000 * view(exercise.state).dish, abs=0.01)
    assert lesson.face["turns"].count(0.25) == len(exercise.state.wheel.on_side(exercise.go))
    lesson.do("left")  # the next exercise is another wheel
    assert lesson.face is None


def test_six_answers_and_it_is_over():
    lesson = begin("which-way", 2)
    while not lesson.over:
        side, action = lesson.play.exercise.best
        lesson.do(lesson.play.exercise.go)
        lesson.do(f"{side} {action}")
    assert lesson.play.success
    again = kept(lesson.as_text())
    assert again.over
    assert again.play.results == [True] * 6


def test_a_lesson_kept_goes_on_where_it_was():
    lesson = begin("one-spoke", 5)
    for command in ("dial true", "tension right", "hint", "hint", "predict still", "apply", "dial true"):
        lesson.do(command)
    drawn_case.cache_clear()
    again = kept(lesson.as_text())
    assert [one.lines for one in again.said] == [one.lines for one in lesson.said]
    assert np.array_equal(again.session.state.tension, lesson.session.state.tension)
    assert again.session.hints == 2


@pytest.mark.parametrize("text", [
    None, 7, "", "no JSON", "[]", "{}", '{"level": "none", "seed": 1, "class": false, "commands": []}',
    '{"level": "true", "seed": -1, "class": false, "commands": []}', "[" * 5000, " " * (LARGEST + 1)])
def test_what_is_no_lesson_is_none(text):
    assert kept(text) is None


def test_what_a_browser_kept_is_bounded():
    def commands(*some):
        return kept(json.dumps({"level": "true", "seed": 1, "class": False, "commands": some})).commands

    assert commands("dial true", "burn everything", "dial true") == ["dial true"]
    assert commands("dial true", 5) == ["dial true"]
    assert commands("dial true", "x" * 300) == ["dial true"]
    assert commands(*["dial true"] * 501) == []


def test_bad_words_change_nothing():
    lesson = begin("true", 1)
    for command in ("turn right 1/4", "quit", "turn right 1/0", "nonsense"):  # nothing is predicted yet
        with pytest.raises(PracticeError):
            lesson.do(command)
    assert (lesson.commands, lesson.said) == ([], [])


def test_targets():
    assert target("left", {3}) == "left"
    assert target(None, {9, 3}) == "3,9"
    with pytest.raises(PracticeError, match="no spoke chosen"):
        target(None, set())
