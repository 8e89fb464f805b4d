"""Whatever is written for whichever key, a file is read or refused in words: no other error comes through."""

import pytest

from wheelsim.files import FileError, examine

ODD = ("true", "-1", "0", "1e308", "-1e-308", "nan", "inf", "9" * 350, '"text"', "''", "[]", "[[]]", "{}",
       "[{}]", "{ 1 = {} }", "{ 1 = 1 }", "[1, 2]", "1979-05-27", "144", "145", '"1/4"', "[0.0, 1e308]")


@pytest.mark.parametrize("value", ODD)
def test_every_key_of_a_wheel(write, wheel_text, value):
    for text in _variants(wheel_text, value):
        _read(write("wheel.toml", text))


@pytest.mark.parametrize("value", ODD)
def test_every_key_of_a_job(write, wheel_text, job_text, value):
    write("wheel.toml", wheel_text)
    for text in _variants(job_text, value):
        _read(write("job.toml", text))


def _variants(text, value):
    """The text with one line dropped, or its value replaced, or the value of one key of its inline table."""
    lines = text.splitlines()
    for i, line in enumerate(lines):
        key, equals, rest = line.partition(" = ")
        replaced = [f"{key}{equals}{value}"] if equals else []
        if rest.startswith("{"):
            entries = rest.strip("{} ").split(", ")
            for entry in entries:
                name = entry.partition(" = ")[0]
                replaced.append(line.replace(entry, f"{name} = {value}"))
        for other in ["", *replaced]:
            yield "\n".join([*lines[:i], other, *lines[i + 1 :]])


def _read(path):
    """Every fault on one line that says what was expected."""
    try:
        job, warnings = examine(path)
    except FileError as error:
        job, found = None, error.lines()
    else:
        found = [str(fault) for fault in warnings]
    assert job or found
    assert all("; " in line and line.isprintable() for line in found)
