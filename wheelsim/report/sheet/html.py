"""A sheet as one HTML file that prints: style, fonts and pictures inside it, nothing fetched from anywhere."""

from collections.abc import Iterable
from html import escape, unescape
from re import sub

from wheelsim.report.sheet.blocks import (
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
from wheelsim.report.sheet.drawing import Disc, Drawing, Item, Stroke, Words
from wheelsim.report.sheet.fonts import PT, embedded, printable

STYLE = """
@page { size: %(paper)s; margin: %(margin)gmm; }
@font-face { font-family: sheet; src: url(%(regular)s); }
@font-face { font-family: sheet; font-weight: bold; src: url(%(bold)s); }
* { box-sizing: border-box; }
body { font: 11pt/1.27 sheet, sans-serif; color: #222; background: #fff; margin: 0 auto; width: %(inner)gmm; }
@media screen { body { padding: 6mm 0; } }
h1 { font-size: 16pt; margin: 0; }
h2 { font-size: 12.5pt; margin: 1.6mm 0 .4mm; padding-top: .6mm; border-top: .35mm solid #222; break-after: avoid; }
p { margin: 0 0 .8mm; }
.under, footer { color: #6f6f6f; }
footer { margin-top: 3mm; }
ul { list-style: none; margin: 0; padding: 0; }
li, .what { break-inside: avoid; margin-bottom: .6mm; }
.tick { position: relative; padding-left: 6mm; }
.tick::before { content: ""; position: absolute; left: 0; top: .5mm; width: 4mm; height: 4mm;
  border: .35mm solid #222; }
.what { font-weight: bold; }
.step, svg, table { break-inside: avoid; }
.step { margin-bottom: 2.4mm; }
svg { display: block; font-family: sheet, sans-serif; }
table { border-collapse: collapse; width: 100%%; }
th, td { padding: .4mm 1.2mm; text-align: center; border-bottom: .15mm solid #b0b0b0; vertical-align: top; }
th:first-child, td:first-child { text-align: left; }
tr.loud td { font-weight: bold; }
tr.write td { height: 8mm; vertical-align: bottom; border-bottom-color: #222; }
tr.write td:first-child { border-bottom-color: transparent; }
.fields { break-inside: avoid; }
.fields p { display: flex; height: 9.5mm; align-items: end; margin: 0; gap: 2mm; }
.fields span { flex: 1; border-bottom: .25mm solid #222; }
.page { break-before: page; }
"""


def html_text(document: Document) -> str:
    """The sheet as HTML; the same sheet gives the same text."""
    body = "\n".join(_blocks(document))
    shown = unescape(sub(r"<[^>]*>", "", body))
    paper = document.paper
    style = STYLE % {"paper": paper.name, "margin": paper.margin, "inner": paper.inner,
                     "regular": embedded(shown, False), "bold": embedded(shown, True)}
    return (f'<!DOCTYPE html>\n<html lang="{document.language}">\n<head>\n<meta charset="utf-8">\n'
            '<meta name="viewport" content="width=device-width">\n'
            f"<title>{_text(document.title)}</title>\n<style>{style}</style>\n</head>\n<body>\n{body}\n</body>\n"
            "</html>\n")


def _text(text: str) -> str:
    return escape(printable(text))


def _blocks(document: Document) -> Iterable[str]:
    yield f"<h1>{_text(document.title)}</h1>"
    yield f'<p class="under">{_text(document.under)}</p>'
    after_break = False
    for block in document.blocks:
        if isinstance(block, NewPage):
            after_break = True
            continue
        if after_break:
            yield '<div class="page"></div>'
            after_break = False
        yield from _block(block)
    yield f"<footer>{_text(document.foot)}</footer>"


def _block(block: Block) -> Iterable[str]:
    match block:
        case Heading(text):
            yield f"<h2>{_text(text)}</h2>"
        case Paragraph(text, bold):
            yield f"<p><b>{_text(text)}</b></p>" if bold else f"<p>{_text(text)}</p>"
        case TickList(lines, squares):
            mark = ' class="tick"' if squares else ""
            yield "<ul>" + "".join(f"<li{mark}>{_text(line)}</li>" for line in lines) + "</ul>"
        case Table():
            yield _table(block)
        case Picture(drawing):
            yield _svg(drawing)
        case Step(what, table, nipples, then):
            yield f'<div class="step"><p class="tick what">{_text(what)}</p>'
            if nipples is not None:
                yield _svg(nipples)
            if table is not None:
                yield _table(table)
            yield (f"<p>{_text(then)}</p>" if then else "") + "</div>"
        case Fields(labels):
            yield '<div class="fields">' + "".join(f"<p>{_text(label)}<span></span></p>" for label in labels) + "</div>"


def _table(table: Table) -> str:
    rows = []
    if any(table.head):
        rows.append("<tr>" + "".join(f"<th>{_text(cell)}</th>" for cell in table.head) + "</tr>")
    for k, cells in enumerate(table.rows):
        kind = ' class="write"' if not any(cells[1:]) else ' class="loud"' if k in table.bold_rows else ""
        rows.append(f"<tr{kind}>" + "".join(f"<td>{_text(cell)}</td>" for cell in cells) + "</tr>")
    return "<table>" + "\n".join(rows) + "</table>"


def _svg(drawing: Drawing) -> str:
    items = "".join(_item(item) for item in drawing.items)
    return (f'<svg role="img" aria-label="{_text(drawing.alt)}" width="{drawing.width:g}mm" '
            f'height="{drawing.height:g}mm" viewBox="0 0 {drawing.width:g} {drawing.height:g}">{items}</svg>')


def _item(item: Item) -> str:
    if isinstance(item, Words):
        bold = ' font-weight="bold"' if item.bold else ""
        # From the left end that the paper's own font gives, so that PDF and page agree.
        return (f'<text x="{item.span[0]:.2f}" y="{item.place[1]:.2f}" font-size="{item.size * PT:.3f}" '
                f'fill="{item.colour}"{bold}>{_text(item.text)}</text>')
    if isinstance(item, Stroke):
        dash = "" if item.dash is None else f' stroke-dasharray="{item.dash[0]:g} {item.dash[1]:g}"'
        return (f'<polyline points="{_points(item.points)}" fill="none" stroke="{item.colour}" '
                f'stroke-width="{item.width:g}"{dash}/>')
    look = f'fill="{item.fill or "none"}" stroke="{item.edge or "none"}" stroke-width="{item.width:g}"'
    if isinstance(item, Disc):
        return f'<circle cx="{item.centre[0]:.2f}" cy="{item.centre[1]:.2f}" r="{item.radius:g}" {look}/>'
    return f'<polygon points="{_points(item.points)}" {look}/>'


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
