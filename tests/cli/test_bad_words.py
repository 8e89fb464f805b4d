"""What is typed or written wrong ends with 2, in one line a fault."""

import re

import pytest

from tests.cli.test_verbs import FRONT
from wheelsim.files.reader import sample_path

BAD_WORDS = [
    (("kinds", "--mass", "500"), "--radius: missing"),
    (("kinds", "--radius", "300", "--mass", "500", "--side-tones", "84", "--flat-tone", "97"), "--side-tones"),
    (("kinds", "--radius", "300", "--mass", "500", "--side-tones", "84,999", "--flat-tone", "97"), "8/3 to 4 times"),
    (("kinds", "--radius", "nan", "--mass", "500", "--side-tones", "84,283", "--flat-tone", "97"), "--radius"),
    (("moon",), "moon"),
    (("predict", "--rigth", "1/4"), "--rigth"),
    (("predict", "--right"), "--right"),
    (("predict", "--right", "a quarter"), "--right: 'a quarter'; expected turns like 1/4"),
    (("predict", "--left", "1/0"), "--left"),
    (("predict", "--right", "nan"), "--right"),
    (("predict", "--right", "1e999999999"), "--right"),
    (("predict", FRONT, "--spoke", "7"), "--spoke: '7'; expected"),
    (("predict", FRONT, "--spoke", "0=1/4"), "expected spoke numbers from 1 to 36"),
    (("predict", FRONT, "--spoke", "37=1/4"), "expected spoke numbers from 1 to 36"),
    (("predict", FRONT, "--spoke", "8-1=1/4"), "expected spoke numbers from 1 to 36"),
    (("predict", FRONT, "--spoke", "1-=1/4"), "--spoke"),
    (("predict", FRONT, "--spoke", "7=x"), "--spoke: 'x'; expected turns"),
    (("predict", FRONT, "extra"), "extra"),
    (("plan", "--fewest", "spokes"), "--fewest: 'spokes'; expected turns, nipples or passes"),
    (("plan", "--to", "moon"), "--to: 'moon'; expected aims or limits"),
    (("plan", "--step", "1/3"), "--step"),
    (("plan", "--step", "-1/4"), "--step"),
    (("plan", "--margin", "-1"), "--margin"),
    (("plan", "--margin", "nan"), "--margin"),
    (("plan", "--margin", "x"), "margin"),
    (("plan", "--time", "0"), "--time"),
    (("plan", "no-such-file.toml"), "no-such-file.toml"),
    (("predict", "/"), "directory"),
]


@pytest.mark.parametrize(("words", "says"), BAD_WORDS, ids=[" ".join(words) for words, _ in BAD_WORDS])
def test_bad_words(run, words, says):
    code, out, err = run(*words)
    assert code == 2
    assert out == ""
    assert says in err
    assert len(err.splitlines()) <= 2


def test_all_faults_of_a_file_one_a_line(run, tmp_path):
    path = tmp_path / "bad.toml"
    text = sample_path("front.toml").read_text()
    text = re.sub(r"hole_circle_mm = [\d.]+", "hole_circle_mm = -45.0", text, count=1)
    text = re.sub(r"modulus_GPa = [\d.]+", 'modulus_GPa = "steel"', text)
    path.write_text(text)
    for verb in ("predict", "plan"):
        code, out, err = run(verb, str(path), "--json")
        assert code == 2
        assert out == ""
        assert len(err.splitlines()) >= 2
        assert all(line.startswith(f"{path}: ") for line in err.splitlines())
