"""Layout of a sheet for print: blocks to drawings of a given width, drawings to pages."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from wheelsim.report.sheet.blocks import (
    WIDE,
    Beside,
    Block,
    Boxes,
    Card,
    Columns,
    Fill,
    Heading,
    NewPage,
    Paper,
    Picture,
    Rows,
    Sheet,
    Text,
    Tick,
    Ticks,
)
from wheelsim.report.sheet.font import Run, known, text_width, wrapped
from wheelsim.report.sheet.shapes import (
    GREY,
    LINE,
    PT,
    TYPE,
    Drawing,
    Shape,
    Words,
    box,
    line,
    moved,
    stacked,
    tick_box,
)

TITLE, HEAD = 17.0, 13.0  # font sizes [pt]
GAP, HEAD_GAP = 1.2, 2.6  # space between blocks, and before a heading [mm]
PAD = 1.6  # space inside a frame and between columns [mm]
FOOT = 6.4  # height of the footer [mm]
STRETCHES = (1.3, 1.0, 0.8, 0.65)  # factors tried on the height of pictures, the preferred one first
LEAST_CELL = 6.6  # least width of a nipple's box [mm]


@dataclass(frozen=True)
class Piece:
    """A drawing that is kept on one page."""

    drawing: Drawing
    gap: float = GAP  # space before it [mm]
    keep: bool = False  # no page break after it
    new: bool = False  # starts a new page
    again: Drawing | None = None  # drawn above it if it is the first on a page: the head of its table


def type_lines(runs: Sequence[Run], width: float, size: float = TYPE, left: float = 0.0) -> list[Drawing]:
    """A paragraph as drawings, one per line; ``left`` is an indent. [mm, pt]"""
    out = []
    for one in wrapped([(known(text), bold) for text, bold in runs], width - left, size):
        x, shapes = left, []
        for text, bold in one:
            shapes.append(Words((x, size * PT), text, size, bold))
            x += text_width(f"{text} ", size, bold)
        out.append(Drawing(width, size * LINE * PT, tuple(shapes)))
    return out


def pieces(block: Block, width: float, stretch: float = 1.0) -> Iterator[Piece]:
    """The pieces of a block, between which a page may break; ``stretch`` is a factor on the height of pictures."""
    match block:
        case Heading(text):
            yield Piece(stacked(type_lines([(text, True)], width, HEAD), width), HEAD_GAP, keep=True)
        case Text(text, head, size):
            lines = type_lines([(head, True), (text, False)], width, size)
            for k, one in enumerate(lines):
                yield Piece(one, 0.0 if k else GAP, keep=k == 0 and len(lines) < 4)
        case Tick(text, head, done):
            yield Piece(_tick(text, head, done, width))
        case Ticks(texts):
            yield Piece(_ticks(texts, width))
        case Rows():
            yield from _rows(block, width)
        case Fill(labels):
            yield Piece(_fill(labels, width))
        case Boxes(cells):
            yield Piece(_boxes(cells, width))
        case Picture(draw, _):
            yield Piece(draw(width, stretch))
        case Card(blocks):
            inside = _together(blocks, width - 2 * PAD)
            frame = box(0, 0, width, inside.height + 2 * PAD, line=0.35)
            yield Piece(Drawing(width, inside.height + 2 * PAD,
                                (frame, *(moved(shape, PAD, PAD) for shape in inside.shapes))))
        case Beside(picture, blocks, share):
            yield Piece(_beside(picture, blocks, share, width))
        case Columns(left, right, share):
            if width < WIDE:
                yield from (piece for one in (*left, *right) for piece in pieces(one, width))
            else:
                yield Piece(_columns(left, right, share, width))
        case NewPage():
            yield Piece(Drawing(width, 0.0, ()), 0.0, keep=True, new=True)


def _together(blocks: Sequence[Block], width: float) -> Drawing:
    """Blocks below each other as one drawing."""
    shapes: list[Shape] = []
    y = 0.0
    for k, piece in enumerate(piece for block in blocks for piece in pieces(block, width)):
        y += piece.gap if k else 0.0
        shapes += [moved(shape, 0.0, y) for shape in piece.drawing.shapes]
        y += piece.drawing.height
    return Drawing(width, y, tuple(shapes))


def _columns(left: Sequence[Block], right: Sequence[Block], share: float, width: float) -> Drawing:
    space = 4 * PAD
    first, second = (_together(left, share * width), _together(right, (1 - share) * width - space))
    shapes = (*first.shapes, *(moved(shape, share * width + space, 0.0) for shape in second.shapes))
    return Drawing(width, max(first.height, second.height), shapes)


def _beside(picture: Picture, blocks: Sequence[Block], share: float, width: float) -> Drawing:
    drawn = picture.draw(share * width, 1.0)
    left = share * width + 2 * PAD
    words = _together(blocks, width - left)
    height = max(drawn.height, words.height)
    shapes = [moved(shape, 0.0, (height - drawn.height) / 2) for shape in drawn.shapes]
    return Drawing(width, height, (*shapes, *(moved(s, left, (height - words.height) / 2) for s in words.shapes)))


def _tick(text: str, head: str, done: bool, width: float) -> Drawing:
    size = 1.15 * TYPE * PT
    words = stacked(type_lines([(head, True), (text, False)], width, left=size + PAD), width)
    return Drawing(width, words.height, (*tick_box(0.2, 0.15, size, done), *words.shapes))


def _ticks(texts: Sequence[str], width: float) -> Drawing:
    """Boxes with text in rows, as many per row as fit."""
    size, high = TYPE * PT, TYPE * LINE * PT + 0.8
    shapes: list[Shape] = []
    x = y = 0.0
    for text in texts:
        lines = type_lines([(text, False)], width, left=size + PAD)
        wide = size + PAD + text_width(known(text), TYPE) + 3.0
        if x and x + wide - 3.0 > width:
            x, y = 0.0, y + high
        shapes += [*tick_box(x + 0.2, y + 0.3, size, False),
                   *(moved(shape, x, y) for shape in stacked(lines, width).shapes)]
        x, y = (x + wide, y) if len(lines) == 1 else (0.0, y + high * len(lines))
    return Drawing(width, y + (high if x else 0.0), tuple(shapes))


def _rows(table: Rows, width: float) -> Iterator[Piece]:
    """A table, one piece per row. Columns are as wide as their widest cell; the first takes the rest."""
    edges = _edges(table, width)
    head: Drawing | None = None
    written = [j for j in range(1, len(table.columns)) if any(row[j] is None for row in table.rows)]
    for k, cells in enumerate((table.columns, *table.rows)):
        columns = [type_lines([(cell or "", k == 0)], edges[j + 1] - edges[j] - (2 * PAD if j else PAD))
                   for j, cell in enumerate(cells)]
        high = max(len(lines) for lines in columns) * TYPE * LINE * PT + 0.6
        shapes: list[Shape] = [line(0, high, width, high, 0.35 if k == 0 else 0.15, GREY)]
        shapes += [line(edges[j], 0, edges[j], high, 0.15, GREY) for j in written]
        for j, lines in enumerate(columns):
            for word in (shape for shape in stacked(lines, width).shapes if isinstance(shape, Words)):
                at = (edges[j + 1] - PAD if j else 0.0, word.at[1] + 0.3)
                shapes.append(replace(word, at=at, align="right" if j else "left"))
        row = Drawing(width, high, tuple(shapes))
        yield Piece(row, 0.0 if k else GAP, keep=k == 0 or k == len(table.rows) - 1, again=head)
        head = head or row


def _edges(table: Rows, width: float) -> list[float]:
    """Left edges of a table's columns, and its right edge. [mm]"""
    widths = []
    for j, column in enumerate(table.columns):
        cells = [known(row[j] or "") for row in table.rows]
        heads = known(column).split(" ")
        widest = [text_width(cell, TYPE) for cell in cells] + [text_width(word, TYPE, True) for word in heads]
        widths.append(max(max(widest), 17.0 if any(row[j] is None for row in table.rows) else 0.0) + 2 * PAD)
    widths[0] = width - sum(widths[1:])
    return [sum(widths[:j]) for j in range(len(widths) + 1)]


