"""The evidence page: every outside check with its source, written to tests/EVIDENCE.md.

From the root of the project: ``python -m tests.published.evidence``.
"""

from importlib import import_module
from pathlib import Path

from tests.published.row import rows_of

HERE = Path(__file__).parent
PAGE = HERE.parent / "EVIDENCE.md"
HEAD = ("Source", "Where", "What", "Printed", "Ours", "Unit", "Difference", "Accepted", "Kind", "Explained")
INTRODUCTION = """# Evidence

Every check of the mechanics against something outside. Written by `python -m tests.published.evidence`
from the rows that the tests assert; don't edit it.

Printed: digits as printed, or the printed formula worked out. Kind: *published* and *measured* values
were read in the source; *value from memory* is standard knowledge, not looked up; *derived* values are
arithmetic on published ones and only cross-checks; *frame library* values come from the same wheel in
another program. Accepted: the difference the tests allow, or "reported" where none is asserted.
"""


def modules():
    """The test modules that state checks, in the order of their names."""
    return [import_module(f"tests.published.{path.stem}") for path in sorted(HERE.glob("test_*.py"))
            if path.stem != "test_evidence"]


def all_rows():
    """(module, its rows) for every module."""
    return [(module, [row for check in module.CHECKS for row in rows_of(check)]) for module in modules()]


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
    return f"{100 * row.difference:+.2f} %"


def _accepted(row):
    if row.span:
        return f"{_number(row.span[0])} to {_number(row.span[1])}"
    parts = [f"{100 * row.rel:g} %"] if row.rel else []
    if row.absolute:
        parts.append(f"{row.absolute:g}" if row.unit == "1" else f"{row.absolute:g} {row.unit}")
    return " + ".join(parts) or "reported"


def cells(row):
    """The row as the page's cells, in the order of HEAD."""
    texts = (row.source, row.where, row.what, _printed(row), _ours(row), "" if row.unit == "1" else row.unit,
             _difference(row), _accepted(row), row.kind, row.remark)
    return tuple(text.replace("|", "/") for text in texts)


def page():
    """The whole page as Markdown."""
    found = all_rows()
    rows = [row for _, some in found for row in some]
    checked = [row for row in rows if row.allowed]
    wrong = sum(not row.holds for row in checked)
    lines = [INTRODUCTION, f"{len(rows)} rows: {len(checked)} checked, {wrong} of them outside what is accepted; "
             f"{len(rows) - len(checked)} reported.\n"]
    for module, some in found:
        first, _, rest = module.__doc__.partition("\n\n")
        lines += [f"## {module.__name__.rpartition('test_')[2].replace('_', ' ').capitalize()}\n",
                  " ".join(first.split()) + "\n"]
        lines += [" ".join(text.split()) + "\n" for text in rest.split("\n\n") if text.strip()]
        lines += ["| " + " | ".join(HEAD) + " |", "|" + "---|" * len(HEAD)]
        lines += ["| " + " | ".join(cells(row)) + " |" for row in some] + [""]
    return "\n".join(lines)


if __name__ == "__main__":
    text = page()
    PAGE.write_text(text, encoding="utf-8")
    print(text)
