"""Two thousand spoilt files, most by the reader, a hundred by the command line: refused in words, or read."""

import contextlib
import io
import json
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import wheelsim.cli.app
from wheelsim.files import FileError, examine

# Small wheels, for speed; every table and every way to read is in one of the files.
WHEEL = """\
name = "invented"
[hub]
contact_width_mm = 100.0
left = { flange_mm = 32.5, hole_circle_mm = 47.0 }
right = { face_to_flange_mm = 25.0, hole_circle_mm = 47 }
[rim]
holes = 8
nipple_seat_diameter_mm = 300.0
section_radius_mm = 152.0
seat_offset_mm = 0.5
drilling_offset_mm = -0.5
kind = "box alloy"
[rim.joint]
at_deg = 180
arc_deg = 5
stiffness = 1.5
[spokes]
first = "right"
left = { cross = 0, diameter_mm = 1.8 }
right = { cross = 0, spoke_line_mm = [1.5, -1.5] }
segments_mm = [[2.0, 10], [1.8, 108], [2.0, 14]]
modulus_GPa = 193.0
threads_per_inch = 56
[tension]
right_N = 600.0
[limits]
max_tension_N = 1100.0
min_tension_N = 250.0
gap_mm = 0.8
lateral_runout_mm = 0.6
radial_runout_mm = 0.7
side_spread_percent = 15
[aims]
gap_mm = 0.3
[load]
radial_N = 300
lateral_N = 100
[tyre]
pressure_bar = 6
width_mm = 28
"""
READING = """\
[[reading]]
label = "as received"
gauge = { set_on = "right", gap_mm = 1.0, gap_at = "hub" }
lateral_mm = { 7 = 0.3, 2 = -0.1, 5 = 0.0 }
tension_kgf = { 2 = 60, 1 = 62 }
[[reading]]
tone_Hz = { 2 = 640, 1 = 650 }
[[reading]]
meter = { 2 = 20, 1 = 21.5 }
meter_chart = "chart.csv"
[[reading]]
gauge = { set_on = "left", passes_mm = 0.6, stops_mm = 0.9, gap_at = "feet" }
lateral_mm = [0.1, 0.0, -0.1, 0.0, 0.1, 0.0, -0.1, 0.0]
radial_high = { spoke = 3, mm = 0.2 }
radial_low = { spoke = 6, mm = -0.1 }
tension_N = { 1 = 610, 2 = 575, 3 = 590, 6 = 600 }
tyre = "inflated"
"""
WORK = """\
[work]
step_turns = "1/8"
stuck = [7]
leave = [3]
margin = 1.5
target_dish_mm = -0.5
max_turns_per_nipple = 2
time_s = 10
[[pass]]
number = 1
turns = { 5 = "-1/4", 2 = 0.5 }
planned = true
"""
JOB = "[wheel]\n" + WHEEL.replace("\n[", "\n[wheel.") + READING + WORK
BESIDE = 'wheel = "wheel.toml"\n' + READING + WORK
CHART = "reading,force_N\n10,300\n20,600\n30,1100\n"
SIZED = "diameter_mm,reading,force_N\n1.8,10,300\n1.8,20,600\n1.8,30,1100\n2.0,10,350\n2.0,30,1200\n"
ODD = ("-1", "0", "1e308", "-1e-308", "nan", "-inf", "9" * 40, "9" * 5000, "true", '"text"', '""', "[]", "{}", "[[]]",
       "=", "1979-05-27", "07:32:00", "12", "0.001", "50", "900", "1e5", "[1, 2]", "{ 1 = 2 }", '"1/4"', '"from load"')
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?!\w)")
TABLE = re.compile(r"(?m)^(?=\[)")


