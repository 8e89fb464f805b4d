"""A visit typed on one line: the dial's ends, with a point or a comma."""

import pytest

from wheelsim.cli.log_words import dial_from
from wheelsim.cli.typed import BadWords


@pytest.mark.parametrize("text", ["high 7=0.6, low 21=-0.4", "high 7=0,6, low 21=-0,4", "low 21=-0.4,high 7=0.6"])
def test_ends_of_the_dial(text):
    found = dial_from("--true", "lateral", text)
    assert found == {"lateral_high": {"spoke": 7, "mm": 0.6}, "lateral_low": {"spoke": 21, "mm": -0.4}}


@pytest.mark.parametrize("text", ["high 7", "high 7=0.6, high 8=0.5", "high 7=0.6 low 21=-0.4", "high seven=0.6"])
def test_what_is_no_end_is_told(text):
    with pytest.raises(BadWords, match=r"--true: .*; expected"):
        dial_from("--true", "lateral", text)
