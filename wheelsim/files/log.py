"""Adds what was turned and read to a job file: whole or not at all, one writer at a time, nothing else disturbed.

New tables are added at the end and one line within a planned pass; the rest of the text stays as it is, which is
checked by reading both again. (A document that ``tomlkit`` writes back gathers tables that stand in the order of the
work, [[reading]] between [[pass]], by their names; so it renders only what is new.)
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import tomlkit

from wheelsim.files.atomic import one_writer, replace_contents
from wheelsim.files.errors import FileError, FileFault
from wheelsim.files.reader import EITHER, examine
from wheelsim.files.text import Tables, parse_toml, read_text
from wheelsim.job.job import Job
from wheelsim.units import number_list, turns_text
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES

if TYPE_CHECKING:  # not imported at run time: it would load the solver
    from wheelsim.planning.passes import PlannedPass

TABLE = re.compile(r"^[ \t]*\[")
PASS = re.compile(r"^[ \t]*\[\[[ \t]*[\"']?pass[\"']?[ \t]*\]\]")
NO_JOB = 'expected a job, which has wheel = "..."; wheelsim assess --new FILE writes a blank one'


@dataclass(frozen=True)
class ToLog:
    """What was done at the stand and is to be logged.

    Attributes
    ----------
    done : tuple of int
        Numbers of planned passes that were made as planned.
    turned : mapping of str to float
        Turns made otherwise, by spoke ("12"), run of spokes ("7-9") or side: a pass of its own. [turn]
    reading : mapping of str to object
        Keys and values of a [[reading]], as a job file has them.
    """

    done: tuple[int, ...] = ()
    turned: Mapping[str, float] = field(default_factory=dict)
    reading: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Written:
    """What was added: the job as it now stands, the numbers of its passes made now, and the reading's keys."""

    job: Job
    file: str
    passes: tuple[int, ...]
    reading: Mapping[str, Any] | None

    @property
    def gauge_again(self) -> bool:
        """Whether the plan asks for the gauge after the last of these passes, and it was not read with them."""
        last = [one for one in self.job.passes if one.number in self.passes][-1:]
        return any(one.gauge_again for one in last) and "gauge" not in (self.reading or {})

    def as_dict(self) -> dict[str, Any]:
        """For programs."""
        made = [one for one in self.job.passes if one.number in self.passes]
        return {"format": 1, "wheel": self.job.wheel.name, "file": self.file,
                "written": {"passes": [{"number": one.number, "turns": {str(k): v for k, v in one.made}}
                                       for one in made],
                            "reading": None if self.reading is None else dict(self.reading)}}


def add_visit(path: str | Path, visit: ToLog) -> Written:
    """Write a visit to a job file.

    Raises
    ------
    FileError
        When the file is no job, or would be none with it; nothing is then written.
    """
    path = Path(path)
    numbers: list[int] = []

    def change(text: str, tables: Tables, job: Job) -> tuple[str, Tables]:
        numbers.clear()
        for number in sorted(visit.done):
            text, tables = _make(text, tables, job, number, path, bool(visit.turned))
            numbers.append(number)
        new = ""
        if visit.turned:
            number = _next_number(tables)
            turns = {key: turns_text(value, signed=False) for key, value in visit.turned.items()}
            tables, new = _added(tables, "pass", {"number": number, "turns": turns}, new)
            numbers.append(number)
        if visit.reading:
            made = [one["number"] for one in tables.get("pass", []) if "turns" in one]
            entry = {**visit.reading, "after_pass": max(numbers) if numbers else made[-1] if made else 0}
            tables, new = _added(tables, "reading", entry, new)
        return _with_end(text, new), tables

    job = _rewrite(path, change)
    return Written(job, str(path), tuple(numbers), visit.reading or None)


@dataclass(frozen=True)
class ToKeep:
    """A planned pass that is to stand in the job.

    Attributes
    ----------
    turns : mapping of str to float
        By spoke, run of spokes or side. [turn]
    gauge_again : bool
        Whether the gauge is to be read again after it.
    """

    turns: Mapping[str, float]
    gauge_again: bool = False


def keep_passes(path: str | Path, passes: Sequence[ToKeep]) -> Job:
    """Write planned passes to a job file; earlier ones that were not made go.

    Raises
    ------
    FileError
        As ``add_visit``.
    """
    path = Path(path)

    def change(text: str, tables: Tables, _: Job) -> tuple[str, Tables]:
        text, tables = _without_unmade(text, tables)
        new, number = "", _next_number(tables)
        for k, one in enumerate(passes):
            entry = {"number": number + k, "planned": {key: turns_text(value) for key, value in one.turns.items()}}
            tables, new = _added(tables, "pass", entry | ({"gauge_again": True} if one.gauge_again else {}), new)
        return _with_end(text, new), tables

    return _rewrite(path, change)


