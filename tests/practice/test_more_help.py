"""A hint applied by a word, terms, a question tried again, going on after a slip, a class's scores."""

import io
import json

import pytest

import wheelsim.cli.app
from tests.practice.test_run import play
from wheelsim.practice.class_table import class_table
from wheelsim.practice.made import PracticeError, by_sides
from wheelsim.practice.run import run
from wheelsim.practice.session import Session
from wheelsim.practice.which_way import WhichWay
from wheelsim.practice.words import TERMS
from wheelsim.report.terminal.shared import printer

pytestmark = pytest.mark.usefixtures("quick_plans")

WRONG = {"right": "left", "left": "right"}


def text_of(table):
    out = io.StringIO()
    printer(out).print(table)
    return out.getvalue()


def test_a_hint_is_applied_by_a_word():
    session = Session("one-spoke", 3)
    session.hint()
    named = session.hint().turns
    session.predict("tighter")
    done = session.apply_hint()
    assert done.turns == pytest.approx(named)
    # What was kept is the command that makes the same turn, so the log plays the same again.
    other = Session("one-spoke", 3)
    other.predict("tighter")
    words = session.moves[-1].split()[1:]
    other.turn(spokes={int(words[0]): {"1/2": 0.5, "1/4": 0.25, "1/8": 0.125}[words[1].lstrip("-")]
                       * (-1 if words[1].startswith("-") else 1)})
    assert other.state.turns == pytest.approx(session.state.turns)


@pytest.mark.parametrize("before", [[], ["hint"], ["hint", "hint", "predict right", "turn left -1/4"]])
def test_only_a_hint_that_named_a_turn_of_this_wheel_is_applied(before):
    _, lines = play("near-side", 0, typed=[*before, "apply", "quit"])
    assert any(line.startswith("apply: no hint has named a turn of this wheel as it stands") for line in lines)


def test_applying_asks_for_a_prediction_as_turning_does():
    _, lines = play("near-side", 0, typed=["hint", "hint", "apply", "predict right", "apply", "quit"])
    assert any(line.startswith("predict first") for line in lines)
    assert "As the hint said: turn left -1/4" in lines


def test_turns_by_sides_make_the_same_turns():
    wheel = Session("near-side", 0).wheel
    from wheelsim.stand.predict import gather_turns

    for sides in ({"left": -0.25}, {"right": 0.5, "spokes": {2: 0.25}}, {"spokes": {7: 0.125}}):
        turns = gather_turns(wheel, **sides)
        assert gather_turns(wheel, **by_sides(turns, wheel)) == pytest.approx(turns)
    assert by_sides(gather_turns(wheel, left=-0.25), wheel) == {"right": 0.0, "left": -0.25, "spokes": {}}


@pytest.mark.parametrize("level", ["which-way", "near-side"])
def test_terms_on_the_screen(level):
    _, lines = play(level, 0, typed=["terms", "quit"])
    at = lines.index(TERMS[0])
    assert tuple(lines[at:at + len(TERMS)]) == TERMS
    assert len(TERMS) <= 24
    assert all(len(line) < 90 for line in TERMS)


def test_a_question_again_and_first_answers_count():
    one, two = WhichWay(0).exercises[:2]
    wrong = [WRONG[one.go], f"{one.go} tighten"]
    typed = [*wrong, "again", one.go, f"{one.go} tighten", two.go, f"{two.go} tighten"]
    code, lines = play(1, 0, typed=typed)
    assert "again asks this one once more; or go on." in lines
    assert "Exercise 1 of 6, once more." in lines
    assert lines.count("Exercise 2 of 6.") == 2  # when again was said, and after it
    assert code == 1
    play_again = WhichWay(0)
    play_again.answer_way(WRONG[one.go])
    play_again.answer_side(one.go, "tighten")
    play_again.again()
    play_again.answer_way(one.go)
    play_again.answer_side(one.go, "tighten")
    assert play_again.results == [False]
    assert play_again.exercise is play_again.exercises[1]
    assert play_again.as_dict()["tried_again"] == 1


