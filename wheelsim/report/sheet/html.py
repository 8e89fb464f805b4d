"""Write a sheet as a single self-contained HTML file: drawings and fonts embedded, no external references."""

import base64
import io
from collections.abc import Sequence
from html import escape

from fontTools import subset
from fontTools.ttLib import TTFont

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
from wheelsim.report.sheet.font import font_file, known
from wheelsim.report.sheet.layout import HEAD, TITLE
from wheelsim.report.sheet.shapes import TYPE, Area, Drawing, Shape, Stroke, Words

STYLE = """
@page { size: %(paper)s; margin: %(margin)gmm %(margin)gmm %(below)gmm;
  @bottom-left { content: "%(foot)s"; font: %(type)gpt Sheet, sans-serif; }
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: %(type)gpt Sheet, sans-serif; } }
* { box-sizing: border-box; }
body { font: %(type)gpt/1.32 Sheet, "DejaVu Sans", sans-serif; color: #000; max-width: %(inside)gmm; margin: 0 auto; }
@media screen { body { padding: 6mm 2mm; } }
h1 { font-size: %(title)gpt; margin: 0; } h2 { font-size: %(head)gpt; margin: 3.4mm 0 0; break-after: avoid; }
p { margin: 1.6mm 0 0; orphans: 2; widows: 2; }
table { border-collapse: collapse; width: 100%%; margin-top: 1.6mm; break-inside: avoid; }
td, th { text-align: right; padding: .5mm 2mm; border-bottom: .2mm solid #6e6e6e; }
td:first-child, th:first-child { text-align: left; padding-left: 0; }
td.write { border-left: .2mm solid #6e6e6e; min-width: 20mm; }
.tick { padding-left: 7mm; position: relative; break-inside: avoid; }
.tick > i { position: absolute; left: .2mm; top: .3mm; width: 4.4mm; height: 4.4mm; border: .4mm solid #000;
  font: bold 11pt/3.6mm Sheet, sans-serif; text-align: center; }
.ticks .tick { display: inline-block; margin-right: 3mm; }
.fill { display: flex; flex-wrap: wrap; column-gap: 2mm; margin-top: 1.6mm; }
.fill span { flex: 1 0 auto; display: flex; align-items: end; height: 8mm; }
.fill span i { flex: 1; border-bottom: .2mm solid #000; margin-left: 1mm; }
.card { border: .35mm solid #000; padding: 2mm; margin-top: 1.6mm; break-inside: avoid; }
.card > :first-child { margin-top: 0; }
.boxes { display: grid; grid-template-columns: repeat(auto-fit, minmax(%(cell)gmm, 1fr)); gap: .6mm;
  margin-top: 1.6mm; }
.boxes div { text-align: center; } .boxes b { display: block; border: .4mm solid #000; height: 9mm; }
.boxes i { display: block; height: 9mm; font-style: normal; line-height: 9mm; }
.beside { display: grid; gap: 4mm; align-items: center; margin-top: 1.6mm; break-inside: avoid; }
.columns { display: grid; column-gap: 6mm; }
.columns > div > :first-child { margin-top: 1.2mm; }
svg { display: block; max-width: 100%%; height: auto; margin-top: 1.6mm; break-inside: avoid; }
.new { break-before: page; height: 0; margin: 0; }
"""


def html_bytes(sheet: Sheet, paper: Paper) -> bytes:
    """The HTML of a sheet for a paper size, as UTF-8."""
    parts = [part for block in sheet.blocks for part in _block(block, paper.inside)]
    body = "\n".join((f"<h1>{_text(sheet.title)}</h1>", f"<p>{_text(sheet.about)}</p>", *parts))
    foot = known(sheet.foot).replace("\\", "\\\\").replace('"', '\\"').replace("<", "\\3c ")
    wide = max((len(amount) for _, amount in _amounts(sheet.blocks)), default=3)
    style = STYLE % {"paper": paper.name, "margin": paper.margin, "below": paper.margin + 4, "foot": foot, "type": TYPE,
                     "inside": paper.inside, "title": TITLE, "head": HEAD, "cell": max(6.6, 2.3 * wide)}
    page = (f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{_text(sheet.title)}</title>\n'
            f'<meta name="viewport" content="width=device-width, initial-scale=1">\n<style>{_faces(body + foot)}{style}'
            f"</style></head>\n<body>\n{body}\n</body></html>\n")
    return page.encode("utf-8")


def _amounts(blocks: Sequence[Block]) -> list[tuple[int, str]]:
    """All cells of ``Boxes`` in these blocks; their longest amount sets the width of the boxes."""
    found: list[tuple[int, str]] = []
    for one in blocks:
        if isinstance(one, Boxes):
            found += one.cells
        elif isinstance(one, Card | Beside):
            found += _amounts(one.blocks)
        elif isinstance(one, Columns):
            found += _amounts((*one.left, *one.right))
    return found


