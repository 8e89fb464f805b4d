"""The scores of a class in a table: a row for each learner and level."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import PurePath
from typing import TypeAlias

from rich.table import Table

from wheelsim.practice.faults import LEVELS
from wheelsim.practice.made import PracticeError
from wheelsim.practice.score import read_scores
from wheelsim.report.terminal.shared import columns_table
from wheelsim.units import turns_text

Result: TypeAlias = Mapping[str, object]
ORDER = {level.name: level.number for level in LEVELS}


def class_table(paths: Sequence[str]) -> Table:
    """Every learner's results, level by level.

    Parameters
    ----------
    paths : sequence of str
        Files of scores. A result without a name is told under its file's.

    Raises
    ------
    PracticeError
        If a file is not there, is no file of scores, or there is no result in any.
    """
    results: dict[tuple[str, str], list[Result]] = {}
    for path in paths:
        for one in read_scores(path):
            if isinstance(level := one.get("level"), str):
                name = one.get("name")
                key = (name if isinstance(name, str) and name else PurePath(path).stem, level)
                results.setdefault(key, []).append(one)
    if not results:
        raise PracticeError(f"{', '.join(paths)}: no result in there; expected scores, as --score keeps them")
    table = columns_table("learner", "level", "tries", "passed", "first at try", "fewest turns", "hints",
                          "predictions right")
    for (name, level), rows in sorted(results.items(), key=lambda item: (item[0][0], ORDER.get(item[0][1], 99))):
        table.add_row(name, f"{ORDER.get(level, '')} {level}".strip(), *_cells(rows))
    return table


def _cells(rows: Sequence[Result]) -> Iterable[str]:
    passed = [k for k, one in enumerate(rows) if one.get("success") is True]
    yield str(len(rows))
    yield str(len(passed))
    yield str(passed[0] + 1) if passed else "-"
    turns = [float(amount) for k in passed if (amount := _number(rows[k].get("you"), "turns")) is not None]
    yield turns_text(min(turns)) if turns else "-"
    hints = [_number(one, "hints") for one in rows]
    yield f"{sum(count for count in hints if count is not None):g}" if any(h is not None for h in hints) else "-"
    right, told = (sum(_number(one.get("predictions"), key) or 0 for one in rows) for key in ("right", "told"))
    if told:
        yield f"{right:g} of {told:g}"
    else:  # the first level asks questions instead
        right, asked = (sum(_number(one, key) or 0 for one in rows) for key in ("right", "of"))
        yield f"answers {right:g} of {asked:g}" if asked else "-"


def _number(table: object, key: str) -> float | None:
    """A number of a table as it was kept, or None where there is none."""
    value = table.get(key) if isinstance(table, Mapping) else None
    return value if isinstance(value, int | float) and not isinstance(value, bool) else None
