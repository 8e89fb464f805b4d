"""A tension meter's chart: what it shows against the tension of the spoke, for all spokes or a size at a time."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.files.checking import Checker, Origin
from wheelsim.files.errors import WIDTH, FileError, FileFault
from wheelsim.files.text import read_text
from wheelsim.readings.reading import BySpoke
from wheelsim.units import MM
from wheelsim.wheel.parts import Spokes

HEADER = ["reading", "force_N"]
SIZED = ["diameter_mm", *HEADER]
WANTED = f"expected a meter's chart, two columns under the header {','.join(HEADER)}"
ONE_WAY = "expected to rise or fall all the way"
NEAR = 0.05  # how far a spoke may be from the size that a chart is for [mm]
Size: TypeAlias = float | None  # diameter that a chart is for, None for all [mm]
Rows: TypeAlias = dict[int, list[float]]  # the numbers of each line that holds some


def read_chart(path: Path) -> dict[Size, Floats]:
    """The chart of a CSV file with the header ``reading,force_N`` or ``diameter_mm,reading,force_N``.

    Returns
    -------
    dict of float or None to (2, k) ndarray
        Readings, rising, and forces [N] by the spoke's diameter [mm]; under None those for all spokes.

    Raises
    ------
    FileError
        Unless each diameter has two rows or more, and readings and forces rise or fall all the way.
    """
    lines = [(i + 1, line) for i, line in enumerate(read_text(path, WANTED).splitlines()) if line.strip()]
    number, header = lines[0]
    words = [word.strip() for word in header.split(",")]
    if words not in (HEADER, SIZED):
        wanted = ",".join(HEADER if len(words) < len(SIZED) else SIZED)
        raise FileError([_fault(path, f"line {number}", header, f"expected the header {wanted}")])
    read = {number: _numbers(line, words) for number, line in lines[1:]}
    rows = {number: row for number, row in read.items() if row is not None}
    bad = [(number, line) for number, line in lines[1:] if number not in rows]
    if bad:
        wanted = "two numbers, such as 410,980" if words == HEADER else "three numbers, such as 1.8,410,980"
        raise FileError([_fault(path, f"line {number}", line, f"expected {wanted}") for number, line in bad])
    if len(rows) < 2:
        raise FileError([_fault(path, "", f"holds {len(rows)} rows", "expected at least two")])
    charts: dict[Size, Rows]
    if words == HEADER:
        faults = _column_faults(path, np.array(list(rows.values())).T)
        charts = {None: rows}
    else:
        charts = {row[0]: {} for row in rows.values()}
        for number, row in rows.items():
            charts[row[0]][number] = row[1:]
        text = dict(lines)
        faults = [fault for size, some in charts.items() for fault in _size_faults(path, size, some, text)]
    if faults:
        raise FileError(faults)
    columns = {size: np.array(list(some.values())).T for size, some in charts.items()}
    return {size: both[:, np.argsort(both[0])] for size, both in columns.items()}


def _column_faults(path: Path, columns: Floats) -> list[FileFault]:
    return [_fault(path, name, "turns back or stands still", ONE_WAY)
            for name, column in zip(HEADER, columns, strict=True) if _turn(column) is not None]


def _size_faults(path: Path, size: Size, rows: Rows, text: dict[int, str]) -> Iterator[FileFault]:
    """Faults of the rows for one diameter, at the lines where they begin."""
    numbers = list(rows)
    if len(rows) < 2:
        yield _fault(path, f"line {numbers[0]}", text[numbers[0]], f"expected at least two rows for {size:g} mm")
    for name, column in zip(HEADER, np.array(list(rows.values())).T, strict=True):
        turn = _turn(column)
        if turn is not None:
            line = numbers[turn]
            yield _fault(path, f"line {line}", text[line], f"{name} turns back or stands still for {size:g} mm; "
                         f"{ONE_WAY}")


def _turn(column: Floats) -> int | None:
    """Where a column first turns back or stands still, or None."""
    signs = [int(b > a) - int(b < a) for a, b in pairwise(column)]
    return next((k for k, sign in enumerate(signs, 1) if sign == 0 or sign != signs[0]), None)


def _fault(path: Path, key: str, value: str, expected: str) -> FileFault:
    return FileFault(str(path), key, value[:WIDTH], expected)


def _numbers(line: str, header: list[str]) -> list[float] | None:
    """The finite numbers of a line, one for each word of the header, a diameter more than zero; or None."""
    try:
        row = [float(word) for word in line.replace("_", "?").split(",")]  # "1_0" is no number here
    except ValueError:
        return None
    fits = len(row) == len(header) and all(map(math.isfinite, row)) and (header == HEADER or row[0] > 0)
    return row if fits else None


def by_chart(written: BySpoke, prefix: str, origin: Origin, path: Path, spokes: Spokes | None,
             checker: Checker) -> list[float]:
    """Tensions read off the meter's chart; none after faults are added, or where the spokes aren't known.

    Parameters
    ----------
    written : tuple of (int, float)
        Spoke and what the meter shows.
    prefix : str
        Dotted field of the tensions.
    origin : Origin
        Of the chart's name.
    path : Path
    spokes : Spokes or None
        As far as they were read.
    checker : Checker

    Returns
    -------
    list of float
        [N]
    """
    try:
        charts = read_chart(path)
    except FileError as error:
        checker.faults.extend(error.faults)
        return []
    if None in charts:
        chosen: dict[int, tuple[Size, str]] = {spoke: (None, "") for spoke, _ in written}
    elif spokes is None:
        return []
    else:
        chosen = _by_size(written, origin, path, [size for size in charts if size is not None], spokes, checker)
    newtons = []
    for spoke, value in written:
        if spoke not in chosen:
            continue
        size, words = chosen[spoke]
        reading, force = charts[size]
        if not reading[0] <= value <= reading[-1]:
            at = checker.origins[f"{prefix}.{spoke}"]
            checker.add(at.key, at.value,
                        f"expected from {reading[0]:g} to {reading[-1]:g}, the range of {path.name}{words}")
        else:
            newtons.append(float(np.interp(value, reading, force)))
    return newtons if len(newtons) == len(written) else []


def _by_size(written: BySpoke, origin: Origin, path: Path, sizes: list[float], spokes: Spokes,
             checker: Checker) -> dict[int, tuple[Size, str]]:
    """Size of the chart for each spoke, and words for it; a fault for each size that has none."""
    chosen: dict[int, tuple[Size, str]] = {}
    without: dict[float, list[int]] = {}
    for spoke, _ in written:
        # A number beyond the wheel is refused later, by the job's own rule.
        at = spoke - 1 if 1 <= spoke <= len(spokes.sides) else 0
        mm = round(middle_diameter(spokes.side("right" if spokes.sides[at] == "R" else "left").segments) / MM, 4)
        size = min(sizes, key=lambda size: abs(size - mm))
        if abs(size - mm) <= NEAR + 1e-9:
            chosen[spoke] = size, f" for {size:g} mm"
        else:
            without.setdefault(mm, []).append(spoke)
    has = ", ".join(f"{size:g}" for size in sizes)
    for mm, some in without.items():
        which = f"the middle of spoke{'s' if len(some) > 1 else ''} {', '.join(map(str, some))}"
        checker.add(origin.key, origin.value, f"expected a chart for {mm:g} mm, {which}; {path.name} has {has}")
    return chosen


def middle_diameter(segments: Sequence[tuple[float, float]]) -> float:
    """Diameter halfway along a spoke, where the meter sits: of (diameter, length) pairs [m]. [m]"""
    half = sum(length for _, length in segments) / 2
    for diameter, length in segments:
        half -= length
        if half <= 0:
            return diameter
    return segments[-1][0]
