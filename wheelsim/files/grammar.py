"""What a mechanic should write where a TOML file's grammar is broken, and where that is."""

import re

# Tried in this order on the line from the place back: pattern, what stands there, what to write.
SLIPS = (
    (re.compile(r"=\s*(-?\d+),(\d+)(?!.*\])"), "a decimal comma", r"expected a decimal point: \1.\2"),
    (re.compile(r"=\s*(-?\d+ \d+/\d+|-?\d+/\d+)"), "a fraction without quotes", r'expected quotes round it: "\1"'),
    (re.compile(r"=\s*(-?\d+(?:\.\d+)?)\s*([^\W\d]+|%)"), "a unit after a number",
     r"expected the number alone, \1: the unit stands in the key"),
)
ENDS = (
    ("inline table", "a brace that is not closed", "expected } at the end of the table"),
    ("array", "a bracket that is not closed", "expected ] at the end of the list"),
)


def slip(message: str, text: str) -> tuple[int, int, str, str]:
    """Where a file's grammar breaks, what stands there and what to write.

    Parameters
    ----------
    message : str
        What ``tomllib`` says.
    text : str
        The whole file.

    Returns
    -------
    line : int
        From 1.
    column : int
        From 1, of the mark.
    what, expected : str
        ``expected`` is empty where no usual slip is recognised.
    """
    place = re.search(r" \(at line (\d+), column (\d+)\)$", message)
    lines = text.splitlines() or [""]
    line, column = (int(place[1]), int(place[2])) if place else (len(text.rstrip().splitlines()), 0)
    line = min(max(line, 1), len(lines))
    said = message[: place.start()] if place else message.removesuffix(" (at end of document)")
    row = lines[line - 1]
    for pattern, what, expected in SLIPS:
        found = pattern.search(row)
        if found:
            return line, found.start(1) + 1, what, found.expand(expected)
    if "\\" in row and ("escape" in said.lower() or "unescaped" in said.lower() or "hex" in said.lower()):
        quoted = re.search(r'"([^"]*\\[^"]*)"?', row)
        within = quoted[1] if quoted else "C:\\jobs"
        return line, row.index("\\") + 1, "a backslash between double quotes", f"expected single quotes: '{within}'"
    # tomllib notices an open string, list or table where the next line begins.
    if row.count('"') % 2 == 1:
        return line, len(row.rstrip()) + 1, "a quote that is not closed", 'expected " at the end of the word'
    for kind, what, expected in ENDS:
        if kind in said.lower():
            opened = _opened(lines, line, "{" if kind == "inline table" else "[")
            return opened, len(lines[opened - 1].rstrip()) + 1, what, expected
    return line, min(max(column, 1), len(row) + 1), said, ""


def _opened(lines: list[str], line: int, mark: str) -> int:
    """The line, at or before this one, where what is not closed begins."""
    closing = {"{": "}", "[": "]"}[mark]
    for k in range(line, 0, -1):
        row = lines[k - 1]
        if "=" in row and row.count(mark) > row.count(closing):
            return k
    return line


def excerpt(text: str, line: int, column: int, width: int = 100) -> tuple[str, str]:
    """The line and a mark under the place: two lines; a long line is cut about the place."""
    row = text.splitlines()[line - 1] if text.splitlines() else ""
    row = "".join(c if c.isprintable() else " " for c in row)
    start = max(0, column - width // 2)
    return f"    {row[start:start + width]}", f"    {' ' * (column - 1 - start)}^"
