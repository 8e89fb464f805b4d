"""Adds what was turned and read to a job file, and what is planned, and takes back what was added last.

New tables are added at the end and one line within a planned pass; the rest of the text stays as it is.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from wheelsim.files.errors import FileError, FileFault
from wheelsim.files.job_text import added, blocks, rendered, rewritten, with_end, without
from wheelsim.files.text import Tables
from wheelsim.job.job import Job
from wheelsim.units import number_list, turns_text
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES

if TYPE_CHECKING:  # not imported at run time: it would load the solver
    from wheelsim.planning.passes import PlannedPass


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
    instead : int or None
        The planned pass that was made by ``turned``, not as planned; then these are its turns.
    """

    done: tuple[int, ...] = ()
    turned: Mapping[str, float] = field(default_factory=dict)
    reading: Mapping[str, Any] = field(default_factory=dict)
    instead: int | None = None


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
        turns = {key: turns_text(value, signed=False) for key, value in visit.turned.items()}
        beside = bool(turns) and visit.instead is None
        for number in (*sorted(visit.done), *([] if visit.instead is None else [visit.instead])):
            text, tables = _make(text, tables, job, number, path, beside, turns if number == visit.instead else None)
            numbers.append(number)
        new = ""
        if beside:
            number = _next_number(tables)
            tables, new = added(tables, "pass", {"number": number, "turns": turns}, new)
            numbers.append(number)
        if visit.reading:
            made = [one["number"] for one in tables.get("pass", []) if "turns" in one]
            entry = {**visit.reading, "after_pass": max(numbers) if numbers else made[-1] if made else 0}
            tables, new = added(tables, "reading", entry, new)
        return with_end(text, new), tables

    job = rewritten(path, change)
    return Written(job, str(path), tuple(numbers), visit.reading or None)


@dataclass(frozen=True)
class TakenBack:
    """What was taken back, as it stood in the file: the turns of a pass, or a reading; the job as it now stands."""

    job: Job
    file: str
    made: Mapping[str, Any] | None
    reading: Mapping[str, Any] | None

    @property
    def planned_again(self) -> bool:
        """Whether it was a pass that is planned now."""
        return self.made is not None and self.made["number"] in [one.number for one in self.job.passes]

    @property
    def planned(self) -> tuple[int, ...]:
        """Numbers of the passes that are planned now."""
        return tuple(one.number for one in self.job.passes if one.turns is None)

    def as_dict(self) -> dict[str, Any]:
        """For programs."""
        return {"format": 1, "wheel": self.job.wheel.name, "file": self.file,
                "taken_back": {"pass": None if self.made is None else dict(self.made),
                               "reading": None if self.reading is None else dict(self.reading)}}


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
            tables, new = added(tables, "pass", entry | ({"gauge_again": True} if one.gauge_again else {}), new)
        return with_end(text, new, tidy=True), tables

    return rewritten(path, change)


def to_keep(one: "PlannedPass") -> ToKeep:
    """A pass of a plan, as it is to stand in the job."""
    return ToKeep(turns_by_name(one.before.wheel, dict(enumerate(map(float, one.turns), 1))), one.gauge_again)


def take_back(path: str | Path) -> TakenBack:
    """Take back what was logged last: the last reading, or the last pass made if nothing was read after it.

    A pass that was planned is planned again; any other goes.

    Raises
    ------
    FileError
        When nothing was logged, or it isn't as ``add_visit`` wrote it; nothing is then changed.
    """
    path = Path(path)
    gone: dict[str, Mapping[str, Any]] = {}

    def change(text: str, tables: Tables, job: Job) -> tuple[str, Tables]:
        gone.clear()
        made = [k for k, one in enumerate(job.passes) if one.turns is not None]
        last = job.passes[made[-1]].number if made else 0
        name = "reading" if job.last is not None and job.last.after_pass == last else "pass"
        if name == "pass" and not made:
            raise FileError([FileFault(str(path), "--take-back", "nothing was logged",
                                       "expected a pass or a reading that wheelsim log wrote")])
        place = made[-1] if name == "pass" else len(job.readings) - 1
        entry = gone[name] = tables[name][place]
        starts = blocks(text, name)
        start, end = starts[place] if place < len(starts) else (0, 0)
        entries, again = list(tables[name]), name == "pass" and isinstance(entry.get("planned"), dict | list)
        if again:
            entries[place] = {key: value for key, value in entry.items() if key != "turns"}
            line = rendered({"turns": entry["turns"]})
            start = next((k for k in range(start, end) if text.split("\n")[k] == line.rstrip("\n")), start)
        else:
            del entries[place]
            line = f"[[{name}]]\n{rendered(entry)}"
        # A reading that was typed into the file says seldom after which pass it was taken; one that was logged always.
        new = None if name == "reading" and "after_pass" not in entry else without(text, start, line)
        if new is None:
            raise _not_as_logged(path, f"{name}[{place + 1}]", "typed into the file, or edited since it was logged")
        rest = {key: value for key, value in tables.items() if key != name}
        return new, {**rest, name: entries} if entries else rest

    job = rewritten(path, change)
    return TakenBack(job, str(path), gone.get("pass"), gone.get("reading"))


def _not_as_logged(path: Path, key: str, value: str) -> FileError:
    return FileError([FileFault(str(path), key, value, "expected what wheelsim log wrote; take out by hand what you "
                                "typed by hand")])


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


def _make(text: str, tables: Tables, job: Job, number: int, path: Path, replaced: bool,
          turns: Mapping[str, str] | None = None) -> tuple[str, Tables]:
    """Planned pass ``number`` made: what was turned, by default as planned, written under it.

    One planned before it must have been made, or something else in its place, now (``replaced``) or before.
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
    if before is not None and not replaced and all("turns" not in one for one in tables["pass"][before + 1:]):
        raise FileError([FileFault(str(path), "--done", str(number), f"expected {job.passes[before].number} first, the "
                                   "planned pass that is next; what was turned instead of it: --turned right=1/4")])
    start, end = blocks(text, "pass")[place]
    lines = text.split("\n")
    last = max(k for k in range(start, end) if lines[k].strip() and not lines[k].lstrip().startswith("#"))
    made = raw["planned"] if turns is None else dict(turns)
    lines.insert(last + 1, rendered({"turns": made}).rstrip("\n"))
    passes = [dict(one, turns=made) if k == place else one for k, one in enumerate(tables["pass"])]
    return "\n".join(lines), {**tables, "pass": passes}


def _without_unmade(text: str, tables: Tables) -> tuple[str, Tables]:
    """Text and tables without the passes that were planned and not made."""
    lines = text.split("\n")
    places = blocks(text, "pass")
    unmade = [k for k, one in enumerate(tables.get("pass", [])) if "turns" not in one]
    for k in reversed(unmade):
        if k < len(places):
            start, end = places[k]
            last = max(j for j in range(start, end) if lines[j].strip() and not lines[j].lstrip().startswith("#"))
            after = last + 1
            while after < end and not lines[after].strip():
                after += 1
            del lines[start:after]
    passes = [one for k, one in enumerate(tables.get("pass", [])) if k not in unmade]
    rest = {key: value for key, value in tables.items() if key != "pass"}
    return "\n".join(lines), {**rest, "pass": passes} if passes else rest


def _next_number(tables: Tables) -> int:
    return max((one["number"] for one in tables.get("pass", [])), default=0) + 1
