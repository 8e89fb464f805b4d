"""A visit typed on one line: the dial's ends, with a point or a comma."""

import shlex

import pytest

from wheelsim.cli.log_told import as_typed
from wheelsim.cli.log_words import dial_from, gauge_from, spokes_there, tension_from, turned_from, visit_from
from wheelsim.cli.typed import BadWords


@pytest.mark.parametrize("text", ["high 7=0.6, low 21=-0.4", "high 7=0,6, low 21=-0,4", "low 21=-0.4,high 7=0.6",
                                  "high 7=0,6 low 21=-0,4"])
def test_ends_of_the_dial(text):
    found = dial_from("--true", "lateral", text)
    assert found == {"lateral_high": {"spoke": 7, "mm": 0.6}, "lateral_low": {"spoke": 21, "mm": -0.4}}


@pytest.mark.parametrize("text", ["high 7", "high 7=0.6, high 8=0.5", "high 7=0.6 21=-0.4", "high seven=0.6"])
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
    ("1=90,3=91", True, {"tension_kgf": {"1": 90.0, "3": 91.0}}),
    ("1=90,5 kgf, 3=91,5kgf", False, {"tension_kgf": {"1": 90.5, "3": 91.5}}),
    ("90 91,5 92 kgf", False, {"tension_kgf": [90.0, 91.5, 92.0]}),
    ("980,970,960", False, {"tension_N": [980, 970, 960]})])
def test_tensions_with_their_unit(text, kgf, found):
    assert tension_from("--tension", text, kgf) == found


@pytest.mark.parametrize(("text", "kgf", "says"), [
    ("1=900 N,3=91kgf", False, "expected one unit"), ("1=90kgf,3=910", False, "expected one unit"),
    ("1=900 N", True, "expected one unit"), ("1=nan", False, "'1=nan'; expected a number, like 1=0.6"),
    ("1=inf", False, "'1=inf'; expected a number"),
    ("1=1,010,3=990", False, "thousands without a comma"),
    ("1,010 1,005 995", False, "thousands without a comma"), ("980 970 960 N", True, "expected one unit"),
    ("x=4", False, "expected spoke=value")])
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


@pytest.mark.parametrize(("text", "found"), [
    ("7=0,6, 23=-0,6", {"7": 0.6, "23": -0.6}), ("7=0,8=1", {"7": 0.0, "8": 1.0}),
    ("7=0.6,8=1,5", {"7": 0.6, "8": 1.5}),
    ("0.1 0 -0,2", [0.1, 0.0, -0.2]), ("0.1, 0, -0.2", [0.1, 0.0, -0.2])])
def test_a_comma_for_a_point_and_a_plain_row(text, found):
    assert dial_from("--true", "lateral", text) == {"lateral_mm": found}


@pytest.mark.parametrize(("text", "found"), [
    ("7=0,25", {"7": 0.25}), ("7=0,25, 9=-0,5", {"7": 0.25, "9": -0.5}), ("7,9=1/4", {"7": 0.25, "9": 0.25}),
    ("7=1/4,12,14=1/8", {"7": 0.25, "12": 0.125, "14": 0.125}), ("right=1,5", {"right": 1.5})])
def test_a_comma_in_turns(text, found):
    assert turned_from([text]) == found


@pytest.mark.parametrize(("text", "found"), [
    ("right 1.2-1.6 hub", {"passes_mm": 1.2, "stops_mm": 1.6}), ("right 3 threads hub", {"gap_threads": 3.0}),
    ("right 1,2 mm at hub", {"gap_mm": 1.2}), ("right -0.2 hub", {"gap_mm": -0.2})])
def test_feelers_and_threads(text, found):
    assert gauge_from(text) == {"set_on": "right", **found, "gap_at": "hub"}
    with pytest.raises(BadWords, match="feelers"):
        gauge_from("right 1.2-1.6-2 hub")


def test_a_row_has_a_value_for_each_spoke():
    with pytest.raises(BadWords, match="--true: 3 values; expected one for each of the 32 spokes"):
        spokes_there({"lateral_mm": [0.1, 0.2, 0.3]}, {}, 32)
    spokes_there({"lateral_mm": [0.0] * 32}, {}, 32)


@pytest.mark.parametrize("text", ["7=1,5,9=0,5", "7=0,5,9=1,5,11=1/4"])
def test_a_comma_that_could_be_either_is_refused(text):
    with pytest.raises(BadWords, match="decimals after a point"):
        turned_from([text])


@pytest.mark.parametrize("options", [
    {"gauge": "right 1.2 hub", "true": "high 7=0.6, low 21=-0.4", "tension": "1=98.5,2=60 kgf", "label": "after"},
    {"gauge": "left 1.2-1.6 one foot", "true": "7=0.6,21=-0.4", "round_": "0.1 0 -0.2"},
    {"gauge": "left 3 threads feet", "tension": "980 970 960"}])
def test_a_reading_as_it_would_be_typed(options):
    """What is taken back can be logged again by the line that is told."""
    nothing = dict.fromkeys(("gauge", "true", "round_", "tension", "label"))
    visit = visit_from(done=[], turned=[], kgf=False, **(nothing | options))
    words = shlex.split(as_typed(visit.reading | {"after_pass": 2}))
    typed = {name.removeprefix("--").replace("round", "round_"): text
             for name, text in zip(words[::2], words[1::2], strict=True)}
    assert visit_from(done=[], turned=[], kgf=False, **(nothing | typed)) == visit


def test_what_no_option_tells_is_not_offered():
    assert as_typed({"tyre": "inflated", "tension_N": {"1": 900.0}}) == ""
