"""A job file's text changed at the places of single tables: whole or not at all, nothing else disturbed.

The new text is checked by reading it again. (A document that ``tomlkit`` writes back gathers tables that stand in the
order of the work, [[reading]] between [[pass]], by their names; so it renders only what is new.)
"""

import codecs
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from difflib import SequenceMatcher
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
        lines = read_text(path, EITHER).split("\n")
        mark = codecs.BOM_UTF8 if path.read_bytes().startswith(codecs.BOM_UTF8) else b""
        text = "\n".join(line.removesuffix("\r") for line in lines)
        tables = parse_toml(text, path, EITHER)
        if "wheel" not in tables:
            raise FileError([FileFault(str(path), "wheel", "missing", NO_JOB)])
        job, _ = examine(path, text=text)
        new, meant = change(text, tables, job)
        if parse_toml(new, path, EITHER) != meant:
            raise FileError([FileFault(str(path), "pass", "could not be added to",
                                       "expected [[reading]] and [[pass]] tables, each key on a line of its own")])
        job, _ = examine(path, text=new)
        replace_contents(path, mark + "\n".join(_with_their_ends(lines, new.split("\n"))).encode())
    return job


def _with_their_ends(lines: Sequence[str], new: Sequence[str]) -> Iterator[str]:
    """New lines (without ends), those that stood there with the ends they had; others end as most do."""
    ends = sum(line.endswith("\r") for line in lines)
    usual = "\r" if 2 * ends > len(lines) - 1 else ""
    old = [line.removesuffix("\r") for line in lines]
    for what, i, _, k, m in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        for at in range(k, m):
            was = i + at - k if what == "equal" else len(lines) - 1  # the last one has no end
            end = usual if was == len(lines) - 1 else lines[was][len(old[was]):]
            yield new[at] + (end if at < len(new) - 1 else "")


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

    With what ``with_end`` wrote that is the text as it was before, and nothing that was edited since is lost. A table
    with no blank line above was added to a text whose last line had no end.
    """
    here, gone = text.split("\n"), lines.rstrip("\n").split("\n")
    if here[start:start + len(gone)] != gone:
        return None
    rest, table = here[start + len(gone):], gone[0].startswith("[[")
    blank = start > 0 and not here[start - 1].strip()
    if table and not blank and rest == [""]:
        rest = []
    return "\n".join([*here[:start - (table and blank)], *rest])


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


def with_end(text: str, new: str, *, tidy: bool = False) -> str:
    """The text with new tables at its end, a blank line before them; none where its last line has no end.

    ``tidy`` leaves out blank lines that it ended with: ``without`` then can't bring it back.
    """
    if not new:
        return text
    if tidy:
        return text.rstrip("\n") + "\n" + new
    return text + new
