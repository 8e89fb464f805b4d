"""The check of what stands under Found: numbers count as a whole, with their units."""

import types

import pytest

from experiments import gallery
from tests.experiments.told import Told, quantities


@pytest.fixture
def told(monkeypatch):
    entry = gallery.Entry("some", "Some?", {"Found": "It gains 430 and 398 N, to 1,430 N, after 10.5 turns or 1/4."})
    monkeypatch.setattr(gallery, "entry", lambda name: entry)
    return Told(types.ModuleType("experiments.some"))


def test_each_number_is_told_once(told):
    told("gains {:.0f} and {:.0f} N", 429.8, 398.2)
    assert told.left == ["1,430", "10.5", "1/4"]
    told("to {:,.0f} N", 1430.3)
    told("after {} turns", 10.5)
    told("or {}", "1/4")
    assert told.left == []


@pytest.mark.parametrize(("words", "value"), [
    ("{:.0f} and", 431.0),
    ("{:.0f} N", 430.0),  # of 1,430
    ("{} turns", "0.5"),  # of 10.5
    ("{} turns", "5"),
    ("or {}", 1),  # of 1/4
    ("gains {}", 43),  # of 430
])
def test_another_number_or_a_part_of_one_is_refused(told, words, value):
    with pytest.raises(AssertionError, match="Found doesn't say"):
        told(words, value)


def test_quantities():
    assert quantities("lose 38 and 35 N, 0.5 mm; 144 N/mm at 1,000 N, 1/4 and done, 20 %.") == {
        ("38", "N"), ("35", "N"), ("0.5", "mm"), ("144", "N/mm"), ("1,000", "N"), ("1/4", ""), ("20", "%")}
    assert quantities("173 N/m") == {("173", "")}
