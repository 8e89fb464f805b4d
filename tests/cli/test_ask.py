"""Asked at a terminal, one question at a time: Enter leaves a thing out, what can't be meant is asked again."""

import pytest

from wheelsim.cli import ask as asked
from wheelsim.files.blank import write_blank
from wheelsim.files.errors import FileError
from wheelsim.files.log import ToKeep, add_visit, keep_passes
from wheelsim.files.questions import number, whole
from wheelsim.files.reader import read_job
from wheelsim.readings.reading import Shown


@pytest.fixture
def answers(monkeypatch):
    """Answers to give, in order; the questions that were asked."""
    questions = []

    def give(*words):
        left = iter(words)

        def prompt(question, **_):
            questions.append(question)
            return next(left, "")

        monkeypatch.setattr("typer.prompt", prompt)
        return questions

    return give


def test_a_new_wheel_and_its_first_reading(answers, tmp_path):
    answers("ticket 12", "100", "35", "47", "35", "47", "32", "611", "bo", "left", "3", "2", "1.8", "", "1250",
            "right", "2.4", "hub", "high 7=0.3, low 21=-0.2", "", "1=100,2=102 kgf")
    path = tmp_path / "job.toml"
    asked.ask_job(str(path))
    job = read_job(path)
    assert (job.wheel.name, job.wheel.n, job.wheel.rim.kind) == ("ticket 12", 32, "box alloy")
    assert job.wheel.spokes.sides[0] == "L"
    assert (job.wheel.spokes.left.cross, job.wheel.spokes.right.cross) == (3, 2)
    assert job.wheel.limits.max_tension == 1250.0
    assert job.wheel.tension == 1000.0  # left out: as the blank has it
    assert job.last.gauge.low == pytest.approx(2.4e-3)
    assert job.last.extremes == {"lateral"}
    assert job.last.shown[1] == Shown(2, 102.0, "kgf")
    assert "# Hole circle: hole to hole" in path.read_text()


def test_what_makes_no_job_is_asked_again_and_nothing_is_lost(answers, capsys, tmp_path):
    """A flange of 3.5 mm can't be: that question again, all other answers stand; a spoke that isn't there at once."""
    questions = answers("ticket 12", "100", "35", "47", "35", "47", "32", "611", "", "", "3", "9", "1,8", "", "1250",
                        "right", "2,4", "hub", "", "", "33=900", "1=900", "3")
    path = tmp_path / "job.toml"
    asked.ask_job(str(path))
    job = read_job(path)
    assert (job.wheel.n, job.wheel.spokes.right.cross) == (32, 3)
    assert job.wheel.spokes.left.segments[0][0] == pytest.approx(1.8e-3)
    assert job.last.gauge.low == pytest.approx(2.4e-3)
    assert dict(job.last.tension) == {1: 900.0}
    told = capsys.readouterr().err
    assert "spoke 33; expected 1 to 32" in told
    assert "spokes.right.cross: 9" in told
    assert "Not answered, so invented ones of the blank job stand there: " in told
    assert any("(Enter: box alloy, invented)" in one for one in questions)


@pytest.mark.parametrize(("text", "says"), [("3x", "expected a whole number"), ("3.0", "expected a whole number")])
def test_a_count_is_a_whole_number(text, says):
    with pytest.raises(ValueError, match=says):
        whole(text)
    assert whole(" 32 ") == 32


@pytest.mark.parametrize(("text", "value"), [("130,5", 130.5), ("130.5", 130.5), ("1e2", 100.0)])
def test_decimals_after_a_point_or_a_comma(text, value):
    assert number(text) == value
    for wrong in ("130,5,1", "nan", "inf", "x"):
        with pytest.raises(ValueError, match="expected a number"):
            number(wrong)


def test_what_is_hardly_meant_is_asked_once_more(answers, capsys):
    """A hole circle of 19 mm, a usual tension of 105 that was meant in kilograms; and back to the question before."""
    questions = answers("", "100", "35", "19", "", "45", "36", "back", "34", "45", "32", *[""] * 6, "105", "n",
                        "105 kgf")
    found = asked.ask_wheel()
    assert found["hub.left.hole_circle_mm"] == 45
    assert found["hub.right.flange_mm"] == 34
    assert found["tension.right_N"] == pytest.approx(105 * 9.80665, abs=0.05)
    told = "\n".join(questions)
    assert "19 is unusual here, 25 to 130 is usual." in told
    assert "105 is unusual here, 400 to 1600 N (kgf behind it for kilograms) is usual." in told
    assert sum("right flange" in one for one in questions) == 2


def test_answers_that_make_no_wheel_write_nothing(answers, tmp_path):
    answers("", "100", "3.5", "y", "", "", "", "7", "y")
    path = tmp_path / "job.toml"
    with pytest.raises(FileError, match="holes"):
        write_blank(path, asked.ask_wheel())
    assert not path.exists()


def test_a_visit(answers, tmp_path):
    path = tmp_path / "job.toml"
    write_blank(path)
    keep_passes(path, [ToKeep({"left": -0.25}), ToKeep({"right": 0.25})])
    questions = answers("y", "right=1/8, 7=1/8", "left", "what", "0.3", "feet")
    add_visit(path, asked.ask_visit(read_job(path)))
    job = read_job(path)
    made = [one for one in job.passes if one.turns is not None]
    assert [one.number for one in made] == [1, 2]  # the second was made, by other turns than planned
    assert (dict(made[1].turns)[7], dict(made[1].turns)[9]) == (0.25, 0.125)
    assert dict(made[1].planned)[9] == 0.25
    assert (job.last.gauge.set_on, job.last.gauge.gap_at, job.last.after_pass) == ("left", "feet", 2)
    assert sum("gap on the other face" in one for one in questions) == 2


def test_nothing_said_is_nothing_to_write(answers, tmp_path):
    path = tmp_path / "job.toml"
    write_blank(path)
    answers()
    visit = asked.ask_visit(read_job(path))
    assert (visit.done, visit.turned, visit.reading) == ((), {}, {})


def test_a_name_that_is_taken_is_refused_before_anything_is_asked(answers, tmp_path):
    path = tmp_path / "job.toml"
    write_blank(path)
    questions = answers("ticket 12")
    with pytest.raises(FileError, match="is there already"):
        asked.ask_job(str(path))
    assert not questions