def _faces(used: str) -> str:
    """CSS with both font faces embedded, reduced to the letters used."""
    out = []
    for bold in (False, True):
        options = subset.Options(drop_tables=[*subset.Options().drop_tables, "FFTM"], flavor="woff",
                                 notdef_outline=True,
                                 layout_features=[], hinting=False, recalc_timestamp=False)
        with TTFont(font_file(bold), recalcTimestamp=False) as face:
            cutter = subset.Subsetter(options)
            cutter.populate(text=used + "0123456789 pageof" + "\N{REPLACEMENT CHARACTER}\N{CHECK MARK}")
            cutter.subset(face)
            face.flavor = "woff"
            held = io.BytesIO()
            face.save(held)
        data = base64.b64encode(held.getvalue()).decode("ascii")
        out.append(f'@font-face {{ font-family: Sheet; font-weight: {"bold" if bold else "normal"}; '
                   f'src: url(data:font/woff;base64,{data}) format("woff"); }}\n')
    return "".join(out)


def _text(text: str) -> str:
    return escape(known(text))


def _headed(head: str, text: str) -> str:
    return (f"<b>{_text(head)}</b> " if head else "") + _text(text)


def _block(block: Block, width: float) -> list[str]:
    """HTML lines of a block of this width. [mm]"""
    match block:
        case Heading(text):
            return [f"<h2>{_text(text)}</h2>"]
        case Text(text, head, size):
            style = "" if size == TYPE else f' style="font-size:{size:g}pt"'
            return [f"<p{style}>{_headed(head, text)}</p>"]
        case Tick(text, head, done):
            return [f'<p class="tick"><i>{"✓" if done else ""}</i>{_headed(head, text)}</p>']
        case Ticks(texts):
            return ['<p class="ticks">' + " ".join(f'<span class="tick"><i></i>{_text(text)}</span>' for text in texts)
                    + "</p>"]
        case Rows():
            return _rows(block)
        case Fill(labels):
            return ['<div class="fill">' + "".join(
                f'<span style="min-width:{room + 1:g}mm">{_text(label)}<i style="min-width:{room:g}mm"></i></span>'
                for label, room in labels) + "</div>"]
        case Boxes(cells):
            return ['<div class="boxes">' + "".join(
                f"<div>{spoke}{f'<b>{_text(amount)}</b>' if amount else '<i>–</i>'}</div>" for spoke, amount in cells)
                + "</div>"]
        case Picture(draw, alt):
            return [svg(draw(width, 1.0), alt)]
        case Card(blocks):
            return ['<div class="card">', *(part for one in blocks for part in _block(one, width - 4.0)), "</div>"]
        case Beside(picture, blocks, share):
            return [f'<div class="beside" style="grid-template-columns:{share * width:.1f}mm 1fr">',
                    svg(picture.draw(share * width, 1.0), picture.alt), "<div>",
                    *(part for one in blocks for part in _block(one, (1 - share) * width - 4.0)), "</div></div>"]
        case Columns(left, right, share):
            if width < WIDE:
                return [part for one in (*left, *right) for part in _block(one, width)]
            return [f'<div class="columns" style="grid-template-columns:{share * 100:g}% 1fr"><div>',
                    *(part for one in left for part in _block(one, share * width)), "</div><div>",
                    *(part for one in right for part in _block(one, (1 - share) * width)), "</div></div>"]
        case NewPage():
            return ['<p class="new"></p>']


def _rows(table: Rows) -> list[str]:
    head = "".join(f"<th>{_text(column)}</th>" for column in table.columns)
    rows = ["".join('<td class="write"></td>' if cell is None else f"<td>{_text(cell)}</td>" for cell in row)
            for row in table.rows]
    return ["<table><thead><tr>" + head + "</tr></thead><tbody>", *(f"<tr>{row}</tr>" for row in rows),
            "</tbody></table>"]


def svg(drawing: Drawing, alt: str) -> str:
    """A drawing as SVG at its own size, with ``alt`` for screen readers."""
    size = f'width="{drawing.width:.2f}mm" height="{drawing.height:.2f}mm"'
    return (f'<svg role="img" aria-label="{escape(known(alt), quote=True)}" {size} '
            f'viewBox="0 0 {drawing.width:.2f} {drawing.height:.2f}">'
            + "".join(_shape(shape) for shape in drawing.shapes) + "</svg>")


def _shape(shape: Shape) -> str:
    match shape:
        case Words(at=(x, y), text=text, size=size):
            anchor = {"left": "start", "middle": "middle", "right": "end"}[shape.align]
            weight = ' font-weight="bold"' if shape.bold else ""
            return (f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size * 25.4 / 72:.3f}" text-anchor="{anchor}" '
                    f'fill="{shape.colour}"{weight}>{_text(text)}</text>')
        case Stroke(points=points):
            dash = f' stroke-dasharray="{" ".join(f"{d:g}" for d in shape.dash)}"' if shape.dash else ""
            return (f'<polyline points="{_points(points)}" fill="none" stroke="{shape.colour}" '
                    f'stroke-width="{shape.width:g}"{dash}/>')
        case Area(points=points):
            return (f'<polygon points="{_points(points)}" fill="{shape.fill or "none"}" '
                    f'stroke="{shape.edge or "none"}" stroke-width="{shape.width:g}"/>')


def _points(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{x:.2f},{y:.2f}" for x, y in points)
