"""What is logged stands in the job file whole or not at all, and nothing that stood there before is disturbed."""

import io
import os
import random
import resource
import shutil
import signal
import sys
import time
import tomllib

import pytest

import wheelsim.cli.app
from wheelsim.cli.log_told import told
from wheelsim.files.errors import FileError
from wheelsim.files.log import ToKeep, ToLog, add_visit, keep_passes, turns_by_name
from wheelsim.files.reader import read_job, sample_path
from wheelsim.report.words.passes import GAUGE_AGAIN

GAUGE = {"set_on": "right", "gap_mm": 1.2, "gap_at": "hub"}


@pytest.fixture
def job(tmp_path):
    for name in ("dished-rear.toml", "dished-rear-wheel.toml"):
        shutil.copy(sample_path(name), tmp_path / name)
    return tmp_path / "dished-rear.toml"


def left_behind(job):
    return sorted(one.name for one in job.parent.iterdir()) != ["dished-rear-wheel.toml", "dished-rear.toml"]


def test_planned_then_done_then_read(job):
    before = job.read_text()
    keep_passes(job, [ToKeep({"left": -0.25}), ToKeep({"right": 0.25, "7": 0.125})])
    written = add_visit(job, ToLog(done=(1,), reading={"label": "after", "gauge": GAUGE}))
    assert job.read_text().startswith(before.rstrip("\n"))  # the comments, and every line where it stood
    one, two = written.job.passes
    assert {value for _, value in one.turns} == {-0.25}
    assert len(one.turns) == 16
    assert two.turns is None
    assert dict(two.planned)[7] == 0.375  # a side and a spoke of it add up
    assert written.passes == (1,)
    last = written.job.last
    assert (last.label, last.after_pass, last.gauge.low) == ("after", 1, pytest.approx(1.2e-3))


def test_line_ends_stay(job):
    job.write_bytes(job.read_bytes().replace(b"\n", b"\r\n"))
    add_visit(job, ToLog(turned={"7-9": 0.125}))
    data = job.read_bytes()
    assert data.count(b"\n") == data.count(b"\r\n")
    assert dict(read_job(job).passes[0].turns) == {7: 0.125, 8: 0.125, 9: 0.125}


@pytest.mark.parametrize("unnamed", [True, False])
def test_a_shared_file_stays_shared(job, unnamed, monkeypatch):
    """Leave to write for all of a shop, whatever the mask of who writes."""
    if not unnamed:
        monkeypatch.delattr(os, "O_TMPFILE", raising=False)
    os.chmod(job, 0o666)
    before = os.umask(0o077)
    try:
        add_visit(job, ToLog(turned={"right": 0.25}))
    finally:
        os.umask(before)
    assert job.stat().st_mode & 0o777 == 0o666


def test_kept_again_replaces_only_what_was_not_made(job):
    keep_passes(job, [ToKeep({"left": -0.25}), ToKeep({"left": -0.25}), ToKeep({"right": 0.25})])
    add_visit(job, ToLog(done=(1,), reading={"gauge": GAUGE}))
    keep_passes(job, [ToKeep({"right": 0.5})])
    passes = read_job(job).passes
    assert [(one.number, one.turns is None) for one in passes] == [(1, False), (2, True)]
    assert {value for _, value in passes[1].planned} == {0.5}


def test_the_gauge_again_is_kept_with_its_pass(job):
    keep_passes(job, [ToKeep({"7": -0.25, "8": 0.25}, gauge_again=True), ToKeep({"left": -0.25})])
    assert [one.gauge_again for one in read_job(job).passes] == [True, False]
    assert tomllib.loads(job.read_text())["pass"][1] == {"number": 2, "planned": {"left": "-1/4"}}
    written = add_visit(job, ToLog(done=(1,)))
    assert [one.gauge_again for one in read_job(job).passes] == [True, False]
    assert told(written) == ["Pass 1 logged: 2 nipples turned.", GAUGE_AGAIN]
    job.write_text(job.read_text().replace("gauge_again = true", 'gauge_again = "yes"'))
    with pytest.raises(FileError, match=r'gauge_again: "yes"; expected true or false'):
        read_job(job)


def test_a_reading_knows_the_pass_above_it(job):
    text = job.read_text() + "\n[[pass]]\nnumber = 4\nturns = { 7 = 0.25 }\n[[reading]]\nlabel = 'b'\n"
    job.write_text(text)
    assert [one.after_pass for one in read_job(job).readings] == [0, 4]


@pytest.mark.parametrize(("visit", "says"), [
    (ToLog(done=(9,)), "9; expected the number of a planned pass"),
    (ToLog(turned={"99": 0.25}), "expected spoke numbers from 1 to 32"),
    (ToLog(turned={"9-7": 0.25}), "expected the lower number of the run first"),
    (ToLog(reading={"gauge": {**GAUGE, "gap_mm": -3.0}}), "gap_mm"),
    (ToLog(reading={"tension_N": {"40": 900.0}}), "expected spoke numbers from 1 to 32"),
])
def test_what_can_not_be_is_not_written(job, visit, says):
    before = job.read_bytes()
    with pytest.raises(FileError, match=says):
        add_visit(job, visit)
    assert job.read_bytes() == before
    assert not left_behind(job)


def test_a_planned_pass_comes_after_those_before_it(job):
    keep_passes(job, [ToKeep({"left": -0.25}), ToKeep({"right": 0.25}), ToKeep({"left": 0.25})])
    before = job.read_bytes()
    with pytest.raises(FileError, match=r"--done: 2; expected 1 first, the planned pass that is next; .*--turned"):
        add_visit(job, ToLog(done=(2,)))
    assert job.read_bytes() == before
    assert add_visit(job, ToLog(done=(2, 1))).passes == (1, 2)
    with pytest.raises(FileError, match=r"there is none|not made yet"):
        add_visit(job, ToLog(done=(2,)))
    assert add_visit(job, ToLog(done=(3,))).passes == (3,)


