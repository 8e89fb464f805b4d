"""One line a fault, whatever stands in the file."""

import pytest

from wheelsim.files.errors import WIDTH, FileError, FileFault, shown


@pytest.mark.parametrize(("value", "text"), [
    (None, "missing"),
    (True, "true"),
    (34.0, "34.0"),
    ("box", '"box"'),
    ("a\nb", '"a\\nb"'),
    ([1, [2.5, "x"]], '[1, [2.5, "x"]]'),
    ({"a": {"b": 1}}, "{ a = { b = 1 } }"),
])
def test_shown(value, text):
    assert shown(value) == text


def test_whole_numbers_too_long_to_print():
    assert shown(16**5000) == "a whole number of 20001 bits"


@pytest.mark.parametrize("value", ["x" * 1000, list(range(1000)), {str(i): i for i in range(1000)}], ids=type)
def test_long_values_are_shortened(value):
    assert len(shown(value)) <= WIDTH
    assert "..." in shown(value)


def test_deep_values_are_shortened():
    """Deeper than Python would follow."""
    deep = 1
    for _ in range(100_000):
        deep = {"a": deep}
    assert shown(deep) == "{ a = { a = { a = { a = ... } } } }"


def test_line():
    assert str(FileFault("f.toml", "hub.x", "3", "expected 4")) == "f.toml: hub.x: 3; expected 4"
    assert str(FileFault("f.toml", "", "is empty", "expected 4")) == "f.toml: is empty; expected 4"


def test_error_lists_each_fault_once():
    fault, other = FileFault("f", "a", "1", "expected 2"), FileFault("f", "b", "1", "expected 2")
    error = FileError([fault, other, fault])
    assert error.faults == (fault, other)
    assert str(error).splitlines() == error.lines() == [str(fault), str(other)]
