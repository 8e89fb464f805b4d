"""A tension meter's chart: what it shows against the tension of the spoke."""

import math

import numpy as np

from wheelsim.files.errors import WIDTH, FileError, FileFault
from wheelsim.files.text import read_text

HEADER = ["reading", "force_N"]
WANTED = f"expected a meter's chart, two columns under the header {','.join(HEADER)}"


def read_chart(path):
    """The chart of a CSV file with the header ``reading,force_N``.

    Returns
    -------
    reading, force : (k,) ndarray
        Readings rising; force in newtons.

    Raises
    ------
    FileError
        Unless there are two rows or more, and both columns rise or fall all the way.
    """
    lines = [(i + 1, line) for i, line in enumerate(read_text(path, WANTED).splitlines()) if line.strip()]
    number, header = lines[0]
    if [word.strip() for word in header.split(",")] != HEADER:
        raise FileError([_fault(path, f"line {number}", header, f"expected the header {','.join(HEADER)}")])
    rows = {number: _numbers(line) for number, line in lines[1:]}
    bad = [(number, line) for number, line in lines[1:] if rows[number] is None]
    if bad:
        wanted = "expected two numbers, such as 22.5,980"
        raise FileError([_fault(path, f"line {number}", line, wanted) for number, line in bad])
    if len(rows) < 2:
        raise FileError([_fault(path, "", f"holds {len(rows)} rows", "expected at least two")])
    columns = np.array(list(rows.values())).T
    wanted = "expected to rise or fall all the way"
    faults = [
        _fault(path, name, "turns back or stands still", wanted)
        for name, steps in zip(HEADER, np.diff(columns), strict=True)
        if not (np.all(steps > 0) or np.all(steps < 0))
    ]
    if faults:
        raise FileError(faults)
    return columns[:, np.argsort(columns[0])]


def _fault(path, key, value, expected):
    return FileFault(str(path), key, value[:WIDTH], expected)


def _numbers(line):
    """The two finite numbers of a line, or None."""
    try:
        row = [float(word) for word in line.split(",")]
    except ValueError:
        return None
    return row if len(row) == 2 and all(map(math.isfinite, row)) else None
