"""A blank job to fill in."""

from collections.abc import Mapping
from importlib import resources
from pathlib import Path

import tomlkit

from wheelsim.files.errors import FileError, FileFault
from wheelsim.files.questions import BLANK
from wheelsim.files.reader import examine


def write_blank(path: str | Path, answers: Mapping[str, object] | None = None) -> None:
    """Write the blank job; a file that is there already is left alone.

    Parameters
    ----------
    path : str or Path
    answers : mapping of str to object, optional
        What is known already, by dotted key of the wheel ("hub.left.flange_mm"), and keys of the first reading under
        "reading"; the rest stays as the blank has it.

    Raises
    ------
    FileError
        When there is such a file already, it can't be written, or the answers make no job.
    """
    text = resources.files("wheelsim.samples").joinpath(BLANK).read_bytes()
    if answers is not None:
        text = _filled(text.decode(), answers).encode()
        examine(path, text=text.decode())
    try:
        with Path(path).open("xb") as file:
            file.write(text)
    except FileExistsError:
        raise _taken(path) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise FileError([FileFault(str(path), "", f"cannot be written: {reason}", "expected a place to write to")]
                        ) from None


def check_free(path: str | Path) -> None:
    """See that a new job may have this name, before questions are asked for it; raises FileError."""
    if Path(path).exists():
        raise _taken(path)


def _taken(path: str | Path) -> FileError:
    return FileError([FileFault(str(path), "", "is there already", "expected a new name; nothing was written")])


def _filled(text: str, answers: Mapping[str, object]) -> str:
    """The blank with these answers as values; its comments stay."""
    document = tomlkit.parse(text)
    for key, value in answers.items():
        if key == "reading":
            continue
        *tables, last = key.split(".")
        table = document["wheel"]
        for name in tables:
            table = table[name]
        table[last] = value
    reading = document["reading"][0]
    given = answers.get("reading")
    for key, value in (given.items() if isinstance(given, Mapping) else ()):
        if isinstance(value, Mapping):
            inline = tomlkit.inline_table()
            inline.update(value)
            reading[key] = inline
        else:
            reading[key] = value
    return tomlkit.dumps(document)
