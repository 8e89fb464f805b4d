"""From the tables of a job file to a Job."""

from pathlib import Path

from wheelsim.files import schema
from wheelsim.files.checking import Checker
from wheelsim.files.errors import FileError
from wheelsim.files.reading_table import reading_from
from wheelsim.files.text import read_toml
from wheelsim.files.wheel_tables import NOTHING, wheel_from
from wheelsim.job.job import Job, Pass, Work, spoke_faults
from wheelsim.readings.reading import Reading
from wheelsim.units import MM


def job_from(tables, path, checker, source):
    """The job, or None after faults are added to the checker.

    Parameters
    ----------
    tables : dict
    path : Path
        Of the job file; the files it names are sought from there.
    checker : Checker
        Of the job file.
    source : str
        What the job calls itself.

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
    readings = [
        reading_from(raw, k, found, checker, path.parent) for k, raw in enumerate(_list(tables, "reading"))
    ]
    work = _work(tables.get("work", {}), checker)
    passes = [_pass(raw, k, found.n, checker) for k, raw in enumerate(_list(tables, "pass"))]
    if found.n is not None:
        # Empty ones hold the places of those that failed.
        some_readings = [reading or Reading() for reading in readings]
        some_passes = [done or Pass(0, ()) for done in passes]
        faults = spoke_faults(found.n, found.missing, some_readings, work or Work(), some_passes,
                              None if found.wheel is None else found.wheel.rim.section_radius)
        checker.translate(faults, own=False)
    if wheel_checker is not checker:
        checker.faults[:0] = wheel_checker.faults
    if checker.faults:
        return None, wheel_checker
    return Job(found.wheel, tuple(readings), work, tuple(passes), source), wheel_checker


def _list(tables, key):
    return tables[key] if isinstance(tables.get(key), list) else []


def _wheel(raw, path, checker):
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


def _work(raw, checker):
    table = checker.table(schema.WorkTable, raw, "work")
    if table is None:
        return None
    checker.trace("work", "work", raw, {
        "step": "step_turns", "stuck": "stuck", "leave": "leave", "margin": "margin",
        "target_dish": "target_dish_mm", "max_turns": "max_turns_per_nipple", "sides": "sides",
        "direction": "direction", "time": "time_s",
    })
    spokes = {"stuck": frozenset(table.stuck or ()), "leave": frozenset(table.leave or ())}
    work = checker.make(
        Work, "work", step=table.step_turns, **spokes,
        margin=table.margin, target_dish=table.target_dish_mm * MM, max_turns=table.max_turns_per_nipple,
        sides=table.sides, direction=table.direction, time=table.time_s,
    )
    # After faults the numbers of the spokes are still asked about.
    return work or Work(**spokes)


def _pass(raw, place, n, checker):
    where = f"pass[{place + 1}]"
    table = checker.table(schema.PassTable, raw, where)
    if table is None:
        return None
    pairs = {}
    for key in ("turns", "planned"):
        turns = getattr(table, key)
        if not isinstance(turns, dict):
            pairs[key] = turns
            continue
        turns = checker.trace_spokes(f"pass.{place}.{key}", where, raw, key, turns, n)
        pairs[key] = tuple(sorted(turns.items()))
    return Pass(table.number, pairs["turns"], pairs["planned"])