def _fill(labels: Sequence[tuple[str, float]], width: float) -> Drawing:
    """Labels with lines to write on, as many per row as fit; the lines share the remaining width."""
    high = 7.4  # row height for handwriting [mm]
    rows: list[list[tuple[str, float]]] = [[]]
    used = 0.0
    for label, room in labels:
        wide = text_width(label, TYPE) + 1.0 + room + PAD
        if rows[-1] and used + wide > width + PAD:
            rows.append([])
            used = 0.0
        rows[-1].append((label, room))
        used += wide
    shapes: list[Shape] = []
    for k, row in enumerate(rows):
        left = width + PAD - sum(text_width(label, TYPE) + 1.0 + room + PAD for label, room in row)
        x, base = 0.0, k * high + high - 2.0
        for label, room in row:
            shapes.append(Words((x, base), label))
            x += text_width(label, TYPE) + 1.0
            wide = room + max(left, 0.0) / len(row)
            shapes.append(line(x, base + 0.8, x + wide, base + 0.8, 0.2))
            x += wide + PAD
    return Drawing(width, len(rows) * high, tuple(shapes))


def _boxes(cells: Sequence[tuple[int, str]], width: float) -> Drawing:
    """Per nipple its number above a box with the amount and room to tick; a dash where it is not turned."""
    widest = max([LEAST_CELL, *(text_width(amount, TYPE, True) + 1.0 for _, amount in cells)])
    rows = -(-len(cells) * widest // width)
    a_row = int(-(-len(cells) // rows))
    wide = width / a_row
    number, body = TYPE * LINE * PT, 1.75 * TYPE * LINE * PT
    shapes: list[Shape] = []
    for k, (spoke, amount) in enumerate(cells):
        x, y = (k % a_row) * wide, (k // a_row) * (number + body + 1.0)
        shapes.append(Words((x + wide / 2, y + TYPE * PT), str(spoke), align="middle"))
        if amount:
            shapes.append(box(x + 0.3, y + number, wide - 0.6, body, line=0.4))
            shapes.append(Words((x + wide / 2, y + number + TYPE * PT + 0.3), amount, bold=True, align="middle"))
        else:
            middle = y + number + body / 2
            shapes.append(line(x + wide / 2 - 1, middle, x + wide / 2 + 1, middle, 0.3, GREY))
    return Drawing(width, rows * (number + body + 1.0), tuple(shapes))


def pages(sheet: Sheet, paper: Paper) -> list[Drawing]:
    """The pages of a sheet: as few as possible, and with that number the highest pictures of ``STRETCHES``."""
    done = min((_flow(sheet, paper, stretch) for stretch in STRETCHES), key=len)
    return [Drawing(paper.width, paper.height, (*shapes, *_foot(sheet, paper, k + 1, len(done))))
            for k, shapes in enumerate(done)]


def _flow(sheet: Sheet, paper: Paper, stretch: float) -> list[list[Shape]]:
    """The shapes of each page, with this factor on the height of pictures; pieces with ``keep`` stay together."""
    width = paper.inside
    top = paper.height - 2 * paper.margin - FOOT
    flow = [Piece(one, 0.0, keep=True) for one in type_lines([(sheet.title, True)], width, TITLE)]
    flow += [Piece(one, 0.0, keep=True) for one in type_lines([(sheet.about, False)], width)]
    flow += [piece for block in sheet.blocks for piece in pieces(block, width, stretch)]
    groups: list[list[Piece]] = [[]]
    for piece in flow:
        groups[-1].append(piece)
        if not piece.keep:
            groups.append([])
    done: list[list[Shape]] = [[]]
    y = 0.0
    for group in (one for one in groups if one):
        tall = sum(piece.gap + piece.drawing.height for piece in group)
        if done[-1] and (y + tall > top or group[0].new):
            done.append([])
            y = 0.0
        if not done[-1] and group[0].again is not None:
            group.insert(0, Piece(group[0].again))
        for piece in group:
            y += piece.gap if done[-1] else 0.0
            done[-1] += [moved(shape, paper.margin, paper.margin + y) for shape in piece.drawing.shapes]
            y += piece.drawing.height
    return [shapes for shapes in done if shapes]


def _foot(sheet: Sheet, paper: Paper, number: int, of: int) -> Iterator[Shape]:
    """Footer: the sheet's text, cut to fit, and the page number."""
    base = paper.height - paper.margin
    count = f"page {number} of {of}"
    yield line(paper.margin, base - 5.0, paper.width - paper.margin, base - 5.0, 0.2, GREY)
    yield Words((paper.width - paper.margin, base), count, align="right")
    room = paper.inside - text_width(count, TYPE) - 2 * PAD
    text = known(sheet.foot)
    while text and text_width(text, TYPE) > room:
        text = text[:-1]
    yield Words((paper.margin, base), text)
