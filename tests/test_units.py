"""Turns as a mechanic writes them."""

import pytest

from wheelsim.units import parse_turns, turns_text


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