@st.composite
def spoilt(draw, text):
    """The text after one to four slips of the pen."""
    for _ in range(draw(st.sampled_from((1, 1, 1, 1, 3)))):
        lines = text.splitlines(keepends=True) or ["\n"]
        i, k = (draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        slip = draw(st.sampled_from(("other", "other", "other", "odd", "odd", "value", "delete", "double", "swap",
                                     "tables", "cut", "letters", "key")))
        places = list(NUMBER.finditer(text))
        if slip in ("other", "odd") and places:
            at = draw(st.sampled_from(places))
            factor = draw(st.sampled_from((0.0, 0.1, 0.5, 0.9, 1.1, 2.0, 10.0, -1.0)))
            new = f"{float(at[0]) * factor:g}" if slip == "other" else draw(st.sampled_from(ODD))
            text = text[: at.start()] + new + text[at.end():]
            continue
        if slip == "tables":
            text = "".join(draw(st.permutations(TABLE.split(text))))
            continue
        if slip == "value":
            lines[i] = f"{lines[i].partition(' = ')[0].strip()} = {draw(st.sampled_from(ODD))}\n"
        elif slip == "delete":
            del lines[i]
        elif slip == "double":
            lines.insert(k, lines[i])
        elif slip == "swap":
            lines[i], lines[k] = lines[k], lines[i]
        elif slip == "cut":
            lines = [*lines[:i], lines[i][: len(lines[i]) // 2]]
        elif slip == "letters":
            lines[i] = lines[i][: k] + draw(st.text(max_size=4)) + lines[i][k:]
        else:
            lines[i] = draw(st.sampled_from(("tension_N", "wheel", "hub", "a.b", '"7"', "missing"))) + " = " + (
                lines[i].partition(" = ")[2] or "1\n")
        text = "".join(lines)
    return text


def encoded(text, draw):
    """Bytes of the text; now and then with a few that mean nothing."""
    data = text.encode("utf-8", errors="surrogatepass")
    if draw(st.integers(0, 19)) == 0:
        at = draw(st.integers(0, len(data)))
        data = data[:at] + draw(st.binary(max_size=8)) + data[at:]
    return data


def run(*words):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = wheelsim.cli.app.run([str(word) for word in words])
    return code, out.getvalue(), err.getvalue()


def check(folder, name, verb):
    """What holds for any file at all."""
    code, out, err = run(*verb, folder / name)
    assert code in (0, 1, 2), err
    assert "Traceback" not in err
    if code == 2:
        assert out == ""
        assert err
        # A broken line of a file is shown, set in, with a mark under the place.
        for line in (line for line in err.splitlines() if not line.startswith("    ")):
            assert line.startswith(f"{folder}/")
            assert "; " in line
    elif "no stable answer" in err:
        assert (code, out) == (1, "")
    elif "--json" in verb:
        json.loads(out, parse_constant=pytest.fail)
    else:
        assert out
    if verb[0] == "predict" and code == 1:
        assert "no stable answer" in err
    return code


SOUND = {"job.toml": BESIDE, "wheel.toml": WHEEL, "chart.csv": CHART}


@pytest.fixture(scope="module")
def folders(tmp_path_factory):
    """For each file that may be spoilt a folder where the others are sound."""
    found = {}
    for spoils in SOUND:
        found[spoils] = tmp_path_factory.mktemp("fuzz")
        for name, text in SOUND.items():
            (found[spoils] / name).write_text(text, encoding="utf-8")
    return found


VERBS = st.sampled_from((("assess",), ("assess",), ("assess", "--json"), ("predict", "--json"),
                         ("predict", "--right", "1/4")))
SETTINGS = {"derandomize": True, "deadline": None, "database": None,
            "suppress_health_check": [HealthCheck.too_slow, HealthCheck.data_too_large]}


@pytest.mark.parametrize("text", [WHEEL, JOB, BESIDE], ids=["wheel", "job", "job beside its wheel"])
def test_sound_before_it_is_spoilt(folders, text):
    (folders["job.toml"] / "sound.toml").write_text(text, encoding="utf-8")
    for verb in (("assess",), ("assess", "--json"), ("predict", "--json")):
        assert check(folders["job.toml"], "sound.toml", verb) < 2


def write_spoilt(folders, data):
    """Write one of the files spoilt beside the others sound; its folder."""
    name, text = data.draw(st.sampled_from((("job.toml", WHEEL), ("job.toml", JOB), ("job.toml", WHEEL),
                                            ("job.toml", BESIDE), ("wheel.toml", WHEEL), ("chart.csv", CHART),
                                            ("chart.csv", SIZED))))
    (folders[name] / name).write_bytes(encoded(data.draw(spoilt(text)), data.draw))
    return folders[name]


@pytest.mark.filterwarnings("error")
@settings(max_examples=1200, **SETTINGS)
@given(data=st.data())
def test_spoilt_files_by_the_reader(folders, data):
    """A job, or a FileError of one line a fault: never another exception."""
    folder = write_spoilt(folders, data)
    try:
        job, warnings = examine(folder / "job.toml")
    except FileError as error:
        told = error.lines() or ["a refusal without a word"]
    else:
        assert job.wheel.n >= 8
        told = [str(warning) for warning in warnings]
    for line in told:
        assert line.startswith(f"{folder}/")
        assert "; " in line
        assert "\n" not in line


@pytest.mark.filterwarnings("error")
@settings(max_examples=100, **SETTINGS)
@given(data=st.data())
def test_spoilt_files_by_the_command_line(folders, data):
    check(write_spoilt(folders, data), "job.toml", data.draw(VERBS))


def numbers(size):
    """Numbers of any size a key may hold, small ones as likely as large."""
    return st.tuples(st.floats(1e-3, 1), st.sampled_from((1e-3, 0.01, 0.1, 0.3, 1.0)), st.sampled_from((-1, 1))).map(
        lambda parts: round(parts[0] * parts[1] * parts[2] * size, 4))


def listed(size, count):
    return st.lists(numbers(size), min_size=count, max_size=count)


@pytest.mark.filterwarnings("error")
@settings(max_examples=8, **SETTINGS)
@given(data=st.data())
def test_sound_files_of_wild_readings(folders, data):
    """Every number within its range, and all of them against each other."""
    lines = ["[[reading]]", f'tyre = "{data.draw(st.sampled_from(("off", "inflated")))}"']
    if data.draw(st.booleans()):
        lines.append(f'gauge = {{ set_on = "left", gap_mm = {abs(data.draw(numbers(50)))}, gap_at = "feet" }}')
    for key, size in (("lateral_mm", 10), ("radial_mm", 10)):
        if data.draw(st.booleans()):
            lines.append(f"{key} = {data.draw(listed(size, 8))}")
    if data.draw(st.booleans()):
        lines.append(f"tension_N = {[abs(force) for force in data.draw(listed(2500, 8))]}")
    wheel = WHEEL.replace("right_N = 600.0", f"right_N = {abs(data.draw(numbers(2000)))}")
    text = "\n".join(["[wheel]", wheel.replace("\n[", "\n[wheel."), *lines])
    (folders["job.toml"] / "wild.toml").write_text(text, encoding="utf-8")
    assert check(folders["job.toml"], "wild.toml", data.draw(VERBS)) < 2


# Text of JOB, what to write instead, and the key under which that must be told.
OUT_OF_RANGE = (
    ("contact_width_mm = 100.0", "contact_width_mm = 410", "wheel.hub.contact_width_mm"),
    ("flange_mm = 32.5", "flange_mm = -32.5", "wheel.hub.left.flange_mm"),
    ("seat_offset_mm = 0.5", "seat_offset_mm = 21", "wheel.rim.seat_offset_mm"),
    ("drilling_offset_mm = -0.5", "drilling_offset_mm = -1e9", "wheel.rim.drilling_offset_mm"),
    ("arc_deg = 5", "arc_deg = 95", "wheel.rim.joint.arc_deg"),
    ("stiffness = 1.5", "stiffness = 0", "wheel.rim.joint.stiffness"),
    ("diameter_mm = 1.8", "diameter_mm = 18", "wheel.spokes.left.diameter_mm"),
    ("[1.5, -1.5]", "[1.5, -150]", "wheel.spokes.right.spoke_line_mm"),
    ("[1.8, 108]", "[0.18, 108]", "wheel.spokes.segments_mm[2]"),
    ("modulus_GPa = 193.0", "modulus_GPa = 1e5", "wheel.spokes.modulus_GPa"),
    ("threads_per_inch = 56", "threads_per_inch = 5600", "wheel.spokes.threads_per_inch"),
    ("right_N = 600.0", "right_N = -600.0", "wheel.tension.right_N"),
    ("gap_mm = 0.8", "gap_mm = -0.8", "wheel.limits.gap_mm"),
    ("side_spread_percent = 15", "side_spread_percent = 150", "wheel.limits.side_spread_percent"),
    ("max_tension_N = 1100.0", "max_tension_N = 11000", "wheel.limits.max_tension_N"),
    ("gap_mm = 0.3", "gap_mm = 0.0", "wheel.aims.gap_mm"),
    ("radial_N = 300", "radial_N = 3e5", "wheel.load.radial_N"),
    ("pressure_bar = 6", "pressure_bar = 60", "wheel.tyre.pressure_bar"),
    ("gap_mm = 1.0", "gap_mm = 51", "reading[1].gauge.gap_mm"),
    ("7 = 0.3", "7 = 99", "reading[1].lateral_mm.7"),
    ("1 = 62 }", "1 = -62 }", "reading[1].tension_kgf.1"),
    ("1 = 650", "1 = -650", "reading[2].tone_Hz.1"),
    ("passes_mm = 0.6", "passes_mm = -0.6", "reading[4].gauge.passes_mm"),
    ("[0.1, 0.0, -0.1,", "[0.1, 0.0, -100,", "reading[4].lateral_mm[3]"),
    ("radial_high = { spoke = 3, mm = 0.2 }", "radial_high = { spoke = 3, mm = 200 }", "reading[4].radial_high.mm"),
    ("radial_low = { spoke = 6, mm = -0.1 }", "radial_low = { spoke = 6, mm = -51 }", "reading[4].radial_low.mm"),
    ("6 = 600", "6 = 10600", "reading[4].tension_N.6"),
    ('"1/8"', '"1/3"', "work.step_turns"),
    ("margin = 1.5", "margin = 15", "work.margin"),
    ("target_dish_mm = -0.5", "target_dish_mm = -500", "work.target_dish_mm"),
    ("max_turns_per_nipple = 2", "max_turns_per_nipple = 21", "work.max_turns_per_nipple"),
    ("time_s = 10", "time_s = 0", "work.time_s"),
)


def named(folder, faults):
    """Keys of the lines on stderr of JOB with these numbers out of range."""
    text = JOB
    for old, new, _ in faults:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    (folder / "bad.toml").write_text(text, encoding="utf-8")
    code, out, err = run("assess", folder / "bad.toml")
    assert (code, out) == (2, "")
    return [line.removeprefix(f"{folder}/bad.toml: ").partition(": ")[0] for line in err.splitlines()]


@pytest.mark.parametrize("fault", OUT_OF_RANGE, ids=[key for _, _, key in OUT_OF_RANGE])
def test_one_number_out_of_range_is_named(folders, fault):
    assert named(folders["job.toml"], [fault]) == [fault[2]]


def test_all_numbers_out_of_range_are_named_at_once(folders):
    assert sorted(named(folders["job.toml"], OUT_OF_RANGE)) == sorted(key for _, _, key in OUT_OF_RANGE)


@settings(max_examples=60, **SETTINGS)
@given(faults=st.sets(st.sampled_from(OUT_OF_RANGE), min_size=2, max_size=8))
def test_several_numbers_out_of_range_are_all_named(folders, faults):
    """In whatever tables they stand, and nothing else with them."""
    assert sorted(named(folders["job.toml"], faults)) == sorted(key for _, _, key in faults)


# What the schema itself refuses, in the same words as above, or leaves missing.
REFUSED = (
    ("contact_width_mm = 100.0", 'contact_width_mm = "100"', "wheel.hub.contact_width_mm"),
    ("{ flange_mm = 32.5, ", "{ ", "wheel.hub.left.flange_mm"),
    ("hole_circle_mm = 47.0", "hole_circle_mm = true", "wheel.hub.left.hole_circle_mm"),
    ("holes = 8", 'holes = "8"', "wheel.rim.holes"),
    ("nipple_seat_diameter_mm = 300.0\n", "", "wheel.rim.nipple_seat_diameter_mm"),
    ("section_radius_mm = 152.0", "section_radius_mm = nan", "wheel.rim.section_radius_mm"),
    ('kind = "box alloy"', "kind = 3", "wheel.rim.kind"),
    ("at_deg = 180", "at_deg = []", "wheel.rim.joint.at_deg"),
    ('first = "right"', 'first = "rigth"', "wheel.spokes.first"),
    ("left = { cross = 0,", "left = { cross = 0.5,", "wheel.spokes.left.cross"),
    ("right = { cross = 0,", "right = {", "wheel.spokes.right.cross"),
    ("[1.5, -1.5]", "[1.5]", "wheel.spokes.right.spoke_line_mm"),
    ("[[2.0, 10], [1.8, 108], [2.0, 14]]", "[[2.0, 10], [1.8], [2.0, 14]]", "wheel.spokes.segments_mm[2]"),
    ("threads_per_inch = 56", "threads_per_inch = -56", "wheel.spokes.threads_per_inch"),
    ("right_N = 600.0", 'right_N = "600"', "wheel.tension.right_N"),
    ("max_tension_N = 1100.0", "max_tension_N = inf", "wheel.limits.max_tension_N"),
    ("gap_mm = 0.3", 'gap_mm = "0.3"', "wheel.aims.gap_mm"),
    ("lateral_N = 100", 'lateral_N = "100"', "wheel.load.lateral_N"),
    ("width_mm = 28", 'width_mm = "28"', "wheel.tyre.width_mm"),
    ('label = "as received"', "label = 3", "reading[1].label"),
    ('set_on = "right", ', "", "reading[1].gauge.set_on"),
    ("gap_mm = 1.0", 'gap_mm = "1"', "reading[1].gauge.gap_mm"),
    ("2 = -0.1,", "2 = true,", "reading[1].lateral_mm.2"),
    ("2 = 60,", "b = 60,", "reading[1].tension_kgf.b"),
    ("2 = 640", "2 = -640", "reading[2].tone_Hz.2"),
    ('meter_chart = "chart.csv"\n', "", "reading[3].meter_chart"),
    ("stops_mm = 0.9, ", "", "reading[4].gauge.stops_mm"),
    ("0.0, -0.1, 0.0, 0.1, 0.0, -0.1, 0.0]", '"0", -0.1, 0.0, 0.1, 0.0, -0.1, 0.0]', "reading[4].lateral_mm[2]"),
    ("{ spoke = 3, mm = 0.2 }", "{ spoke = 3.0, mm = 0.2 }", "reading[4].radial_high.spoke"),
    ("{ spoke = 6, mm = -0.1 }", "{ spoke = 6 }", "reading[4].radial_low.mm"),
    ('tyre = "inflated"', "tyre = true", "reading[4].tyre"),
    ('"1/8"', '"101"', "work.step_turns"),
    ("stuck = [7]", 'stuck = ["7"]', "work.stuck[1]"),
    ("leave = [3]", "leave = 3", "work.leave"),
    ("margin = 1.5", 'margin = "1.5"', "work.margin"),
    ("number = 1\n", "number = 0\n", "pass[1].number"),
)


@pytest.mark.parametrize("refused", REFUSED, ids=[key for _, _, key in REFUSED])
def test_what_the_schema_refuses_hides_nothing(folders, refused):
    """Neither alone nor beside every number out of range elsewhere, and nothing false is said of what hangs on it."""
    assert named(folders["job.toml"], [refused]) == [refused[2]]
    others = [fault for fault in OUT_OF_RANGE if fault[0] not in refused[0] and refused[0] not in fault[0]
              and JOB.count(fault[0]) == JOB.replace(*refused[:2]).count(fault[0])]
    assert len(others) >= len(OUT_OF_RANGE) - 2
    assert sorted(named(folders["job.toml"], [refused, *others])) == sorted(key for _, _, key in [refused, *others])


def test_no_tension_allowed_and_no_gap_aimed_at(folders):
    faults = [("max_tension_N = 1100.0", "max_tension_N = 0", "wheel.limits.max_tension_N"),
              ("gap_mm = 0.3", "gap_mm = 0.0", "wheel.aims.gap_mm")]
    assert {key for _, _, key in faults} <= set(named(folders["job.toml"], faults))
