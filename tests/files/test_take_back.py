"""What was logged last is taken back, and the file is as it was before, to the byte."""

import json
import shutil

import pytest

from wheelsim.cli.app import run
from wheelsim.files.errors import FileError
from wheelsim.files.log import ToKeep, ToLog, add_visit, keep_passes, take_back
from wheelsim.files.reader import read_job, sample_path

GAUGE = {"set_on": "right", "gap_mm": 1.2, "gap_at": "hub"}
READ = ToLog(reading={"label": "after", "gauge": GAUGE, "lateral_high": {"spoke": 7, "mm": 0.6},
                      "tension_kgf": {"1": 100.0, "3": 101.5}})


@pytest.fixture
def job(tmp_path):
    for name in ("dished-rear.toml", "dished-rear-wheel.toml"):
        shutil.copy(sample_path(name), tmp_path / name)
    path = tmp_path / "dished-rear.toml"
    path.write_bytes(path.read_bytes() + b"# the customer's own words\r\n".replace(b"\r", b""))
    return path


@pytest.fixture(params=[b"\n", b"\r\n"], ids=["unix", "dos"])
def any_job(job, request):
    job.write_bytes(job.read_bytes().replace(b"\n", request.param))
    return job


def test_one_thing_after_another_in_turn(any_job):
    """A reading, a pass turned otherwise and a planned one made: each is taken back by itself, the last first."""
    states = []
    visits = [ToLog(done=(1,)), READ, ToLog(turned={"7-9": 0.125, "left": -0.25}), READ]
    keep_passes(any_job, [ToKeep({"left": -0.25}, gauge_again=True), ToKeep({"right": 0.25})])
    for visit in visits:
        states.append(any_job.read_bytes())
        add_visit(any_job, visit)
    kinds = []
    for before in reversed(states):
        gone = take_back(any_job)
        assert any_job.read_bytes() == before
        kinds.append((gone.made is not None, gone.planned_again))
    assert kinds == [(False, False), (True, False), (False, False), (True, True)]
    assert [one.turns is None for one in read_job(any_job).passes] == [True, True]


@pytest.mark.parametrize("visit", [ToLog(done=(1,)), READ, ToLog(turned={"left": -0.25}, reading={"gauge": GAUGE}),
                                   ToLog(done=(1,), reading={"gauge": GAUGE}),
                                   ToLog(turned={"left": -0.5}, instead=1)])
@pytest.mark.parametrize("edit", [
    lambda text: text.rstrip(b"\n"), lambda text: text + b"\n\n\n", lambda text: b"\xef\xbb\xbf" + text,
    lambda text: text.replace(b"\n", b"\r\n", 9), lambda text: text.replace(b"\n", b"\r\n", 40).rstrip(),
    lambda text: text.replace(b"\n", b"\r\n").rstrip(b"\r\n"), lambda text: text + b"# last\r\n"],
    ids=["no end", "blank lines", "mark", "some dos", "mixed, no end", "dos, no end", "last dos"])
def test_to_the_byte_however_the_file_ends(job, edit, visit):
    keep_passes(job, [ToKeep({"left": -0.25})])
    before = edit(job.read_bytes())
    job.write_bytes(before)
    add_visit(job, visit)
    written = job.read_bytes()
    assert written != before
    for _ in range(bool(visit.reading) + bool(visit.done or visit.turned)):
        take_back(job)
    assert job.read_bytes() == before
    add_visit(job, visit)
    assert job.read_bytes() == written


def test_a_visit_logged_at_once_goes_in_two(job):
    before = job.read_bytes()
    add_visit(job, ToLog(turned={"left": -0.25}, reading={"gauge": GAUGE}))
    assert take_back(job).reading == {"gauge": GAUGE, "after_pass": 1}
    assert take_back(job).made == {"number": 1, "turns": {"left": "-1/4"}}
    assert job.read_bytes() == before


def test_passes_planned_since_stay_and_are_named(job, capsys):
    add_visit(job, READ)
    keep_passes(job, [ToKeep({"left": -0.25})])
    assert run(["log", str(job), "--take-back"]) == 0
    said = capsys.readouterr().out
    assert "Taken back: the reading 'after' (gauge, true, tension)." in said
    assert "Planned pass 1 may have come of it" in said
    assert [one.number for one in read_job(job).passes] == [1]
    assert len(read_job(job).readings) == 1