@pytest.mark.parametrize("visits", [[ToLog(turned={"7": 0.25}, done=(2,))],
                                    [ToLog(turned={"7": 0.25}), ToLog(done=(2,))]], ids=["at once", "before"])
def test_a_pass_turned_otherwise_keeps_none_behind_it_back(job, visits):
    keep_passes(job, [ToKeep({"left": -0.25}), ToKeep({"right": 0.25})])
    for visit in visits:
        add_visit(job, visit)
    assert [(one.number, one.turns is None) for one in read_job(job).passes] == [(1, True), (2, False), (3, False)]


def test_a_wheel_is_no_job(job):
    with pytest.raises(FileError, match="expected a job, which has wheel"):
        add_visit(job.with_name("dished-rear-wheel.toml"), ToLog(turned={"7": 0.25}))


def test_inline_passes_are_refused_untouched(job):
    text = "pass = [{ number = 1, turns = { 7 = 0.25 } }]\n" + job.read_text()
    job.write_text(text)
    with pytest.raises(FileError):
        add_visit(job, ToLog(turned={"7": 0.25}))
    assert job.read_text() == text


def test_sides_turned_alike_are_named_as_such(job):
    wheel = read_job(job).wheel
    right = {i + 1: 0.25 for i in wheel.pulling("right")}
    assert turns_by_name(wheel, right) == {"right": 0.25}
    assert turns_by_name(wheel, right | {2: -0.125}) == {"right": 0.25, "2": -0.125}


def forked(work):
    """A child of this process that does the work and ends; its number."""
    child = os.fork()
    if child:
        return child
    code = 1
    try:
        work()
        code = 0
    finally:
        os._exit(code)


def test_killed_at_any_moment(job):
    """Two hundred writers killed by signal 9 within the time that one takes: what was logged before stays."""
    start = time.monotonic()
    add_visit(job, ToLog(reading={"label": "first", "gauge": GAUGE}))
    takes, rng, whole = time.monotonic() - start, random.Random(0), 2
    for _ in range(200):
        child = forked(lambda: add_visit(job, ToLog(reading={"label": "more", "gauge": GAUGE})))
        time.sleep(rng.uniform(0, 1.2 * takes))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        found = len(tomllib.loads(job.read_text())["reading"])  # as anything else than this program sees it
        assert found in (whole, whole + 1)
        whole = found
        assert len(read_job(job).readings) == whole
        assert not left_behind(job)


def test_eight_at_once_all_stand(job):
    children = [forked(lambda k=k: add_visit(job, ToLog(turned={str(k): 0.25}))) for k in range(1, 9)]
    assert [os.waitpid(child, 0)[1] for child in children] == [0] * 8
    passes = read_job(job).passes
    assert sorted(one.number for one in passes) == list(range(1, 9))
    assert {spoke for one in passes for spoke, _ in one.turns} == set(range(1, 9))


def test_no_room_on_the_disk(job):
    before = job.read_bytes()

    def full():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) + 10, len(before) + 10))
        with pytest.raises(FileError, match="cannot be written"):
            add_visit(job, ToLog(turned={"7": 0.25}))

    assert os.waitpid(forked(full), 0)[1] == 0
    assert job.read_bytes() == before
    assert not left_behind(job)


def test_the_command(job, capsys, monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.StringIO())

    def run(*words, code=0):
        found = wheelsim.cli.app.run(words)
        said = capsys.readouterr()
        assert found == code, said.err
        return said

    assert "log" in run("plan", str(job), "--time", "3", "--keep").err
    said = run("log", str(job), "--done", "1", "--gauge", "right 1.9 hub", "--true", "high 7=0.3, low 21=-0.1",
               "--tension", "1=100,3=101", "--kgf").out
    assert "Pass 1 logged: 16 nipples turned." in said
    last = read_job(job).last
    assert [(one.spoke, one.value, one.unit) for one in last.shown][1] == (3, 101.0, "kgf")
    assert last.extremes == {"lateral"}
    assert "expected what was turned or read" in run("log", str(job), code=2).err
    # Planned anew, not kept: numbered as it would stand in the job, and what still stands there is said.
    anew = run("plan", str(job), "--time", "3", code=0)
    assert "Pass 2. " in anew.out
    assert "Pass 1. " not in anew.out
    assert "holds these as planned passes 2, 3." in anew.err
    bad = run("log", str(job), "--gauge", "above 3", code=2)
    assert (bad.out, "--gauge" in bad.err) == ("", True)


def test_a_pass_logged_twice_is_thought_of(job):
    """The same turns again with nothing read between, and not as planned: said, and how it is taken off."""
    turned = ToLog(turned={"left": -0.25})
    assert "is the same as" not in "".join(told(add_visit(job, turned)))
    assert "Pass 2 is the same as pass 1, and nothing was read between" in "".join(told(add_visit(job, turned)))
    assert "--take-back, once for the reading and once more, takes it off" in "".join(told(add_visit(
        job, ToLog(turned={"left": -0.25}, reading={"gauge": {"set_on": "right", "gap_mm": 1.0, "gap_at": "hub"}}))))
    assert "is the same as" not in "".join(told(add_visit(job, turned)))  # read between
    keep_passes(job, [ToKeep({"left": -0.25})])
    assert "is the same as" not in "".join(told(add_visit(job, ToLog(done=(5,)))))  # as planned
