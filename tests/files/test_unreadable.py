"""What can't be read at all is refused in one line, whatever it is."""

import os
from pathlib import Path

import pytest

from wheelsim.files import FileError, read_job
from wheelsim.files.text import LARGEST

EITHER = "expected a wheel or job file"


@pytest.mark.parametrize(("content", "line"), [
    ("", f"is empty; {EITHER}"),
    (" \n\t\n", f"is empty; {EITHER}"),
    ("# nothing\n", 'is no wheel and no job; expected wheel = "..." as in a job file, or [hub], [rim] and'),
    ("[project]\nname = 'x'\n", "is no wheel and no job; expected"),
    (b"\x89PNG\r\n\0\0", f"is not text (holds zero bytes); {EITHER}"),
    (b"[hub]\nname = 'caf\xe9'", "line 2: byte 0xe9 is not UTF-8; expected UTF-8 text"),
    ("[hub]\nwidth 3\n", "line 2: Expected '=' after a key in a key/value pair; expected lines such as key = 1.5"),
    ("[hub]\nx = 1\nx = 2\n\n\n", "line 3: Cannot overwrite a value; expected lines such as key = 1.5"),
    ('[hub]\nx = "a\x1b[31m"\n', "line 2: Illegal character '\\x1b'; expected lines such as key = 1.5"),
    ("[hub]\nx = 2024-13-45\n", "line 2: "),
])
def test_content(write, lines, content, line):
    found = lines(write("wheel.toml", content))
    assert len(found) == 1
    assert found[0].startswith(f"wheel.toml: {line}")


@pytest.mark.parametrize(("row", "said", "under"), [
    ("left = { flange_mm = 34.5", "a brace that is not closed; expected } at the end of the table", 26),
    ("holes = [1, 2", "a bracket that is not closed; expected ] at the end of the list", 14),
    ('name = "front', 'a quote that is not closed; expected " at the end of the word', 14),
    ("gap_mm = 3,0", "a decimal comma; expected a decimal point: 3.0", 10),
    ("gap_mm = 3.0mm", "a unit after a number; expected the number alone, 3.0: the unit stands in the key", 10),
    ("gap_mm = 3 mm", "a unit after a number; expected the number alone, 3: the unit stands in the key", 10),
    ("step_turns = 2 1/2", 'a fraction without quotes; expected quotes round it: "2 1/2"', 14),
    ("step_turns = 1/4", 'a fraction without quotes; expected quotes round it: "1/4"', 14),
    (r'meter_chart = "C:\jobs\chart.csv"', "a backslash between double quotes; expected single quotes: "
     r"'C:\jobs\chart.csv'", 18),
])
def test_slips_of_the_hand(write, row, said, under):
    """What to write instead, and a mark under the place."""
    with pytest.raises(FileError) as caught:
        read_job(write("job.toml", f"format = 1\n{row}\nlast = 1\n"))
    (line,) = caught.value.lines()
    assert line.endswith(f"line 2: {said}")
    quoted, mark = caught.value.excerpt
    assert quoted.strip() == row
    assert len(mark) - 4 == under


@pytest.mark.parametrize("opening", ["[", "{a = "])
def test_nested_too_deeply(write, lines, opening):
    found = lines(write("wheel.toml", f"hub = {opening * 50_000}"))
    assert found == [f"wheel.toml: lists or tables nested too deeply; {EITHER}"]


def test_key_of_many_parts(write, lines):
    found = lines(write("wheel.toml", f"[hub]\n{'.'.join('a' * 100_000)} = 1"))
    assert found == ["wheel.toml: line 2: a key of too many parts; expected at most four"]


def test_number_of_many_digits(write, lines):
    found = lines(write("wheel.toml", f"hub = {'9' * 5000}"))
    assert found == ["wheel.toml: holds a number of too many digits; expected numbers of a wheel"]


def test_large_file(write, lines):
    found = lines(write("wheel.toml", b"\x7fELF" * 3_000_000))
    assert found == [f"wheel.toml: is larger than {LARGEST // 1000} kB; {EITHER}"]


@pytest.mark.parametrize("text", [
    "hub = 1e400", "hub = {}", "hub = [[[[[[[[1]]]]]]]]", "hub.a.a.a.a.a.a = 1", "hub = 1979-05-27T07:32", 
])
def test_odd_values(write, lines, text):
    """They are faults like others, not surprises."""
    assert all("; " in line for line in lines(write("wheel.toml", text)))


def test_whole_number_of_many_bits(write, lines):
    """TOML's hexadecimal numbers have no end."""
    found = lines(write("wheel.toml", f"hub = 0x{'f' * 9000}"))
    assert "wheel.toml: hub: a whole number of 36000 bits; expected a table" in found


def test_not_found(tmp_path, lines):
    assert lines(tmp_path / "none.toml") == [f"none.toml: cannot be read: not found; {EITHER}"]


def test_directory(tmp_path, lines):
    (tmp_path / "d.toml").mkdir()
    assert lines(tmp_path / "d.toml") == [f"d.toml: cannot be read: is a directory; {EITHER}"]


def test_no_permission(write, wheel_text, lines, monkeypatch):
    """The file system is told to refuse: a root user may read whatever the mode says."""
    path = write("wheel.toml", wheel_text)

    def refuse(*args, **kwargs):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    assert lines(path) == [f"wheel.toml: cannot be read: no permission; {EITHER}"]


def test_pipe_is_not_waited_for(tmp_path, lines):
    os.mkfifo(tmp_path / "pipe")
    assert lines(tmp_path / "pipe") == [f"pipe: cannot be read: is not a regular file; {EITHER}"]


def test_device():
    with pytest.raises(FileError, match="is not a regular file"):
        read_job("/dev/zero")


def test_circle_of_links(tmp_path, lines):
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    assert lines(tmp_path / "a") == [f"a: cannot be read: {os.strerror(40).lower()}; {EITHER}"]


@pytest.mark.parametrize("name", ["a\0b", "\ud800", "x" * 5000])
def test_names_that_no_file_can_have(name):
    with pytest.raises(FileError, match="cannot be read") as caught:
        read_job(name)
    assert caught.value.lines()[0].isprintable()


def test_name_of_two_lines(tmp_path):
    """A name or a key may hold what would break the line."""
    path = tmp_path / "a\nb.toml"
    path.write_text('[hub]\n"c\\nd\\u001b" = "e\\nf"\n')
    with pytest.raises(FileError) as caught:
        read_job(path)
    assert all(line.isprintable() for line in caught.value.lines())
    assert any("a\\nb.toml: hub.c\\nd\\x1b: \"e\\nf\"; unknown key" in line for line in caught.value.lines())


def test_largest_file_is_still_read(write, wheel_text):
    text = wheel_text + "#" * (LARGEST - len(wheel_text))
    assert read_job(write("wheel.toml", text)).wheel.n == 36
