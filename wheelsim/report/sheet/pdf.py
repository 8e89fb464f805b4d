"""A sheet as PDF: blocks set one under another, pages broken between what belongs together."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from fpdf import FPDF

from wheelsim.report.sheet.blocks import (
    BODY,
    Block,
    Document,
    Fields,
    Heading,
    NewPage,
    Paragraph,
    Picture,
    Step,
    Table,
    TickList,
)
from wheelsim.report.sheet.columns import PAD, column_widths
from wheelsim.report.sheet.drawing import CAP, FAINT, INK, RULE, Disc, Drawing, Item, Stroke, Words
from wheelsim.report.sheet.fonts import PT, font_paths, printable, wrap

LEADING = 1.27  # of one line to the next, over the size of type
TITLE, HEAD = 16.0, 12.5  # [pt]
SQUARE = 4.0  # to tick [mm]
WRITE = 8.0  # height of a row to write in [mm]
GAP = 1.6  # between blocks [mm]
FOOT = 7.0  # kept free for the foot of a page [mm]


@dataclass(frozen=True)
class _Unit:
    """What is never parted: its height [mm], how to draw it with its top at a height, whether the next belongs to it."""

    height: float
    draw: Callable[[float], None]
    keep: bool = False
    new_page: bool = False


def pdf_bytes(document: Document) -> bytes:
    """The sheet as PDF; the same sheet gives the same bytes."""
    return _Setter(document).finish()


def line_height(size: float) -> float:
    return size * PT * LEADING


class _Setter:
    """Sets one document."""

    def __init__(self, document: Document) -> None:
        self.document, self.paper = document, document.paper
        self.pdf = FPDF(unit="mm", format=(self.paper.width, self.paper.height))
        self.pdf.set_auto_page_break(False)
        self.pdf.set_title(printable(document.title))
        self.pdf.set_lang(document.language)
        self.pdf.set_creation_date(datetime(2000, 1, 1, tzinfo=UTC))  # never the clock: same job, same bytes
        for bold, path in font_paths().items():
            self.pdf.add_font("sheet", "B" if bold else "", path)

    def finish(self) -> bytes:
        pages = self._pages(list(self._units()))
        for number, placed in enumerate(pages, 1):
            self.pdf.add_page()
            for top, unit in placed:
                unit.draw(top)
            bottom = self.paper.height - self.paper.margin
            of = f"page {number} of {len(pages)}"
            self._words(Words((self.paper.width - self.paper.margin, bottom), of, BODY, "end", colour=FAINT))
            room = self.paper.inner - 34.0
            self._words(Words((self.paper.margin, bottom), wrap(printable(self.document.foot), room, BODY)[0], BODY,
                              colour=FAINT))
        return bytes(self.pdf.output())

    def _pages(self, units: Sequence[_Unit]) -> list[list[tuple[float, _Unit]]]:
        """Units with their tops, page by page."""
        top, bottom = self.paper.margin, self.paper.height - self.paper.margin - FOOT
        pages: list[list[tuple[float, _Unit]]] = [[]]
        at, k = top, 0
        while k < len(units):
            end = k
            while units[end].keep and end + 1 < len(units):
                end += 1
            group = units[k:end + 1]
            tall = sum(unit.height for unit in group)
            if pages[-1] and (group[0].new_page or (at + tall > bottom and tall <= bottom - top)):
                pages.append([])
                at = top
            for unit in group:
                if at + unit.height > bottom and pages[-1]:
                    pages.append([])
                    at = top
                pages[-1].append((at, unit))
                at += unit.height
            k = end + 1
        return pages

    def _units(self) -> Iterator[_Unit]:
        yield from self._text(self.document.title, TITLE, True, keep=True)
        yield from self._text(self.document.under, BODY, False, colour=FAINT)
        new_page = False
        for block in self.document.blocks:
            if isinstance(block, NewPage):
                new_page = True
                continue
            yield _Unit(GAP, lambda top: None, keep=True, new_page=new_page)
            new_page = False
            yield from self._block(block)

    def _block(self, block: Block) -> Iterator[_Unit]:
        match block:
            case Heading(text):
                yield _Unit(1.0, self._rule, keep=True)
                yield from self._text(text, HEAD, True, keep=True)
            case Paragraph(text, bold):
                yield from self._text(text, BODY, bold)
            case TickList(lines, squares):
                for line in lines:
                    yield self._ticked(line, squares)
            case Table():
                yield from self._table(block)
            case Picture(drawing):
                yield self._picture(drawing)
            case Step():
                yield from self._step(block)
            case Fields(labels):
                yield from self._fields(labels)

    def _text(self, text: str, size: float, bold: bool, *, keep: bool = False, colour: str = INK) -> Iterator[_Unit]:
        """A paragraph, whole: sheets have short ones."""
        lines = wrap(printable(text), self.paper.inner, size, bold)
        tall = line_height(size)

        def draw(top: float) -> None:
            for k, line in enumerate(lines):
                self._line(self.paper.margin, top + k * tall, line, size, bold, colour)

        yield _Unit(tall * len(lines) + 0.4, draw, keep)

    def _line(self, left: float, top: float, text: str, size: float = BODY, bold: bool = False,
              colour: str = INK) -> None:
        """One line of type under a top."""
        self._words(Words((left, top + (line_height(size) + CAP * size * PT) / 2), text, size, "start", bold, colour))

    def _ticked(self, line: str, square: bool, bold: bool = False) -> _Unit:
        inset = SQUARE + 2.0 if square else 0.0
        lines = wrap(printable(line), self.paper.inner - inset, BODY, bold)
        tall = line_height(BODY)

        def draw(top: float) -> None:
            if square:
                self._draw_item(_square(self.paper.margin, top + (tall - SQUARE) / 2), 0.0, 0.0)
            for k, text in enumerate(lines):
                self._line(self.paper.margin + inset, top + k * tall, text, BODY, bold)

        return _Unit(tall * len(lines) + 0.6, draw)

    def _picture(self, drawing: Drawing) -> _Unit:
        def draw(top: float) -> None:
            for item in drawing.items:
                self._draw_item(item, self.paper.margin, top)

        return _Unit(drawing.height + 1.0, draw)

    def _step(self, step: Step) -> Iterator[_Unit]:
        head = self._ticked(step.what, True, bold=True)
        rest = [] if step.nipples is None else [self._picture(step.nipples)]
        if step.table is not None:
            rest += self._table(step.table)
        if step.then:
            rest += self._text(step.then, BODY, False)
        units = [head, *rest]
        for k, unit in enumerate(units):
            yield _Unit(unit.height, unit.draw, keep=k + 1 < len(units))
        yield _Unit(1.2, lambda top: None)

    def _table(self, table: Table) -> Iterator[_Unit]:
        widths = column_widths(table, self.paper.inner)
        rows = [(cells, k in table.bold_rows) for k, cells in enumerate(table.rows)]
        if any(table.head):
            rows.insert(0, (table.head, True))
        for k, (cells, bold) in enumerate(rows):
            yield self._row(cells, widths, bold, keep=k + 1 < len(rows) and len(rows) < 16)

    def _row(self, cells: Sequence[str], widths: Sequence[float], bold: bool, *, keep: bool) -> _Unit:
        wrapped = [wrap(printable(cell), width - 2 * PAD + 0.01, BODY, bold)
                   for cell, width in zip(cells, widths, strict=True)]
        tall = line_height(BODY)
        to_write = not any(cells[1:])
        height = WRITE if to_write else tall * max(len(lines) for lines in wrapped) + 0.8

        def draw(top: float) -> None:
            left = self.paper.margin
            for k, (lines, width) in enumerate(zip(wrapped, widths, strict=True)):
                for at, text in enumerate(lines):
                    base = top + at * tall + 0.4 + (line_height(BODY) + CAP * BODY * PT) / 2
                    if to_write:
                        base = top + WRITE - 2.0
                    place = (left + PAD, base) if k == 0 else (left + width / 2, base)
                    self._words(Words(place, text, BODY, "start" if k == 0 else "middle", bold))
                if to_write and k:
                    self._draw_item(Stroke(((left + PAD, top + WRITE - 1.2), (left + width - PAD, top + WRITE - 1.2)),
                                           INK), 0.0, 0.0)
                left += width
            if not to_write:
                self._draw_item(Stroke(((self.paper.margin, top + height), (left, top + height)), RULE, 0.15), 0.0, 0.0)

        return _Unit(height, draw, keep)

    def _fields(self, labels: Sequence[str]) -> Iterator[_Unit]:
        for label in labels:
            def draw(top: float, label: str = label) -> None:
                base = top + 8.0
                words = Words((self.paper.margin, base), printable(label))
                self._words(words)
                self._draw_item(Stroke(((words.span[1] + 2.0, base + 0.6),
                                        (self.paper.width - self.paper.margin, base + 0.6)), INK), 0.0, 0.0)

            yield _Unit(9.5, draw, keep=label != labels[-1])

    def _rule(self, top: float) -> None:
        self._draw_item(Stroke(((self.paper.margin, top), (self.paper.width - self.paper.margin, top)), INK, 0.35),
                        0.0, 0.0)

    def _draw_item(self, item: Item, left: float, top: float) -> None:
        if isinstance(item, Words):
            self._words(item, left, top)
            return
        self.pdf.set_line_width(item.width)
        if isinstance(item, Stroke):
            self.pdf.set_draw_color(item.colour)
            self.pdf.set_dash_pattern(*(item.dash or (0, 0)))
            self.pdf.polyline([(left + x, top + y) for x, y in item.points])
            self.pdf.set_dash_pattern()
            return
        style = ("D" if item.edge else "") + ("F" if item.fill else "")
        if item.edge:
            self.pdf.set_draw_color(item.edge)
        if item.fill:
            self.pdf.set_fill_color(item.fill)
        if isinstance(item, Disc):
            self.pdf.circle(left + item.centre[0], top + item.centre[1], item.radius, style=style)
        else:
            self.pdf.polygon([(left + x, top + y) for x, y in item.points], style=style)

    def _words(self, words: Words, left: float = 0.0, top: float = 0.0) -> None:
        self.pdf.set_font("sheet", "B" if words.bold else "", words.size)
        self.pdf.set_text_color(words.colour)
        if words.text:
            self.pdf.text(left + words.span[0], top + words.place[1], words.text)


def _square(left: float, top: float) -> Item:
    drawing = Drawing(SQUARE, SQUARE, "")
    drawing.box(left, top, SQUARE, SQUARE, line=0.35)
    return drawing.items[0]
