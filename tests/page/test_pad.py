"""Keys of the number pad, without a browser."""

import pytest

pytest.importorskip("nicegui", reason="the page's library is not installed: pip install -e '.[bench,browser]'")

from wheelsim.page.pad import LONGEST, number, typed


@pytest.mark.parametrize(("keys", "text"), [
    (("1", ".", "5"), "1.5"), (("1", ".", ".", "5"), "1.5"), (("-", "0", ".", "2"), "-0.2"), (("5", "-"), "-5"),
    (("5", "-", "-"), "5"), (("1", "2", "back"), "1"), (("back",), ""), (tuple("123456789"), "123456789"[:LONGEST]),
])
def test_keys(keys, text):
    there = ""
    for key in keys:
        there = typed(there, key)
    assert there == text


@pytest.mark.parametrize(("text", "value"), [("1.5", 1.5), ("-0.2", -0.2), (".5", 0.5), ("", None), ("-", None),
                                             (".", None)])
def test_number(text, value):
    assert number(text) == value
