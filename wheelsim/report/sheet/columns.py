"""How wide the columns of a table are on paper."""

from wheelsim.report.sheet.blocks import BODY, Table
from wheelsim.report.sheet.fonts import text_width

PAD = 1.2  # between a cell's words and its edges [mm]


def column_widths(table: Table, width: float, size: float = BODY) -> list[float]:
    """Widths of a table's columns that fill a width, with as few broken lines as may be. [mm]

    Columns that ask for no more than their share have what they ask for; the others share the rest.
    """
    columns = list(zip(*([table.head, *table.rows] if any(table.head) else table.rows), strict=True))
    asked = [max(text_width(cell, size, True) for cell in column) + 2 * PAD for column in columns]
    least = [max(text_width(word, size, True) for cell in column for word in (cell.split() or [""])) + 2 * PAD
             for column in columns]
    if sum(asked) <= width:
        spare = (width - sum(asked)) / len(asked)
        return [one + spare for one in asked]
    given = [min(low, width / len(asked)) for low in least]
    left = width - sum(given)
    want = [max(wish - have, 0.0) for wish, have in zip(asked, given, strict=True)]
    share = left / max(sum(want), 1e-9)
    return [have + more * share for have, more in zip(given, want, strict=True)]
