"""From a path to the tables of a TOML file, or to one clear fault."""

import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any, TypeAlias

from wheelsim.files.errors import FileError, FileFault
from wheelsim.files.grammar import excerpt, slip

# A table as tomllib reads it: what stands under a key may be of any type until the schema has judged it.
Tables: TypeAlias = dict[str, Any]

LARGEST = 1_000_000  # no bench fills a file of this size [bytes]
# A dotted key of many parts makes tomllib slow without bound; our deepest has four.
LONG_KEY = re.compile(r"""(?<![\w."'-])(?:[\w"'-]++[ \t]*+\.[ \t]*+){20}""")
HEADER = re.compile(r"^[ \t]*\[\[[ \t]*[\"']?(pass|reading)[\"']?[ \t]*\]\]", re.MULTILINE)
REASONS = {
    FileNotFoundError: "not found",
    PermissionError: "no permission",
    IsADirectoryError: "is a directory",
}

SYNTAX = 'expected lines such as key = 1.5 or key = "word": decimal point, no units, straight quotes round words'


def read_text(path: Path, expected: str) -> str:
    """Text of a regular file.

    Parameters
    ----------
    path : Path
    expected : str
        What should have stood there, for the fault: "expected a wheel or job file".

    Raises
    ------
    FileError
        If it can't be read, is no regular file, is larger than ``LARGEST`` or is not UTF-8 text.
    """
    try:
        status = path.stat()
        # Checked before it is opened: reading a pipe may block for ever, and a device may never end.
        if stat.S_ISDIR(status.st_mode):
            raise IsADirectoryError
        if not stat.S_ISREG(status.st_mode):
            raise _refusal(path, "cannot be read: is not a regular file", expected)
        with path.open("rb") as stream:
            data = stream.read(LARGEST + 1)
    except OSError as error:
        reason = REASONS.get(type(error)) or os.strerror(error.errno or 0).lower()
        raise _refusal(path, f"cannot be read: {reason}", expected) from None
    except FileError:
        raise
    except ValueError:
        # A path that holds a zero byte or half a surrogate pair.
        raise _refusal(path, "cannot be read: this is no name of a file", expected) from None
    return _decoded(path, data, expected)


def _decoded(path: Path, data: bytes, expected: str) -> str:
    if len(data) > LARGEST:
        raise _refusal(path, f"is larger than {LARGEST // 1000} kB", expected)
    if b"\0" in data:
        raise _refusal(path, "is not text (holds zero bytes)", expected)
    try:
        # Some editors of plain text put a byte order mark first.
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _refusal(path, f"byte 0x{data[error.start]:02x} is not UTF-8", "expected UTF-8 text",
                       f"line {line}") from None
    if not text.strip():
        raise _refusal(path, "is empty", expected)
    return text


def read_toml(path: Path, expected: str) -> Tables:
    """Tables of a TOML file, with the faults of ``read_text`` and of ``parse_toml``.

    Returns
    -------
    dict of str to object
    """
    return parse_toml(read_text(path, expected), path, expected)


def parse_toml(text: str, path: Path, expected: str) -> Tables:
    """Tables of the text of a TOML file; ``path`` is for its faults.

    Raises
    ------
    FileError
        With the place where the grammar is broken.
    """
    long_key = LONG_KEY.search(text)
    if long_key:
        line = text.count("\n", 0, long_key.start()) + 1
        raise _refusal(path, "a key of too many parts", "expected at most four", f"line {line}")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line, column, what, expected = slip(str(error), text)
        fault = FileFault(str(path), f"line {line}", what, expected or SYNTAX)
        raise FileError([fault], excerpt(text, line, column)) from None
    except RecursionError:
        raise _refusal(path, "lists or tables nested too deeply", expected) from None
    except ValueError as error:
        # Python's own limit on the digits of a whole number comes without a line.
        raise _refusal(path, "holds a number of too many digits" if "digits" in str(error) else str(error),
                       "expected numbers of a wheel") from None


def passes_above(text: str) -> list[int]:
    """For each [[reading]] of a file, how many [[pass]] tables stand above it."""
    above, passes = [], 0
    for header in HEADER.finditer(text):
        if header[1] == "pass":
            passes += 1
        else:
            above.append(passes)
    return above


def _refusal(path: Path, value: str, expected: str, key: str = "") -> FileError:
    return FileError([FileFault(str(path), key, value, expected)])
