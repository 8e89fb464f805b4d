"""A tension meter's chart from a CSV file."""

import math
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.files.errors import WIDTH, FileError, FileFault
from wheelsim.files.text import read_text
from wheelsim.readings.chart import Chart, Column, Size

HEADER = ["reading", "force_N"]
SIZED = ["diameter_mm", *HEADER]
WANTED = f"expected a meter's chart, two columns under the header {','.join(HEADER)}"
ONE_WAY = "expected to rise or fall all the way"
Rows: TypeAlias = dict[int, list[float]]  # the numbers of each line that holds some


def read_chart(path: Path) -> Chart:
    """The chart of a CSV file with the header ``reading,force_N`` or ``diameter_mm,reading,force_N``.

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
    return Chart(path.name, tuple(Column(size, *zip(*sorted(some.values()), strict=True))
                                  for size, some in charts.items()))


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
