"""A job sheet as one HTML page: no address outside it, made to be printed."""

from html import escape

from wheelsim.report.sheet.content import Sheet, SheetPass
from wheelsim.report.sheet.picture import Mark

WRITE = "Did: ............  gap ........ mm   true ........ mm   highest ........ N"
WIDE, HIGH = 900, 290  # of the picture, in its own units

STYLE = """
@page { size: %(paper)s; margin: 12mm }
body { font: 11pt/1.35 sans-serif; color: #000; background: #fff; max-width: 190mm; margin: 1em auto; padding: 0 1em }
h1 { font-size: 17pt; margin: 0 } h2 { font-size: 13pt; margin: .8em 0 .2em; break-after: avoid }
dl { display: grid; grid-template-columns: 11em 1fr; margin: 0 } dd { margin: 0 }
.pass { break-inside: avoid; margin: .4em 0 } .tick { display: inline-block; width: 1em; height: 1em;
  border: 1.5px solid; margin-right: .5em; text-align: center; line-height: 1 }
.boxes { display: grid; grid-template-columns: repeat(%(row)d, 1fr); gap: 2px }
.boxes div { border: 1px solid #999; text-align: center } .boxes .turn { border: 2px solid #000; font-weight: bold }
table { border-collapse: collapse } td, th { border-bottom: 1px solid #999; padding: .1em .6em; text-align: left }
.sign { display: grid; grid-template-columns: 1fr 1fr 1fr; gap: 1em; margin-top: 3em }
.sign div { border-top: 1px solid }
svg { width: 100%%; height: auto } .write { white-space: pre }
"""


def html_text(sheet: Sheet, paper: str) -> str:
    """The sheet as text of an HTML file."""
    style = STYLE % {"paper": paper, "row": 8 if paper == "A5" else 12}
    parts = [f"<h1>{escape(sheet.title)}</h1>", f"<p><b>{escape(sheet.status)}. {escape(sheet.verdict)}.</b></p>",
             f"<p>{escape(sheet.why)}</p>", "<h2>Wheel and limits</h2>", _pairs(sheet.wheel + sheet.limits),
             "<h2>As it is now</h2>", _pairs(sheet.found)]
    if sheet.picture:
        parts += [_svg(sheet.picture, sheet.picture_says), f"<p>{escape(sheet.picture_says)}</p>"]
    if sheet.passes:
        parts += ["<h2>Passes: from the valve round, once each; tick when done</h2>", *map(_pass, sheet.passes)]
    if sheet.then:
        parts += ["<h2>When all is done</h2>", _pairs(sheet.then)]
    if sheet.history:
        head, *rows = sheet.history
        parts += ["<h2>Readings so far</h2><table><tr>" + "".join(f"<th>{escape(one)}</th>" for one in head) + "</tr>",
                  *("<tr>" + "".join(f"<td>{escape(one)}</td>" for one in row) + "</tr>" for row in rows), "</table>"]
    parts += ["<h2>Before any turn, by eye and hand</h2>",
              *(f'<div><span class="tick"></span>{escape(line)}</div>' for line in sheet.checks),
              "<h2>Cautions</h2>", *(f"<div>{escape(line)}</div>" for line in sheet.cautions),
              '<div class="sign"><div>Date</div><div>Name</div><div>Signature</div></div>']
    body = "\n".join(parts)
    return (f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(sheet.title)}</title>'
            f"<style>{style}</style></head>\n<body>\n{body}\n</body></html>\n")


def _pairs(pairs: tuple[tuple[str, str], ...]) -> str:
    return "<dl>" + "".join(f"<dt>{escape(what)}</dt><dd>{escape(value)}</dd>" for what, value in pairs) + "</dl>"


def _pass(one: SheetPass) -> str:
    tick = "&times;" if one.made else ""
    made = f" ({escape(one.made)})" if one.made else ""
    parts = [f'<div class="pass"><span class="tick">{tick}</span><b>{one.number}. {escape(one.what)}</b>{made}']
    if one.boxes:
        parts.append('<div class="boxes">' + "".join(
            f'<div class="turn">{box.spoke}{box.side}<br>{escape(box.turn)}</div>' if box.turn else
            f"<div>{box.spoke}{box.side}</div>" for box in one.boxes) + "</div>")
    if one.then:
        settle = " Squeeze parallel pairs once round both flanges, then read." if one.settle else ""
        parts.append(f"<div>{escape(one.then)}.{settle}</div>"
                     f'<div class="write">{WRITE}</div>')
    return "".join(parts) + "</div>"


def _svg(marks: tuple[Mark, ...], says: str) -> str:
    out = [f'<svg viewBox="0 -8 {WIDE} {HIGH + 16}" role="img" aria-label="{escape(says)}" fill="none" stroke="#000" '
           'font-size="14">']
    for mark in marks:
        points = [(round(x * WIDE, 2), round(y * HIGH, 2)) for x, y in mark.points]
        x, y = points[0]
        dash = ' stroke-dasharray="6 4"' if mark.dashed else ""
        if mark.kind == "line":
            out.append(f'<polyline points="{" ".join(f"{a},{b}" for a, b in points)}" '
                       f'stroke-width="{4 * mark.weight:g}"{dash}/>')
        elif mark.kind == "words":
            out.append(f'<text x="{x}" y="{y + 4}" fill="#000" stroke="none">{escape(mark.text)}</text>')
        else:
            out.append(f'<circle cx="{x}" cy="{y}" r="4.5" fill="{"#000" if mark.kind == "dot" else "#fff"}"/>')
    return "".join(out) + "</svg>"
