"""Spoilt files, 1200 by the reader and a hundred by the command line: refused in words, or read."""

import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.files.small import BESIDE, CHART, JOB, SETTINGS, SIZED, WHEEL, run
from wheelsim.files import FileError, examine

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
