"""A visit typed on one line: the dial's ends, with a point or a comma."""

import pytest

from wheelsim.cli.log_words import dial_from, spokes_there, tension_from
from wheelsim.cli.typed import BadWords


@pytest.mark.parametrize("text", ["high 7=0.6, low 21=-0.4", "high 7=0,6, low 21=-0,4", "low 21=-0.4,high 7=0.6"])
def test_ends_of_the_dial(text):
    found = dial_from("--true", "lateral", text)
    assert found == {"lateral_high": {"spoke": 7, "mm": 0.6}, "lateral_low": {"spoke": 21, "mm": -0.4}}


@pytest.mark.parametrize("text", ["high 7", "high 7=0.6, high 8=0.5", "high 7=0.6 low 21=-0.4", "high seven=0.6"])
def test_what_is_no_end_is_told(text):
    with pytest.raises(BadWords, match=r"--true: .*; expected"):
        dial_from("--true", "lateral", text)


@pytest.mark.parametrize(("text", "kgf", "found"), [
    ("1=980,9=1010", False, {"tension_N": {"1": 980.0, "9": 1010.0}}),
    ("1=980 N", False, {"tension_N": {"1": 980.0}}),
    ("1=90 kgf", False, {"tension_kgf": {"1": 90.0}}),
    ("1=90kgf, 3=91.5kgf", False, {"tension_kgf": {"1": 90.0, "3": 91.5}}),
    ("1=90,3=91 kgf", False, {"tension_kgf": {"1": 90.0, "3": 91.0}}),
    ("1=90 kgf", True, {"tension_kgf": {"1": 90.0}}),
    ("1=90,3=91", True, {"tension_kgf": {"1": 90.0, "3": 91.0}})])
def test_tensions_with_their_unit(text, kgf, found):
    assert tension_from("--tension", text, kgf) == found


@pytest.mark.parametrize(("text", "kgf", "says"), [
    ("1=900 N,3=91kgf", False, "expected one unit"), ("1=90kgf,3=910", False, "expected one unit"),
    ("1=900 N", True, "expected one unit"), ("1=nan", False, "'1=nan'; expected a number, like 1=0.6"),
    ("1=inf", False, "'1=inf'; expected a number"), ("x=4", False, "expected spoke=value")])
def test_tensions_that_cant_be_meant(text, kgf, says):
    with pytest.raises(BadWords, match=f"--tension: .*{says}"):
        tension_from("--tension", text, kgf)


@pytest.mark.parametrize(("reading", "turned", "option"), [
    ({"tension_N": {"40": 900.0}}, {}, "--tension"), ({"tension_kgf": {"40": 90.0}}, {}, "--tension"),
    ({"lateral_high": {"spoke": 40, "mm": 1.0}}, {}, "--true"), ({"radial_mm": {"40": 0.1}}, {}, "--round"),
    ({}, {"38-40": 0.25}, "--turned")])
def test_a_spoke_that_isnt_there(reading, turned, option):
    with pytest.raises(BadWords, match=rf"{option}: spoke (38|40); expected 1 to 32"):
        spokes_there(reading, turned, 32)
    spokes_there({"tension_N": {"32": 900.0}}, {"right": 0.25, "7-9": 0.25}, 32)
