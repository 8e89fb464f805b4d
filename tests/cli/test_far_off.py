"""What is typed far off is told at once: turns larger than a hand gives, readings far from what was expected."""

import json
import shutil

import pytest

from wheelsim.cli.app import run
from wheelsim.estimation.known import Known
from wheelsim.files.log import ToKeep, keep_passes
from wheelsim.files.reader import read_job, sample_path

KEYS = {"name", "pass", "spoke", "read", "expected", "unit", "deviations", "slip", "said"}


@pytest.fixture
def job(tmp_path):
    for name in ("dished-rear.toml", "dished-rear-wheel.toml"):
        shutil.copy(sample_path(name), tmp_path / name)
    return tmp_path / "dished-rear.toml"


def test_three_turns_for_three_quarters(job, capsys):
    """At once, in one line with how to take it back; again when the job is read, until something is read after it."""
    before = job.read_bytes()
    assert run(["log", str(job), "--turned", "left=-3"]) == 0
    said = capsys.readouterr().err.splitlines()
    assert said == [f"Pass 1: every left spoke -3 turns, more than is turned in one pass. Was it -3/4? Kept as typed; "
                    f"wheelsim log {job} --take-back takes it off."]
    run(["assess", str(job)])
    assert f"warning: {job}: pass 1: every left spoke -3 turns" in capsys.readouterr().err
    assert run(["log", str(job), "--take-back"]) == 0
    assert job.read_bytes() == before


@pytest.mark.parametrize("turned", ["left=-1/4", "7=1 1/2", "left=-3/4"])
def test_what_a_hand_turns_is_not_told(job, turned, capsys):
    assert run(["log", str(job), "--turned", turned]) == 0
    run(["assess", str(job)])
    assert capsys.readouterr().err == ""


def test_far_beyond_what_was_planned(job, capsys):
    keep_passes(job, [ToKeep({"left": -0.25})])
    assert run(["log", str(job), "--turned", "left=-3/4", "--json"]) == 0
    one, = json.loads(capsys.readouterr().out)["unexpected"]
    assert set(one) >= KEYS
    assert (one["name"], one["pass"], one["side"], one["read"], one["expected"]) == ("turns", 2, "left", -0.75, -0.25)
    assert "far more than the -1/4 planned" in one["said"]


def test_a_gauge_with_the_point_missing_leaves_an_answer(job, capsys):
    """22 mm typed for 2.2: no wheel has that, so the estimate is made without it, and nothing is turned before."""
    assert run(["log", str(job), "--turned", "right=1/4", "--gauge", "left 22 hub"]) == 0
    capsys.readouterr()
    assert run(["assess", str(job)]) == 1
    said = capsys.readouterr()
    assert said.err == ""
    assert "Suspect: the gauge shows 22.00 mm" in said.out
    assert run(["plan", str(job), "--json"]) == 0
    planned = json.loads(capsys.readouterr().out)
    assert (planned["verdict"]["action"], planned["passes"]) == ("read", [])


def test_a_pass_that_the_gauge_contradicts(job, capsys):
    """The pass is named, not the gauge; for programs as a record with its sentence."""
    assert run(["log", str(job), "--turned", "left=-3", "--gauge", "right 0.2 feet", "--json"]) == 0
    said = capsys.readouterr()
    one, = json.loads(said.out)["unexpected"]
    assert set(one) >= KEYS
    assert (one["name"], one["pass"], one["read"], one["expected"], one["unit"], one["slip"]) == \
        ("pass", 1, -3.0, -0.75, "turn", "quarters")
    assert "log JOB" not in said.err
    assert f"wheelsim log {job} --take-back" in said.err
    run(["assess", str(job)])
    told = capsys.readouterr()
    assert "Suspect: pass 1 is logged as 3 looser on the left" in told.out
    assert "3 for 3/4?" in told.out
    assert told.err == ""


def test_a_gauge_far_off_as_a_record(job, capsys):
    assert run(["log", str(job), "--gauge", "left 2.9 hub", "--json"]) == 0
    one, = json.loads(capsys.readouterr().out)["unexpected"]
    assert set(one) == KEYS
    assert (one["name"], one["spoke"], one["read"], one["unit"], one["slip"]) == \
        ("gauge", None, 2.9, "mm", "the other way")
    low, high = one["expected"]
    assert low < -3.0 < high < 0
    assert one["deviations"] > 4
    assert "set on the other face" in one["said"]