def to_keep(one: "PlannedPass") -> ToKeep:
    """A pass of a plan, as it is to stand in the job."""
    return ToKeep(turns_by_name(one.before.wheel, dict(enumerate(map(float, one.turns), 1))), one.gauge_again)


def turns_by_name(wheel: Wheel, turns: Mapping[int, float]) -> dict[str, float]:
    """Turns by spoke number in as few entries as can be: sides turned alike, runs of spokes, single spokes. [turn]"""
    left = {spoke: value for spoke, value in turns.items() if abs(value) > 1e-12}
    out: dict[str, float] = {}
    for side in SIDES:
        mine = {i + 1 for i in wheel.pulling(side)}
        values = {left.get(spoke, 0.0) for spoke in mine}
        if len(values) == 1 and values != {0.0} and mine:
            out[side] = values.pop()
            left = {spoke: value for spoke, value in left.items() if spoke not in mine}
    for spoke, value in sorted(left.items()):
        out[str(spoke)] = value
    return out


def _rewrite(path: Path, change: Callable[[str, Tables, Job], tuple[str, Tables]]) -> Job:
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


def _make(text: str, tables: Tables, job: Job, number: int, path: Path, otherwise: bool) -> tuple[str, Tables]:
    """Planned pass ``number`` made as planned: its turns written under it.

    One planned before it must have been made, or something else in its place, now (``otherwise``) or before.
    """
    place = next((k for k, one in enumerate(job.passes) if one.number == number), None)
    if place is None:
        known = number_list(one.number for one in job.passes if one.turns is None)
        raise FileError([FileFault(str(path), "--done", str(number), "expected the number of a planned pass "
                                   f"({known or 'there is none: wheelsim plan JOB --keep writes them'})")])
    raw = tables["pass"][place]
    if "turns" in raw or not isinstance(raw.get("planned"), dict | list):
        raise FileError([FileFault(str(path), "--done", str(number), "expected a pass that is planned and not made "
                                   "yet; what was turned beside it: --turned")])
    before = next((k for k, one in enumerate(tables["pass"][:place]) if "turns" not in one), None)
    if before is not None and not otherwise and all("turns" not in one for one in tables["pass"][before + 1:]):
        raise FileError([FileFault(str(path), "--done", str(number), f"expected {job.passes[before].number} first, the "
                                   "planned pass that is next; what was turned instead of it: --turned right=1/4")])
    start, end = _blocks(text)[place]
    lines = text.split("\n")
    last = max(k for k in range(start, end) if lines[k].strip() and not lines[k].lstrip().startswith("#"))
    lines.insert(last + 1, _rendered({"turns": raw["planned"]}).rstrip("\n"))
    passes = [dict(one, turns=one["planned"]) if k == place else one for k, one in enumerate(tables["pass"])]
    return "\n".join(lines), {**tables, "pass": passes}


def _without_unmade(text: str, tables: Tables) -> tuple[str, Tables]:
    """Text and tables without the passes that were planned and not made."""
    lines = text.split("\n")
    blocks = _blocks(text)
    unmade = [k for k, one in enumerate(tables.get("pass", [])) if "turns" not in one]
    for k in reversed(unmade):
        if k < len(blocks):
            start, end = blocks[k]
            last = max(j for j in range(start, end) if lines[j].strip() and not lines[j].lstrip().startswith("#"))
            after = last + 1
            while after < end and not lines[after].strip():
                after += 1
            del lines[start:after]
    passes = [one for k, one in enumerate(tables.get("pass", [])) if k not in unmade]
    rest = {key: value for key, value in tables.items() if key != "pass"}
    return "\n".join(lines), {**rest, "pass": passes} if passes else rest


def _blocks(text: str) -> list[tuple[int, int]]:
    """First line of each [[pass]] and the line after its last."""
    lines = text.split("\n")
    heads = [k for k, line in enumerate(lines) if TABLE.match(line)] + [len(lines)]
    return [(k, next(head for head in heads if head > k)) for k in heads[:-1] if PASS.match(lines[k])]


def _next_number(tables: Tables) -> int:
    return max((one["number"] for one in tables.get("pass", [])), default=0) + 1


def _added(tables: Tables, name: str, entry: Mapping[str, Any], new: str) -> tuple[Tables, str]:
    """Tables and text with one more entry at the end of the work."""
    plain = {key: dict(value) if isinstance(value, Mapping) else value for key, value in entry.items()}
    return {**tables, name: [*tables.get(name, []), plain]}, f"{new}\n[[{name}]]\n{_rendered(entry)}"


def _rendered(entry: Mapping[str, Any]) -> str:
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


def _with_end(text: str, new: str) -> str:
    return text.rstrip("\n") + "\n" + new if new else text