def test_the_last_question_again():
    *first, last = WhichWay(0).exercises
    typed = [word for one in first for word in (one.go, " ".join(one.best))]
    typed += [last.go, f"{WRONG[last.go]} tighten", "again", last.go, " ".join(last.best)]
    code, lines = play(1, 0, typed=typed)
    assert "Exercise 6 of 6, once more, without the rule beside it." in lines
    assert lines[-1].startswith("5 of 6 right, 2 of 3 without help.")
    assert code == 1


def test_nothing_again_before_it_was_answered():
    one = WhichWay(0)
    with pytest.raises(PracticeError, match="expected an exercise answered"):
        one.again()
    first = one.exercise
    one.answer_way(first.go)
    one.answer_side(first.go, "tighten")
    one.answer_way(WRONG[one.exercise.go])
    with pytest.raises(PracticeError, match="answered first"):
        one.again()


def test_a_script_goes_on_after_a_slip_if_asked(tmp_path):
    lines, score = [], tmp_path / "class.jsonl"
    moves = ["predict right", "trun left -1/4", "turn left -1/4; turn up 1; gauge", "turn left -1/4; done"]
    code = run("near-side", 0, None, lines.append, moves, str(score), go_on=True, name="Ana")
    assert code == 0
    assert "moves: line 2, left out: 'trun': did you mean turn?" in lines
    kept = json.loads(score.read_text())
    assert kept["slips"] == 2
    assert kept["name"] == "Ana"
    assert kept["moves"] == ["predict right", "turn left -1/4", "turn left -1/4", "done"]
    with pytest.raises(PracticeError, match="line 2"):
        run("near-side", 0, None, lines.append, moves)


def result(**of):
    return json.dumps({"practise": 1, "success": False, "outcome": "left", **of}) + "\n"


def test_a_class_in_a_table(tmp_path):
    one, two = tmp_path / "all.jsonl", tmp_path / "Bo [b].jsonl"
    one.write_text(
        result(name="Ana", level="near-side", hints=2, you={"turns": 12.0}, predictions={"told": 2, "right": 1})
        + result(name="Ana", level="near-side", success=True, hints=1, you={"turns": 8.0},
                 predictions={"told": 3, "right": 3})
        + result(name="Ana", level="near-side", success=True, hints=0, you={"turns": 8.25}))
    two.write_text(result(level="which-way", success=True, right=5, of=6) + result(level="true", you="x", hints="y"))
    head, *rows = [[cell for cell in line.split("  ") if cell.strip()] for line in
                   text_of(class_table([str(one), str(two)])).splitlines()]
    assert [cell.strip() for cell in head] == ["learner", "level", "tries", "passed", "first at try", "fewest turns",
                                               "hints", "predictions right"]
    assert [[cell.strip() for cell in row] for row in rows] == [
        ["Ana", "2 near-side", "3", "2", "2", "8", "3", "4 of 5"],
        ["Bo [b]", "1 which-way", "1", "1", "1", "-", "-", "answers 5 of 6"],
        ["Bo [b]", "4 true", "1", "0", "-", "-", "-", "-"]]


def test_the_table_from_the_command(tmp_path, capsys):
    path = tmp_path / "class.jsonl"
    path.write_text(result(name="Ana", level="true", success=True))
    assert wheelsim.cli.app.run(["practise", "--scores", str(path)]) == 0
    assert "Ana" in capsys.readouterr().out
    for text, told in (("", "no result in there"), ("{}\n", "is no score")):
        path.write_text(text)
        assert wheelsim.cli.app.run(["practise", "--scores", str(path)]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert told in err
    assert wheelsim.cli.app.run(["practise", "--scores", str(tmp_path / "none")]) == 2
    assert "not found" in capsys.readouterr().err
