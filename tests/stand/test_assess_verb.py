"""What the verb ``assess`` says and returns."""

import json
import re
import shutil

import pytest

from tests.stand.test_assess import NAMES
from wheelsim.files import read_job
from wheelsim.files.reader import SAMPLE, sample_path
from wheelsim.measures.quantities import Quantity
from wheelsim.report.words.stand import EYE_CHECKS
from wheelsim.stand.assess import assess


@pytest.mark.parametrize("name", ["front.toml", SAMPLE, "blank.toml", "broken.toml"])
def test_json(run, tmp_path, name):
    """Strict JSON with the keys programs rely on, the state told as ``predict`` tells it; a broken spoke is no trap."""
    text = sample_path("front.toml").read_text(encoding="utf-8")
    (tmp_path / "broken.toml").write_text(text.replace("[spokes]", "[spokes]\nmissing = [7]"), encoding="utf-8")
    path = str(tmp_path / name if name == "broken.toml" else sample_path(name))
    code, out, _ = run("assess", path, "--json")
    found = json.loads(out, parse_constant=pytest.fail)
    assert set(found) >= {"format", "wheel", "verdict", "checks", "state", "assumed", "advice"}
    assert found["format"] == 1
    assert code == (found["verdict"] == "outside") == (name in (SAMPLE, "broken.toml"))
    for check in found["checks"]:
        assert set(check) >= {"name", "spoke", "value", "limit", "margin", "sd", "status"}
        assert check["status"] in ("within", "outside", "unknown")
    assert found["state"] == json.loads(run("predict", path, "--json")[1])["before"]
    assert found == assess(read_job(path)).as_dict()


@pytest.mark.parametrize(("name", "code", "verdict"), [
    ("front.toml", 0, "Within its limits."), (SAMPLE, 1, "Outside its limits."), ("blank.toml", 0, "Can't tell"),
])
def test_eye_and_hand_come_before_any_number(run, name, code, verdict):
    got, out, err = run("assess", str(sample_path(name)))
    assert (got, err) == (code, "")
    head, _, table = out.partition(verdict)
    assert table
    _, *checks = head.splitlines()
    assert [line.strip() for line in checks if line.startswith("  ")] == list(EYE_CHECKS)
    assert not any(character.isdigit() for line in checks for character in line)
    assert "crack means stop" in checks[2]
    assert all(name in table for name in NAMES)
    assert "a quarter turn of a side" in table


def test_what_can_not_be_told_says_so(run):
    out = run("assess", str(sample_path("blank.toml")))[1]
    assert len(re.findall(r" - +can't tell +not read", out)) == 8
    assert "Advice: next, read the gauge" in out
    assert "Taken, not read: no gauge reading" in out
    assert "no tension read" in out
    assert re.search(r"highest tension .* within +\d\d", run("assess", str(sample_path(SAMPLE)))[1])


def test_no_stable_wheel_is_answered_in_json_too(run, tmp_path):
    """A wheel told to stand past its buckling tension: outside, no state, and why; strict JSON."""
    text = sample_path("front.toml").read_text(encoding="utf-8")
    assert "right_N = 1000.0" in text
    (tmp_path / "wheel.toml").write_text(text.replace("right_N = 1000.0", "right_N = 9000.0"), encoding="utf-8")
    code, out, _ = run("assess", str(tmp_path / "wheel.toml"), "--json")
    found = json.loads(out, parse_constant=pytest.fail)
    assert (code, found["verdict"], found["state"], found["checks"]) == (1, "outside", None, [])
    assert "no stable answer" in found["advice"][0]


def test_a_few_places_of_the_dial_are_not_nothing(run, tmp_path):
    """The table of visits says that not enough was read, where it has a dash for what wasn't read at all."""
    job = tmp_path / "job.toml"
    shutil.copy(sample_path("dished-rear-wheel.toml"), tmp_path)
    job.write_text(sample_path("dished-rear.toml").read_text() + """
[[pass]]
number = 1
turns = { 7 = "1/4" }
[[reading]]
label = "after"
gauge = { set_on = "right", gap_mm = 3.0, gap_at = "hub" }
lateral_mm = { 7 = 0.3, 8 = 0.2, 9 = 0.1 }
""", encoding="utf-8")
    _, out, _ = run("assess", str(job))
    row = next(line for line in out.splitlines() if line.startswith("after "))
    assert row.count("not enough read") == 1
    found = assess(read_job(job))
    assert [one.few for one in found.readings] == [frozenset(), frozenset({Quantity.TRUE})]
    assert found.readings[1].as_dict()["lateral_runout_mm"] is None
