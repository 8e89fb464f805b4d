"""From the tables of a job file to a Job."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from wheelsim.files import schema
from wheelsim.files.checking import Checker, Origin
from wheelsim.files.errors import FileError
from wheelsim.files.reading_table import reading_from
from wheelsim.files.text import Tables, read_toml
from wheelsim.files.values import To
from wheelsim.files.wheel_tables import NOTHING, WheelFound, wheel_from
from wheelsim.job.job import Job, Pass, Work, spoke_faults, tool_faults
from wheelsim.readings.errors import ToolErrors
from wheelsim.readings.reading import BySpoke, Reading
from wheelsim.wheel.sides import SIDES

LONGEST_RUN = 200  # of spokes: more than any wheel has


def job_from(tables: Tables, path: Path, checker: Checker, source: str,
             above: Sequence[int] = ()) -> tuple[Job | None, Checker]:
    """The job, or None after faults are added to the checker.

    Parameters
    ----------
    tables : dict of str to object
    path : Path
        Of the job file; the files it names are sought from there.
    checker : Checker
        Of the job file.
    source : str
        What the job calls itself.
    above : sequence of int
        For each reading, how many passes stand above it in the file.

    Returns
    -------
    job : Job or None
    wheel_checker : Checker
        Knows the keys of the wheel's parts; the same checker when the wheel is inline.
    """
    if checker.too_new(tables, ""):
        return None, checker
    checker.table(schema.JobFile, tables, "")
    found, wheel_checker = _wheel(tables.get("wheel"), path, checker)
    # Empty ones hold the places of those that failed.
    readings = [reading_from(raw, k, found, checker, path.parent) or Reading()
                for k, raw in enumerate(_list(tables, "reading"))]
    work = _work(tables.get("work", {}), checker) or Work()
    errors = checker.part(ToolErrors, schema.ErrorsTable, tables.get("errors", {}), "errors", "errors") or ToolErrors()
    passes = [_pass(raw, k, found, checker) or Pass(0, ()) for k, raw in enumerate(_list(tables, "pass"))]
    if any(f"pass[{k + 1}].number" in checker.unjudged for k in range(len(passes))):
        # Which passes there are isn't known.
        checker.unjudged |= {f"reading[{k + 1}].after_pass" for k in range(len(readings))}
    if found.n is not None:
        faults = spoke_faults(found.n, found.missing, readings, work, passes,
                              None if found.wheel is None else found.wheel.rim.section_radius)
        checker.translate(faults, own=False)
    checker.translate(tool_faults(readings, found.spokes, found.wheel), own=False)
    if wheel_checker is not checker:
        checker.faults[:0] = wheel_checker.faults
    if checker.faults or found.wheel is None:
        return None, wheel_checker
    return Job(found.wheel, _in_order(readings, passes, above), work, tuple(passes), source, errors), wheel_checker


def _in_order(readings: Sequence[Reading], passes: Sequence[Pass], above: Sequence[int]) -> tuple[Reading, ...]:
    """The readings with the pass after which each was taken: as written, or else the last one made above it."""
    if len(above) != len(readings):  # inline lists, or a header within a long text: the order isn't known
        above = [0] * len(readings)
    out = []
    for reading, count in zip(readings, above, strict=True):
        made = [one.number for one in passes[:count] if one.turns is not None]
        after = reading.after_pass if reading.after_pass is not None else made[-1] if made else 0
        out.append(replace(reading, after_pass=after))
    return tuple(out)


def _list(tables: Tables, key: str) -> list[object]:
    return tables[key] if isinstance(tables.get(key), list) else []


def _wheel(raw: object, path: Path, checker: Checker) -> tuple[WheelFound, Checker]:
    """The wheel as far as it was found, and the checker of the file that holds it."""
    if isinstance(raw, dict):
        return wheel_from(raw, checker, "wheel.", path.stem), checker
    if not isinstance(raw, str):
        checker.add("wheel", raw, 'expected the path of a wheel file in quotes, or a [wheel] table')
        return NOTHING, checker
    file = path.parent / raw
    wheel_checker = Checker(str(file))
    try:
        tables = read_toml(file, f"expected the wheel file that {path.name} names")
    except FileError as error:
        wheel_checker.faults.extend(error.faults)
        return NOTHING, wheel_checker
    if "wheel" in tables:
        expected = f"expected a wheel file, as {path.name} names it, not another job"
        wheel_checker.add("wheel", tables["wheel"], expected)
        return NOTHING, wheel_checker
    return wheel_from(tables, wheel_checker, "", Path(raw).stem), wheel_checker


def _work(raw: object, checker: Checker) -> Work | None:
    if not checker.expect_table(raw, "work"):
        return None
    fields = checker.fields(checker.table(schema.WorkTable, raw, "work"), raw, "work", "work")
    # After faults the numbers of the spokes are still asked about.
    return checker.make(Work, "work", **fields) or Work(
        **{name: fields[name] for name in ("stuck", "leave") if name in fields})


def _pass(raw: object, place: int, found: WheelFound, checker: Checker) -> Pass | None:
    where = f"pass[{place + 1}]"
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.PassTable, raw, where)
    made, planned, prefix = table.turns, table.planned, f"pass.{place}"
    return Pass(0 if f"{where}.number" in checker.unjudged else table.number,
                None if "turns" not in raw else _by_spoke(made or {}, f"{prefix}.turns", where, raw, found, checker),
                _by_spoke(planned, f"{prefix}.planned", where, raw, found, checker) if isinstance(planned, dict)
                else planned, bool(table.gauge_again))


def _by_spoke(turns: dict[str, float], prefix: str, where: str, raw: Tables, found: WheelFound,
              checker: Checker) -> BySpoke:
    """(spoke, turns) pairs of what was written for spokes, runs of spokes and sides; they add up.

    A side or a run leaves out missing spokes; a spoke named by itself is judged by the job's own rule.
    """
    key = prefix.rpartition(".")[2]
    if isinstance(raw[key], list):
        values = {int(spoke): value for spoke, value in turns.items()}
        return checker.trace_spokes(prefix, where, raw, key, values, found.n, To("turns"))
    out: dict[int, float] = {}
    for word, value in turns.items():
        origin = Origin(f"{where}.{key}.{word}", raw[key][word])
        if word in SIDES:
            letters = found.spokes.sides if found.spokes else ""
            spokes = [k + 1 for k, letter in enumerate(letters) if letter == word[0].upper()]
        else:
            first, _, last = word.partition("-")
            spokes = list(range(int(first), int(last or first) + 1))[:LONGEST_RUN]
            if not spokes:
                checker.add(origin.key, origin.value, "expected the lower number of the run first")
        for spoke in spokes:
            if len(spokes) == 1 or spoke not in found.missing:
                out[spoke] = out.get(spoke, 0.0) + value
                checker.origins[f"{prefix}.{spoke}"] = origin
    return tuple(sorted(out.items()))