def test_what_was_typed_by_hand_stays(job):
    """The first reading of a job was not logged; nor is one that was edited since as it was."""
    before = job.read_bytes()
    with pytest.raises(FileError, match=r"reading\[1\]: typed into the file.*; expected what wheelsim log wrote"):
        take_back(job)
    assert job.read_bytes() == before
    add_visit(job, READ)
    edited = job.read_bytes().replace(b'label = "after"', b'label = "after"  # by lamplight')
    job.write_bytes(edited)
    with pytest.raises(FileError, match=r"reading\[2\].*edited since"):
        take_back(job)
    assert job.read_bytes() == edited


def test_comments_below_it_stay(job):
    add_visit(job, READ)
    job.write_bytes(job.read_bytes() + b"# read by lamplight\n")
    take_back(job)
    assert job.read_text().endswith("own words\n# read by lamplight\n")


def test_nothing_logged(tmp_path):
    shutil.copy(sample_path("dished-rear-wheel.toml"), tmp_path)
    path = tmp_path / "bare.toml"
    path.write_text('wheel = "dished-rear-wheel.toml"\n')
    with pytest.raises(FileError, match="--take-back: nothing was logged; expected a pass or a reading"):
        take_back(path)


def test_a_reading_far_from_what_was_expected_is_told_and_kept(job, capsys):
    """The gap came in as 3 mm toward the left; one of 2.9 mm typed as if it were read on the other face is kept."""
    assert run(["log", str(job), "--gauge", "left 2.9 hub"]) == 0
    said = capsys.readouterr()
    assert "Read and logged: gauge." in said.out
    lines = said.err.splitlines()
    assert len(lines) == 1
    assert "2.90 mm (rim right) read" in lines[0]
    assert "set on the other face, or feet for hub? Kept as read; wheelsim log" in lines[0]
    assert "--take-back takes it off." in lines[0]
    assert len(read_job(job).readings) == 2
    assert run(["log", str(job), "--take-back"]) == 0
    assert run(["log", str(job), "--gauge", "right 2.9 hub", "--json"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    assert json.loads(said.out[said.out.index("{"):])["unexpected"] == []


def test_at_a_terminal_it_is_asked_about(job, capsys, monkeypatch):
    given = iter(["", "left", "2.9", "hub", "", "", "", "n", "right", "2.9", "hub", "", "", ""])
    asked = []

    def prompt(question, **_):
        asked.append(question)
        return next(given)

    monkeypatch.setattr("typer.prompt", prompt)
    monkeypatch.setattr("sys.stdin", type("Terminal", (), {"isatty": lambda _: True})())
    assert run(["log", str(job)]) == 0
    assert next(given, None) is None
    assert sum("as the tools show" in one for one in asked) == 1
    said = capsys.readouterr()
    assert "set on the other face, or feet for hub?" in said.err
    assert "Kept as read" not in said.err
    assert [one.gauge.set_on for one in read_job(job).readings] == ["right", "right"]


def test_the_command(job, capsys):
    before = job.read_bytes()
    assert run(["log", str(job), "--turned", "7-9=1/8"]) == 0
    assert run(["log", str(job), "--take-back", "--gauge", "right 1.2 hub"]) == 2
    assert "--take-back: what was done or read stands beside it" in capsys.readouterr().err
    assert run(["log", str(job), "--take-back"]) == 0
    assert "Taken back: pass 1 as made (7-9 1/8)." in capsys.readouterr().out
    assert job.read_bytes() == before
    assert run(["log", str(job), "--gauge", "right 1.2 hub"]) == 0
    capsys.readouterr()
    assert run(["log", str(job), "--take-back", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["taken_back"] == {"pass": None, "reading": {"gauge": GAUGE, "after_pass": 0}}
    assert run(["log", str(job), "--take-back"]) == 2
    assert "typed into the file" in capsys.readouterr().err
    assert job.read_bytes() == before


def test_a_pass_typed_as_planned_and_made_at_once_goes(job):
    """``planned = true`` beside turns says that they were planned: without them there is nothing to plan again."""
    with job.open("a", encoding="utf-8") as file:
        file.write('\n[[pass]]\nnumber = 1\nplanned = true\nturns = {left = "-1/4"}\n')
    gone = take_back(job)
    assert not gone.planned_again
    assert read_job(job).passes == ()
