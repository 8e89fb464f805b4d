"""What is wrong with a file, told one fault a line."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

WIDTH = 60  # longest value shown [characters]


@dataclass(frozen=True)
class FileFault:
    """One thing wrong with a file.

    Parameters
    ----------
    file : str
    key : str
        As the file writes it, entries of lists counted from 1; empty when it concerns no key.
    value : str
        What stands there, shortened by ``shown``, or what the file is.
    expected : str
        What would do.
    level : "error" or "warning"
        With a warning the file is read all the same.
    """

    file: str
    key: str
    value: str
    expected: str
    level: Literal["error", "warning"] = "error"

    def __str__(self) -> str:
        where = f"{self.file}: {_cut(self.key, 2 * WIDTH)}: " if self.key else f"{self.file}: "
        return one_line(f"{where}{self.value}; {self.expected}")


class FileError(ValueError):
    """A file, or the files it names, can't be read; ``faults`` lists all that is wrong.

    ``excerpt`` is the line at fault and a mark under the place, where the file's grammar is broken.
    """

    def __init__(self, faults: Iterable[FileFault], excerpt: Iterable[str] = ()) -> None:
        self.faults = tuple(dict.fromkeys(faults))
        self.excerpt = tuple(excerpt)
        super().__init__("\n".join(self.lines()))

    def lines(self) -> list[str]:
        """One line a fault: ``file: key: value; expected ...``."""
        return [str(fault) for fault in self.faults]


def one_line(text: str) -> str:
    """The text with whatever would break a line or disturb a terminal written as an escape."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)


def shown(value: object) -> str:
    """A value as TOML writes it, on one line of at most ``WIDTH`` characters; None is "missing"."""
    return "missing" if value is None else _cut(one_line(_toml(value, depth=4)), WIDTH)


def _toml(value: object, depth: int) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        # Python refuses to print numbers of thousands of digits.
        return str(value) if value.bit_length() < 100 else f"a whole number of {value.bit_length()} bits"
    if isinstance(value, str):
        return f'"{value[:WIDTH]}' + ('"' if len(value) <= WIDTH else "...")
    if isinstance(value, (list, dict)) and depth == 0:
        return "..."
    if isinstance(value, list):
        return f"[{', '.join(_toml(entry, depth - 1) for entry in value[:WIDTH])}]"
    if isinstance(value, dict):
        first = list(value.items())[:WIDTH]
        return f"{{ {', '.join(f'{key} = {_toml(entry, depth - 1)}' for key, entry in first)} }}"
    return str(value)


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 3] + "..."