def test_a_dial_in_hundredths_as_a_record(job, capsys):
    job.write_text('format = 1\nwheel = "dished-rear-wheel.toml"\n')
    assert run(["log", str(job), "--true", "1=30,8=-40,16=20", "--gauge", "right 30 hub", "--json"]) == 0
    said = capsys.readouterr()
    dial, = (one for one in json.loads(said.out)["unexpected"] if one["name"] == "lateral")
    assert set(dial) == KEYS
    assert (dial["read"], dial["unit"], dial["slip"]) == (70.0, "mm", "tenfold")
    assert said.err.count("--take-back") == 1


def test_a_gauge_with_its_point_missing_is_told_so_each_time(job, capsys):
    """9 mm for 0.9, a gap that wheels do have: the log and the assessment ask for the point alike."""
    assert run(["log", str(job), "--turned", "left=-1/4", "--turned", "right=1/4", "--gauge", "right 9 mm hub"]) == 0
    assert "point" in capsys.readouterr().err
    run(["assess", str(job)])
    assert "with its point" in capsys.readouterr().out


def test_a_gauge_against_the_one_before_it(job, capsys):
    """9 mm right where 3 mm left was read, nothing logged between: read again before all else that was read is lost."""
    assert run(["log", str(job), "--gauge", "left 9 hub", "--tension", "1=1130,3=1170"]) == 0
    capsys.readouterr()
    run(["assess", str(job)])
    assert "Suspect: the gauge shows 9.00 mm (rim right), before it showed 3.00 mm (rim left)" in \
        capsys.readouterr().out
    assert run(["plan", str(job), "--json"]) == 0
    planned = json.loads(capsys.readouterr().out)
    assert (planned["verdict"]["action"], planned["passes"]) == ("read", [])
    before = job.read_bytes()
    # As at first: what contradicted it is gone, with all that was read in it.
    assert run(["log", str(job), "--gauge", "right 3 hub"]) == 0
    told = Known(read_job(job))
    assert told.doubts == ()
    assert len(told.log[-1].reading.lateral) == len(told.log[-1].reading.tension) == 32
    # The same again: the wheel is another one, and what was read before is gone.
    job.write_bytes(before)
    assert run(["log", str(job), "--gauge", "left 9 hub"]) == 0
    told = Known(read_job(job))
    assert told.contradicted is None
    assert told.log[-1].reading.lateral == ()


def test_a_lone_place_of_a_dial(job, capsys):
    """Its zero is that of the places before it; said so, for a dial that was moved shows another."""
    assert run(["log", str(job), "--true", "8=0.1"]) == 0
    said = capsys.readouterr()
    assert "if the dial was moved since" in said.out
    assert said.err == ""
    assert run(["log", str(job), "--true", "8=5"]) == 0
    assert "at spoke 8 5.00 mm read" in capsys.readouterr().err
    assert run(["log", str(job), "--true", "8=0.1,20=0.2"]) == 0
    assert "if the dial was moved since" not in capsys.readouterr().out
    assert run(["log", str(job), "--turned", "right=1/4", "--true", "8=0.1"]) == 0
    assert "tells nothing" in capsys.readouterr().out


@pytest.mark.parametrize("words", ["right 0.9 mm hub", "right 0.9mm hub", "right 0.9 at hub", " right  0,9  one foot "])
def test_a_gauge_as_it_is_said(job, words):
    assert run(["log", str(job), "--gauge", words]) == 0
    gauge = read_job(job).last.gauge
    assert (gauge.set_on, gauge.low) == ("right", pytest.approx(0.9e-3))


@pytest.mark.parametrize("words", ["right mm hub", "right 0.9 mm", "0.9 mm hub", "right 0.9 hub too", "right nan hub"])
def test_a_gauge_that_says_nothing(job, words, capsys):
    before = job.read_bytes()
    assert run(["log", str(job), "--gauge", words]) == 2
    assert "expected the face it was set on" in capsys.readouterr().err
    assert job.read_bytes() == before


def test_at_the_terminal_it_is_asked_about(job, capsys, monkeypatch):
    given = iter(["left=-3", "n", "left=-3/4", "", "", "", ""])
    asked = []
    monkeypatch.setattr("typer.prompt", lambda question, **_: (asked.append(question), next(given))[1])
    monkeypatch.setattr("sys.stdin", type("Terminal", (), {"isatty": lambda _: True})())
    assert run(["log", str(job)]) == 0
    assert next(given, None) is None
    assert sum("Was it -3/4?" in one for one in asked) == 1
    assert {turns for one in read_job(job).passes for _, turns in one.turns} == {-0.75}
    assert capsys.readouterr().err == ""
