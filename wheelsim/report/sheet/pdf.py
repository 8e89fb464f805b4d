"""Write pages as PDF with vector graphics and embedded fonts; the same pages give the same bytes."""

from collections.abc import Sequence
from datetime import UTC, datetime

from fpdf import FPDF

from wheelsim.report.sheet.font import font_file
from wheelsim.report.sheet.shapes import Area, Drawing, Shape, Stroke, Words

FAMILY = "sheet"
# A PDF has a creation date; a fixed one keeps the bytes reproducible.
NO_TIME = datetime(2000, 1, 1, tzinfo=UTC)


def pdf_bytes(pages: Sequence[Drawing], title: str) -> bytes:
    """The PDF of these pages, each in its own size."""
    pdf = FPDF(unit="mm")
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.c_margin = 0
    pdf.set_creation_date(NO_TIME)
    pdf.set_producer("wheelsim")
    pdf.set_title(title)
    pdf.set_lang("en")
    for bold in (False, True):
        pdf.add_font(FAMILY, "B" if bold else "", font_file(bold))
    pdf.set_font(FAMILY)
    for page in pages:
        pdf.add_page(format=(page.width, page.height))
        for shape in page.shapes:
            _draw(pdf, shape)
    return bytes(pdf.output())


def _draw(pdf: FPDF, shape: Shape) -> None:
    match shape:
        case Words(at=(x, y), text=text, size=size):
            if not text:
                return
            pdf.set_font(FAMILY, "B" if shape.bold else "", size)
            pdf.set_text_color(shape.colour)
            back = {"left": 0.0, "middle": 0.5, "right": 1.0}[shape.align]
            pdf.text(x - back * pdf.get_string_width(text), y, text)
        case Stroke(points=points):
            pdf.set_draw_color(shape.colour)
            pdf.set_line_width(shape.width)
            on, off = (*shape.dash, *shape.dash)[:2] if shape.dash else (0.0, 0.0)
            pdf.set_dash_pattern(on, off)
            pdf.polyline(list(points))
            pdf.set_dash_pattern()
        case Area(points=points):
            if shape.edge:
                pdf.set_draw_color(shape.edge)
                pdf.set_line_width(shape.width)
            if shape.fill:
                pdf.set_fill_color(shape.fill)
            style = ("D" if shape.edge else "") + ("F" if shape.fill else "")
            pdf.polygon(list(points), style=style)
