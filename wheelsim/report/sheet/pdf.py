"""A job sheet as PDF: vectors and embedded fonts, the same bytes from the same sheet."""

from datetime import UTC, datetime
from pathlib import Path

import matplotlib
from fpdf import FPDF

from wheelsim.report.sheet.content import Sheet, SheetPass
from wheelsim.report.sheet.picture import Mark

# The font that matplotlib brings, free to embed.
FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
PAPERS = {"A4": (210.0, 297.0), "A5": (148.0, 210.0)}  # ISO 216 [mm]
BODY, HEAD, TITLE = 11, 13, 17  # [pt]
LINE = 5.6  # [mm]


class _Page(FPDF):
    """Pages of one sheet, with a foot that says where they belong."""

    def __init__(self, sheet: Sheet, paper: str) -> None:
        super().__init__(orientation="portrait", unit="mm", format=PAPERS[paper])
        self.sheet, self.small = sheet, paper == "A5"
        for style, name in (("", "DejaVuSans.ttf"), ("B", "DejaVuSans-Bold.ttf")):
            self.add_font("sheet", style, FONTS / name)
        self.set_creation_date(datetime(2000, 1, 1, tzinfo=UTC))  # the same job gives the same file
        self.set_title(sheet.title)
        self.set_margin(10 if self.small else 14)
        self.set_auto_page_break(True, margin=16)

    def footer(self) -> None:
        self.set_y(-12)
        self.set_font("sheet", size=9)
        self.cell(0, 5, f"{self.sheet.title[:60]}   page {self.page_no()}", align="C")

    def head(self, text: str) -> None:
        if self.will_page_break(4 * LINE):
            self.add_page()
        self.ln(1.5)
        self.set_font("sheet", "B", HEAD)
        self.multi_cell(0, LINE + 1, text, align="L", new_x="LMARGIN", new_y="NEXT")
        self.set_font("sheet", size=BODY)

    def text_line(self, text: str, *, bold: bool = False) -> None:
        self.set_font("sheet", "B" if bold else "", BODY)
        self.multi_cell(0, LINE, text, align="L", new_x="LMARGIN", new_y="NEXT")

    def pairs(self, pairs: tuple[tuple[str, str], ...]) -> None:
        wide = 38 if self.small else 42
        for what, value in pairs:
            if self.will_page_break(LINE):
                self.add_page()
            self.set_font("sheet", size=BODY)
            self.cell(wide, LINE, what)
            self.multi_cell(0, LINE, value, align="L", new_x="LMARGIN", new_y="NEXT")

    def box(self, size: float = 4.5, ticked: bool = False) -> None:
        x, y = self.get_x(), self.get_y() + 0.5
        self.set_line_width(0.4)
        self.rect(x, y, size, size)
        if ticked:
            self.line(x, y, x + size, y + size)
            self.line(x, y + size, x + size, y)
        self.set_x(x + size + 2)


def pdf_bytes(sheet: Sheet, paper: str) -> bytes:
    """The sheet on A4 or A5."""
    page = _Page(sheet, paper)
    page.add_page()
    page.set_font("sheet", "B", TITLE)
    page.multi_cell(0, 8, sheet.title, align="L", new_x="LMARGIN", new_y="NEXT")
    page.text_line(f"{sheet.status}. {sheet.verdict}.", bold=True)
    page.text_line(sheet.why)
    page.head("Wheel and limits")
    page.pairs(sheet.wheel + sheet.limits)
    page.head("As it is now")
    page.pairs(sheet.found)
    if sheet.picture:
        _draw(page, sheet.picture)
        page.text_line(sheet.picture_says)
    if sheet.passes:
        page.head("Passes: from the valve round, once each; tick when done")
    for one in sheet.passes:
        _pass(page, one)
    if sheet.then:
        page.head("When all is done")
        page.pairs(sheet.then)
    if sheet.history:
        page.head("Readings so far")
        page.set_font("sheet", size=BODY - (2 if page.small else 0))
        with page.table(text_align="LEFT", line_height=LINE) as table:
            for row in sheet.history:
                table.row(row)
        page.set_font("sheet", size=BODY)
    page.head("Before any turn, by eye and hand")
    for line in sheet.checks:
        page.box()
        page.text_line(line)
    page.head("Cautions")
    for line in sheet.cautions:
        page.text_line(line)
    if page.will_page_break(20):
        page.add_page()
    page.ln(8)
    for word in ("Date", "Name", "Signature"):
        page.cell((page.epw - 6) / 3, LINE, word, border="T")
        page.set_x(page.get_x() + 3)
    return bytes(page.output())


def _pass(page: _Page, one: SheetPass) -> None:
    if page.will_page_break(5 * LINE):
        page.add_page()
    page.box(ticked=one.made is not None)
    page.text_line(f"{one.number}. {one.what}" + (f" ({one.made})" if one.made else ""), bold=True)
    if one.boxes:
        _boxes(page, one)
    if one.then:
        page.text_line(one.then + "." + (" Squeeze parallel pairs once round both flanges, then read." if one.settle
                                         else ""))
        page.text_line("Did: ............  gap ........ mm   true ........ mm   highest ........ N")
    page.ln(1)


def _boxes(page: _Page, one: SheetPass) -> None:
    """A box a nipple in the order they are met, both flanges; those to be turned hold their turn."""
    a_row = 8 if page.small else 12
    wide, high = page.epw / a_row, 2 * LINE
    for start in range(0, len(one.boxes), a_row):
        if page.will_page_break(high + 1):
            page.add_page()
        x, y = page.l_margin, page.get_y()
        for k, box in enumerate(one.boxes[start:start + a_row]):
            page.set_line_width(0.7 if box.turn else 0.15)
            page.rect(x + k * wide, y, wide - 1, high - 0.5)
            page.set_xy(x + k * wide, y)
            page.set_font("sheet", "B" if box.turn else "", BODY)
            page.cell(wide - 1, LINE, f"{box.spoke}{box.side}", align="C")
            if box.turn:
                page.set_xy(x + k * wide, y + LINE - 0.5)
                page.cell(wide - 1, LINE, box.turn, align="C")
        page.set_xy(page.l_margin, y + high)
    page.set_font("sheet", size=BODY)


def _draw(page: _Page, marks: tuple[Mark, ...]) -> None:
    high = 46 if page.small else 58
    if page.will_page_break(high + 4):
        page.add_page()
    left, top, wide = page.l_margin, page.get_y() + 2, page.epw
    page.set_font("sheet", size=9)
    for mark in marks:
        points = [(left + x * wide, top + y * high) for x, y in mark.points]
        page.set_line_width(mark.weight)
        if mark.dashed:
            page.set_dash_pattern(dash=1.2, gap=1)
        if mark.kind == "line":
            page.polyline(points)
        elif mark.kind == "words":
            page.text(points[0][0], points[0][1] + 1, mark.text)
        else:
            page.set_fill_color(0 if mark.kind == "dot" else 255)
            page.circle(points[0][0], points[0][1], 0.9, style="DF")
        if mark.dashed:
            page.set_dash_pattern()
    page.set_xy(page.l_margin, top + high + 3)
