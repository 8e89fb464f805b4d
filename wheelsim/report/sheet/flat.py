"""Vector drawing of the strip for print: rim, tensions and turns as received, planned and read, without colour."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.view import View
from wheelsim.report.figures.look import STYLES, signed, spread_out
from wheelsim.report.sheet.font import known, text_width, wrapped
from wheelsim.report.sheet.shapes import (
    GREY,
    INK,
    LINE,
    PALE,
    PT,
    TYPE,
    Drawing,
    Shape,
    Stroke,
    Words,
    box,
    disc,
    line,
)
from wheelsim.units import MM, QUARTER, turns_text
from wheelsim.wheel.parts import SIDES, Side, Wheel

Scale: TypeAlias = Callable[[float], float]
LEFT = 15.0  # room for the numbers of the vertical axes [mm]
HEIGHTS = (22.0, 30.0, 13.0)  # of the panels: lateral, tension, turns [mm]
NARROW = 150.0  # a strip narrower than this gets lower panels as well [mm]
TEXT = TYPE * LINE * PT  # height of a line of text [mm]
DASH = (1.6, 1.0)  # lengths on and off [mm]


@dataclass(frozen=True, eq=False)
class Three:
    """One wheel at up to three times."""

    wheel: Wheel
    received: View
    planned: View | None
    read: View | None  # as last read
    turns: Turns  # (n,) from ``received`` to ``read``, or to ``planned`` [turn]

    @property
    def marked(self) -> View:
        """The latest of them, which is drawn with markers."""
        return self.read or self.planned or self.received


def flat(three: Three) -> Callable[[float, float], Drawing]:
    """A function that draws the strip for a width [mm] and a factor on its height."""
    return lambda width, stretch: _strip(three, width, stretch)


@dataclass(frozen=True)
class _Frame:
    """Horizontal extent of the panels [mm], and the number of spokes on it."""

    left: float
    right: float
    n: int

    def x(self, spoke: float) -> float:
        """Horizontal place of a spoke number. [mm]"""
        return self.left + (spoke - 0.5) * (self.right - self.left) / self.n


def _strip(three: Three, width: float, stretch: float) -> Drawing:
    frame = _Frame(LEFT, width - 1.0, three.wheel.n)
    shapes: list[Shape] = []
    y = 0.0
    lateral, tension, turns = (height * stretch * (0.85 if width < NARROW else 1.0) for height in HEIGHTS)
    flat_words = "The rim laid out flat: side to side, mm, plus right; grey: true allowed"
    for draw, height, words in ((_lateral, lateral, flat_words),
                                (_tension, tension, _tension_words(three)), (_turns, turns, "Turns, plus tightens")):
        for one in wrapped([(words, False)], width, TYPE):
            shapes.append(Words((0.0, y + TYPE * PT), one[0][0]))
            y += TEXT
        y += 1.6
        for end in (frame.left, frame.right):
            shapes.append(line(end, y, end, y + height, 0.2, GREY, (0.4, 0.8)))
        draw(three, frame, y, height, shapes)
        y += height + 1.2
    y = _spokes(frame, y - 1.2, shapes)
    y = _key(three, width, y, shapes)
    return Drawing(width, y, tuple(shapes))


def _tension_words(three: Three) -> str:
    limits = three.wheel.limits
    low = "" if isinstance(limits.min_tension, str) else f"{limits.min_tension:.0f} and "
    return f"Tension, N; dashed: limit{'s' if low else ''} {low}{limits.max_tension:.0f}"


def _scale(y: float, height: float, low: float, high: float) -> Scale:
    return lambda value: y + height * (high - value) / (high - low)


def _axis(places: Sequence[tuple[float, str]], frame: _Frame, shapes: list[Shape]) -> None:
    """Numbers left of a panel, moved apart where they would overlap, each with a short line at its height."""
    places = sorted(places)
    rows = spread_out([y for y, _ in places], TYPE * PT * 1.05)
    for (y, text), at in zip(places, rows, strict=True):
        shapes.append(line(frame.left - 1.2, y, frame.left, y, 0.2, GREY))
        shapes.append(Words((frame.left - 1.8, float(at) + 0.36 * TYPE * PT), text, align="right"))


def _line_of(values: Floats, frame: _Frame, at: Scale, width: float, colour: str,
             dash: tuple[float, ...] = ()) -> Stroke:
    points = tuple((frame.x(k + 1), at(float(value))) for k, value in enumerate(values))
    return Stroke(points, width, colour, dash)


def _lateral(three: Three, frame: _Frame, y: float, height: float, shapes: list[Shape]) -> None:
    views = [(three.received, 0.35, GREY, DASH), (three.planned, 0.3, INK, (0.4, 0.7)), (three.read, 0.55, INK, ())]
    if three.read is None and three.planned is not None:
        views[1] = (three.planned, 0.55, INK, ())
    lateral = [view.state.edge / MM for view, *_ in views if view is not None]
    band, centre = three.wheel.limits.lateral_runout / MM, 1e3 * three.marked.dish
    low = min(min(float(one.min()) for one in lateral), centre - band / 2, -0.3)
    high = max(max(float(one.max()) for one in lateral), centre + band / 2, 0.3)
    room = 0.06 * (high - low)
    at = _scale(y, height, low - room, high + room)
    shapes.append(box(frame.left, at(centre + band / 2), frame.right - frame.left,
                      at(centre - band / 2) - at(centre + band / 2), PALE, None))
    shapes.append(line(frame.left, at(0.0), frame.right, at(0.0), 0.2, GREY))
    for seen, width, colour, dash in views:
        if seen is not None:
            shapes.append(_line_of(seen.state.edge / MM, frame, at, width, colour, dash))
    _marks(three, frame, three.marked.state.edge / MM, at, shapes)
    top, bottom = (value for value in (high, low))
    ticks = {0.0, round(top, 1), round(bottom, 1)}
    _axis([(at(v), signed(v, 1)) for v in ticks if abs(at(v) - at(0.0)) > TEXT or v == 0.0], frame, shapes)


def _marks(three: Three, frame: _Frame, values: Floats, at: Scale, shapes: list[Shape]) -> None:
    """A marker per spoke: filled circle for right, open square for left."""
    for side in SIDES:
        for i in three.wheel.pulling(side):
            shapes.append(_mark(side, frame.x(i + 1), at(float(values[i])), _size(frame)))


def _size(frame: _Frame) -> float:
    return min(0.95, 0.28 * (frame.right - frame.left) / frame.n)


def _mark(side: Side, x: float, y: float, size: float) -> Shape:
    colour = STYLES[side].colour
    return disc(x, y, size, colour, colour) if side == "right" else box(x - size, y - size, 2 * size, 2 * size,
                                                                      "#ffffff", colour, 0.35)


def _tension(three: Three, frame: _Frame, y: float, height: float, shapes: list[Shape]) -> None:
    wheel, limits = three.wheel, three.wheel.limits
    views = [view for view in (three.received, three.planned, three.read) if view is not None]
    high = 1.06 * max(limits.max_tension, *(float(view.state.tension.max()) for view in views))
    at = _scale(y, height, 0.0, high)
    places = [(at(0.0), "0"), (at(limits.max_tension), f"{limits.max_tension:.0f}")]
    bars = [limits.max_tension]
    if not isinstance(limits.min_tension, str):
        bars.append(limits.min_tension)
        if limits.min_tension > 0:
            places.append((at(limits.min_tension), f"{limits.min_tension:.0f}"))
    for bar in bars:
        shapes.append(line(frame.left, at(bar), frame.right, at(bar), 0.3, INK, DASH))
    shapes.append(line(frame.left, at(0.0), frame.right, at(0.0), 0.2, GREY))
    for side in SIDES:
        for i in wheel.pulling(side):
            x, now = frame.x(i + 1), float(three.marked.state.tension[i])
            dash = () if side == "right" else (0.7, 0.6)
            shapes.append(line(x, at(0.0), x, at(max(now, 0.0)), 0.25, STYLES[side].colour, dash))
            was = float(three.received.state.tension[i])
            if three.marked is not three.received:
                shapes.append(line(x - 1.3, at(was), x + 1.3, at(was), 0.5, GREY))
            if three.planned is not None and three.read is not None:
                plan = float(three.planned.state.tension[i])
                shapes.append(line(x - 1.0, at(plan) - 1.0, x + 1.0, at(plan) + 1.0, 0.25))
                shapes.append(line(x - 1.0, at(plan) + 1.0, x + 1.0, at(plan) - 1.0, 0.25))
    _marks(three, frame, np.maximum(three.marked.state.tension, 0.0), at, shapes)
    for i in wheel.spokes.missing:
        shapes.append(Words((frame.x(i), at(0.0) - 0.4), "×", bold=True, align="middle"))
    _axis(places, frame, shapes)


def _turns(three: Three, frame: _Frame, y: float, height: float, shapes: list[Shape]) -> None:
    most = max(float(np.abs(three.turns).max()), QUARTER)
    at = _scale(y, height, -1.15 * most, 1.15 * most)
    shapes.append(line(frame.left, at(0.0), frame.right, at(0.0), 0.2, GREY))
    for side in SIDES:
        for i in three.wheel.pulling(side):
            turned = float(three.turns[i])
            if turned:
                x = frame.x(i + 1)
                shapes.append(line(x, at(0.0), x, at(turned), 0.3, STYLES[side].colour,
                                   () if side == "right" else (0.7, 0.6)))
                shapes.append(_mark(side, x, at(turned), _size(frame)))
    _axis([(at(v), turns_text(v, signed=True).replace("-", "\N{MINUS SIGN}") if v else "0")
           for v in (most, 0.0, -most)], frame, shapes)


def _spokes(frame: _Frame, y: float, shapes: list[Shape]) -> float:
    """Spoke numbers, the valve at both ends, and their direction; returns the lower edge. [mm]"""
    room = (frame.right - frame.left) / frame.n
    widest = text_width(str(frame.n), TYPE) + 1.2
    step = next(step for step in (1, 2, 4, 5, 8, 10, 20, 40, 80) if step * room > widest)
    for spoke in range(1, frame.n + 1, step):
        shapes.append(Words((frame.x(spoke), y + TEXT), str(spoke), align="middle"))
    base = y + 2 * TEXT
    shapes.append(Words((frame.left - 4.0, base), "valve"))
    shapes.append(Words((frame.right, base), "valve", align="right"))
    middle = "spoke, clockwise as seen from the right"
    if text_width(middle, TYPE) > frame.right - frame.left - 2 * text_width("valve ", TYPE) - 2:
        middle = "spoke, clockwise from the right"
    shapes.append(Words(((frame.left + frame.right) / 2, base), middle, align="middle"))
    return base + 1.6


def _key(three: Three, width: float, y: float, shapes: list[Shape]) -> float:
    """Legend, in as many rows as needed; returns the lower edge. [mm]"""
    both = three.read is not None and three.planned is not None
    alone = three.marked is three.received
    entries: list[tuple[str, Callable[[float, float], list[Shape]]]] = [
        ("right", lambda x, at: [_mark("right", x + 2, at, 1.0)]),
        ("left", lambda x, at: [_mark("left", x + 2, at, 1.0)]),
    ]
    if not alone:
        entries.append(("as received", lambda x, at: [line(x, at, x + 3.9, at, 0.45, GREY, DASH)]))
    if three.planned is not None:
        entries.append(("planned", (lambda x, at: [line(x, at, x + 2.4, at, 0.3, INK, (0.4, 0.7)),
                                                   *_cross(x + 3.6, at)]) if both else
                        (lambda x, at: [line(x, at, x + 4, at, 0.55)])))
    if three.read is not None:
        entries.append(("as read", lambda x, at: [line(x, at, x + 4, at, 0.55)]))
    x, base = 0.0, y + TEXT
    for word, drawn in entries:
        wide = 5.5 + text_width(word, TYPE) + 4.0
        if x + wide > width:
            x, base = 0.0, base + TEXT
        shapes.extend(drawn(x, base - 0.35 * TYPE * PT))
        shapes.append(Words((x + 5.5, base), known(word)))
        x += wide
    return base + 1.4


def _cross(x: float, y: float) -> tuple[Shape, Shape]:
    return line(x - 1, y - 1, x + 1, y + 1, 0.25), line(x - 1, y + 1, x + 1, y - 1, 0.25)
