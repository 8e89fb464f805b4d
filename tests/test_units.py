"""Turns as a mechanic writes them."""

import pytest

from wheelsim.units import parse_turns, spoke_runs, turns_text


@pytest.mark.parametrize(("text", "turns"), [
    ("1/4", 0.25), ("-1/4", -0.25), ("0.25", 0.25), ("1 1/4", 1.25), ("-1 1/4", -1.25), ("+3/8", 0.375), ("2", 2.0),
    (" .5 ", 0.5), ("\N{MINUS SIGN}1/2", -0.5),
])
def test_written_turns(text, turns):
    assert parse_turns(text) == turns


@pytest.mark.parametrize("text", ["", "-", "1/0", "a", "nan", "inf", "1e3", "1e999999999", "1 2", "1/2/3", "101",
                                  "1 -1/4", "1.5 1/4", "1/4 turn", "9" * 400])
def test_refused_turns(text):
    with pytest.raises(ValueError, match="expected"):
        parse_turns(text)


@pytest.mark.parametrize(("turns", "text"), [(0.25, "1/4"), (-1.25, "-1 1/4"), (0.0, "0"), (2.0, "2"), (0.3, "0.300"),
                                             (0.0625, "1/16")])
def test_turns_in_words(turns, text):
    assert turns_text(turns) == text


def test_words_read_back():
    for sixteenths in range(-40, 41):
        assert parse_turns(turns_text(sixteenths / 16)) == sixteenths / 16


@pytest.mark.parametrize(("text", "runs"), [
    ("7", [range(7, 8)]), ("3-8", [range(3, 9)]), ("7,9", [range(7, 8), range(9, 10)]),
    (" 1-4, 36 ", [range(1, 5), range(36, 37)]), ("5-5", [range(5, 6)]), ("3 - 8", [range(3, 9)]),
])
def test_written_spokes(text, runs):
    assert spoke_runs(text, 36) == runs


@pytest.mark.parametrize("text", ["", "x", "7,", ",7", "7,,9", "-7", "1-", "1-2-3", "7.0", "+7", "\N{SUPERSCRIPT TWO}",
                                  "\N{ARABIC-INDIC DIGIT SEVEN}", "1_0", "9" * 400])
def test_refused_spokes(text):
    with pytest.raises(ValueError, match="expected spoke numbers like 7, 3-8 or 7,9"):
        spoke_runs(text, 36)


@pytest.mark.parametrize("text", ["0", "37", "8-3", "30-37", "7,37", "9999"])
def test_spokes_of_another_wheel(text):
    with pytest.raises(ValueError, match=r"expected spoke numbers from 1 to 36, the lower one first"):
        spoke_runs(text, 36)
