"""A job file's text changed at the places of single tables: whole or not at all, nothing else disturbed.

The new text is checked by reading it again. (A document that ``tomlkit`` writes back gathers tables that stand in the
order of the work, [[reading]] between [[pass]], by their names; so it renders only what is new.)
"""

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import tomlkit

from wheelsim.files.atomic import one_writer, replace_contents
from wheelsim.files.errors import FileError, FileFault
from wheelsim.files.reader import EITHER, examine
from wheelsim.files.text import HEADER, Tables, parse_toml, read_text
from wheelsim.job.job import Job

TABLE = re.compile(r"^[ \t]*\[")
NO_JOB = 'expected a job, which has wheel = "..."; wheelsim assess --new FILE writes a blank one'


def rewritten(path: Path, change: Callable[[str, Tables, Job], tuple[str, Tables]]) -> Job:
    """Change a job file under its lock; the new text must hold the tables that are meant, and be a job."""
    with one_writer(path):
        data = read_text(path, EITHER)
        ends = "\r\n" if "\r\n" in data else "\n"
        text = data.replace("\r\n", "\n")
        tables = parse_toml(text, path, EITHER)
        if "wheel" not in tables:
            raise FileError([FileFault(str(path), "wheel", "missing", NO_JOB)])
        job, _ = examine(path, text=text)
        new, meant = change(text, tables, job)
        if parse_toml(new, path, EITHER) != meant:
            raise FileError([FileFault(str(path), "pass", "could not be added to",
                                       "expected [[reading]] and [[pass]] tables, each key on a line of its own")])
        job, _ = examine(path, text=new)
        replace_contents(path, new.replace("\n", ends).encode())
    return job


def blocks(text: str, name: str) -> list[tuple[int, int]]:
    """First line of each [[pass]] or [[reading]], as ``name`` says, and the line after its last."""
    lines = text.split("\n")
    heads = [k for k, line in enumerate(lines) if TABLE.match(line)] + [len(lines)]
    found = [HEADER.match(lines[k]) for k in heads[:-1]]
    return [(k, after) for k, after, head in zip(heads[:-1], heads[1:], found, strict=True)
            if head is not None and head[1] == name]


def added(tables: Tables, name: str, entry: Mapping[str, Any], new: str) -> tuple[Tables, str]:
    """Tables and text with one more entry at the end of the work."""
    plain = {key: dict(value) if isinstance(value, Mapping) else value for key, value in entry.items()}
    return {**tables, name: [*tables.get(name, []), plain]}, f"{new}\n[[{name}]]\n{rendered(entry)}"


def without(text: str, start: int, lines: str) -> str | None:
    """The text without these lines, which stand at line ``start``, and a blank one above; None if others stand there.

    With what ``added`` wrote that is the text as it was before, and nothing that was edited since is lost.
    """
    here, gone = text.split("\n"), lines.rstrip("\n").split("\n")
    if here[start:start + len(gone)] != gone:
        return None
    above = start - 1 if start and not here[start - 1].strip() and gone[0].startswith("[[") else start
    return "\n".join([*here[:above], *here[start + len(gone):]])


def rendered(entry: Mapping[str, Any]) -> str:
    """Keys and values as lines of TOML, tables within on one line."""
    document = tomlkit.document()
    for key, value in entry.items():
        if isinstance(value, Mapping):
            table = tomlkit.inline_table()
            table.update(value)
            document.add(key, table)
        else:
            document.add(key, value)
    return tomlkit.dumps(document)


def with_end(text: str, new: str) -> str:
    return text.rstrip("\n") + "\n" + new if new else text
