"""The evidence page: every outside check with its source, written to tests/EVIDENCE.md.

From the root of the project: ``python -m tests.published.evidence``.
"""

from importlib import import_module
from pathlib import Path

from tests.published.row import rows_of

HERE = Path(__file__).parent
PAGE = HERE.parent / "EVIDENCE.md"
HEAD = ("Source", "Where", "What", "Printed", "Ours", "Unit", "Difference", "Accepted", "Why that wide", "Kind",
        "Under", "Explained")
UNDER = ("prestress", "large turns", "slack")
INTRODUCTION = """# Evidence

Every check of the mechanics against something outside. Written by `python -m tests.published.evidence`
from the rows that the tests assert; don't edit it.

Printed: digits as printed, or the printed formula worked out. Kind: *published* and *measured* values
were read in the source; *value from memory* is standard knowledge, not looked up; *derived* values are
arithmetic on published ones and only cross-checks; *frame library* values come from the same wheel in
another program. Accepted: the difference the tests allow, or "reported" where none is asserted; beside it
why it is that wide. Under: *prestress* where the spokes pull before the load or the turn comes, *large turns*
where nipples go so far that the wheel is followed there, *slack* where spokes have let go.

Difference and Accepted stand in the same measure: "% of printed" is relative; where a fixed amount is accepted,
both are in the row's unit, and of two values in per cent that is percentage points.

Ford 2018 is M. Ford, "Reinventing the Wheel: Stress Analysis, Stability, and Optimization of the Bicycle Wheel",
PhD dissertation, Northwestern University, read as the dissertation's own text of October 2018. Sections are cited
by their titles, in quotation marks; their printed numbers were not seen.
"""
UNSOURCED = (
    ("default limits: 300 to 1200 N, gap 1 mm, run-outs 0.5 mm, spread within a side 20 %", "wheel.parts.Limits",
     "common practice, no source"),
    ("default aims: half of the limits on run-outs and spread, gap 0.3 mm, the limits on tension",
     "wheel.parts.default_aims", "own choice"),
    ("a tyre at pressure takes 10 to 20 % of the tension", "mechanics.tyre.PRACTICE", "common practice, no source"),
    ("spoke steel, Young's modulus 200 GPa where the file gives none", "wheel.parts.Spokes", "own choice"),
    ("aluminium of the rim kinds, 69 GPa and 2700 kg/m3", "wheel.kinds", "value from memory"),
    ("what a named nipple and an excess over an aim cost a plan, in turns", "planning.programme", "own choice"),
)


def modules():
    """The test modules that state checks, in the order of their names."""
    return [import_module(f"tests.published.{path.stem}") for path in sorted(HERE.glob("test_*.py"))
            if path.stem != "test_evidence"]


def absent(module):
    """Whether the module needs a library that isn't here."""
    return hasattr(module, "absent") and module.absent()


def all_rows():
    """(module, its rows) for every module whose library is here."""
    return [(module, [row for check in module.CHECKS for row in rows_of(check)]) for module in modules()
            if not absent(module)]


def _number(value):
    return f"{value:.5g}"


def _printed(row):
    if row.shown:
        return row.shown
    return row.printed if isinstance(row.printed, str) else _number(row.printed)


def _ours(row):
    # Rounding noise differs from machine to machine: only its bound is worth printing.
    if row.value == 0:
        return f"below {row.absolute:g}" if row.ours < row.absolute / 100 else f"{row.ours:.1e}"
    return _number(row.ours)


def _difference(row):
    if row.span:
        return "inside" if row.holds else "outside"
    if row.difference is None or (row.shown and not row.allowed):
        return ""
    if row.absolute and not row.rel:
        # To three digits: the amount is compared with the accepted one, in the same unit.
        return f"{row.ours - row.value:+.3g}{_amount_unit(row)}"
    return f"{100 * row.difference:+.2f} % of printed"


def _amount_unit(row):
    """The unit of a difference of two values of this row, with its space."""
    return {"1": "", "%": " percentage points"}.get(row.unit, f" {row.unit}")


def _accepted(row):
    if row.span:
        return f"{_number(row.span[0])} to {_number(row.span[1])}" + ("" if row.unit == "1" else f" {row.unit}")
    parts = [f"{100 * row.rel:g} % of printed"] if row.rel else []
    if row.absolute:
        parts.append(f"{row.absolute:g}{_amount_unit(row)}")
    return " + ".join(parts) or "reported"


def cells(row):
    """The row as the page's cells, in the order of HEAD."""
    texts = (row.source, row.where, row.what, _printed(row), _ours(row), "" if row.unit == "1" else row.unit,
             _difference(row), _accepted(row), row.why, row.kind, ", ".join(row.under), row.remark)
    return tuple(text.replace("|", "/") for text in texts)


def page():
    """The whole page as Markdown."""
    found = all_rows()
    rows = [row for _, some in found for row in some]
    checked = [row for row in rows if row.allowed]
    wrong = sum(not row.holds for row in checked)
    under = ", ".join(f"{sum(kind in row.under for row in checked)} with {kind}" for kind in UNDER)
    lines = [INTRODUCTION, f"{len(rows)} rows: {len(checked)} checked, {wrong} of them outside what is accepted; "
             f"{len(rows) - len(checked)} reported. Of those checked: {under}.\n"]
    for module, some in found:
        first, _, rest = module.__doc__.partition("\n\n")
        lines += [f"## {module.__name__.rpartition('test_')[2].replace('_', ' ').capitalize()}\n",
                  " ".join(first.split()) + "\n"]
        lines += [" ".join(text.split()) + "\n" for text in rest.split("\n\n") if text.strip()]
        lines += ["| " + " | ".join(HEAD) + " |", "|" + "---|" * len(HEAD)]
        lines += ["| " + " | ".join(cells(row)) + " |" for row in some] + [""]
    lines += ["## Values used without a source\n", "| Value | Where it stands | Kind |", "|---|---|---|"]
    lines += [f"| {value} | `{where}` | {kind} |" for value, where, kind in UNSOURCED] + [""]
    return "\n".join(lines)


if __name__ == "__main__":
    missing = [module.SOURCE for module in modules() if absent(module)]
    if missing:
        raise SystemExit(f"{', '.join(missing)} isn't here, and its rows would be lost: "
                         "pip install -e '.[test,frames]'")
    text = page()
    PAGE.write_text(text, encoding="utf-8")
    print(text)
