"""The blank job: written once, read without fault, assessed, and clear on how each line is measured."""

from itertools import pairwise

import pytest

from wheelsim.files import FileError, examine
from wheelsim.files.blank import write_blank
from wheelsim.files.reader import sample_path
from wheelsim.readings.gauge import GAP_AT


@pytest.fixture
def blank(tmp_path):
    path = tmp_path / "ticket 12.toml"
    write_blank(path)
    return path


def uncommented(text, key):
    """The text with the commented line that begins with this key made real."""
    lines = text.splitlines()
    places = [i for i, line in enumerate(lines) if line.startswith(f"# {key} = ")]
    assert len(places) == 1, key
    lines[places[0]] = lines[places[0]].removeprefix("# ")
    return "\n".join(lines) + "\n"


def test_new_writes_a_job_that_is_read_and_assessed(run, tmp_path):
    path = str(tmp_path / "new.toml")
    code, out, err = run("assess", "--new", path)
    assert (code, out) == (0, "")
    assert f"wheelsim assess {path}" in err
    job, warnings = examine(path)
    assert warnings == ()
    assert (len(job.readings), job.last.tyre, job.last.gauge) == (1, "off", None)
    code, out, err = run("assess", path)
    assert (code, err) == (0, "")
    assert "Can't tell" in out, "nothing is filled in"
    for verb in ("predict", "plan"):
        assert run(verb, path)[::2] == (0, "")


def test_what_is_written_is_the_shipped_blank(blank):
    assert blank.read_bytes() == sample_path("blank.toml").read_bytes()


def test_a_file_that_is_there_is_left_alone(run, blank):
    blank.write_text("mine", encoding="utf-8")
    code, out, err = run("assess", "--new", str(blank))
    assert (code, out) == (2, "")
    assert err == f"{blank}: is there already; expected a new name; nothing was written\n"
    assert blank.read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize("where", ["no/such/folder/new.toml", ".", "a\0b.toml", "x" * 300 + ".toml"])
def test_a_place_that_can_not_be_written(run, tmp_path, where):
    path = f"{tmp_path}/{where}"
    code, out, err = run("assess", "--new", path)
    assert (code, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert "expected a" in err
    assert list(tmp_path.iterdir()) == []


def test_new_wants_a_name(run):
    code, out, err = run("assess", "--new")
    assert (code, out) == (2, "")
    assert "--new" in err


@pytest.mark.parametrize("words", [
    "between the faces that touch frame or fork",  # contact width
    "face_to_flange_mm from the contact face", "hole to hole straight across",  # flange, hole circle
    "two spokes pushed through opposite holes and measured",  # seats
    "wheelsim kinds tells them apart", "flange of the first spoke clockwise from the valve",
    "how many of its own flange's spokes each spoke crosses",
    "set it on one face with the feet on the rim, flip the wheel, read on the other face",  # gauge
    "Gap at the hub", "The feet lift", "one rests", "gap_threads = 3", "passes_mm = 1.2, stops_mm = 1.6",
    "Same place of the rim both times",
    "Dial from the side, plus to the right, any zero", "Dial from below, plus outward",  # dial
    "lateral_high", "lateral_low", "tension_kgf", "meter_chart", "tone_Hz",  # ways and units
    "100 kgf is 981 N", "the lower of the rim maker's and the spoke maker's",  # tension
    "highest less lowest over one turn", "largest departure from a side's mean",  # limits
    "clockwise from the valve as seen from", "for a frame built off-centre",
])
def test_comments_say_how_each_line_is_measured(words):
    lines = sample_path("blank.toml").read_text(encoding="utf-8").splitlines()
    comments = " ".join(line.partition("#")[2].strip() for line in lines)
    assert words in comments


def test_every_line_of_the_blank_says_something():
    """No key without a word to a newcomer, but names and choices that speak for themselves."""
    plain = ("format", "name", "left", "right", "holes", "diameter_mm", "label", "gauge", "step_turns")
    lines = sample_path("blank.toml").read_text(encoding="utf-8").splitlines()
    for above, line in pairwise(lines):
        key = line.partition(" = ")[0]
        if " = " in line and not line.startswith("#") and not key.startswith(plain):
            assert "#" in line or above.startswith("#") or key in ("max_tension_N", "min_tension_N"), line


@pytest.mark.parametrize(("key", "table"), [
    ("seat_offset_mm", "rim"), ("lateral_mm", "reading"), ("radial_mm", "reading"), ("tension_N", "reading"),
    ("stuck", "work"), ("leave", "work"), ("target_dish_mm", "work"), ("direction", "work"), ("missing", "spokes"),
])
def test_lines_behind_a_mark_are_good_once_the_mark_is_gone(blank, key, table):
    text = uncommented(blank.read_text(encoding="utf-8"), key)
    blank.write_text(text, encoding="utf-8")
    job, warnings = examine(blank)
    assert warnings == ()
    part = {"rim": job.wheel.rim, "spokes": job.wheel.spokes, "reading": job.last, "work": job.work}[table]
    field = key.removesuffix("_mm").removesuffix("_N")
    if key not in ("seat_offset_mm", "target_dish_mm"):  # which stand at their default
        assert getattr(part, field)
        assert getattr(part, field) != "both"


@pytest.mark.parametrize("gap_at", GAP_AT)
def test_ways_of_the_gauge_named_in_the_comments_are_read(blank, gap_at):
    text = blank.read_text(encoding="utf-8")
    assert f'"{gap_at}"' in text
    text = uncommented(text, "gauge")
    line = 'gauge = { set_on = "right", gap_mm = 0.0, gap_at = "hub" }'
    assert text.count(line) == 1
    blank.write_text(text.replace(line, line.replace('"hub"', f'"{gap_at}"')), encoding="utf-8")
    assert examine(blank)[0].last.gauge.gap_at == gap_at


def test_write_blank_says_what_is_wrong(blank):
    with pytest.raises(FileError, match="is there already"):
        write_blank(blank)


def test_its_comments_can_be_made_real_with_answers_above_them(tmp_path):
    """What was answered stands in the first reading; the errors, and a second reading, are tables of their own."""
    path = tmp_path / "job.toml"
    gauge = {"set_on": "right", "gap_mm": 1.2, "gap_at": "hub"}
    write_blank(path, {"reading": {"gauge": gauge, "lateral_mm": {"7": 0.6}}})
    text = path.read_text(encoding="utf-8")
    for line in ("[errors]", "meter_percent = 5.0", "[[reading]]", 'label = "after pass 1"'):
        assert text.count(f"# {line}") == 1, line
        text = text.replace(f"# {line}", line)
    job, _ = examine(path, text=text)
    assert job.errors is not None
    assert job.readings[0].gauge is not None
    assert [bool(one.lateral) for one in job.readings] == [True, False]
