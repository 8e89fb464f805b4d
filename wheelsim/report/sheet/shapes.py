"""Vector drawings as data (lines, areas, text, in millimetres), independent of the file format."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

Point: TypeAlias = tuple[float, float]
Align: TypeAlias = Literal["left", "middle", "right"]
PT = 25.4 / 72  # [mm]
TYPE = 11.0  # smallest font size on any sheet [pt]; own choice: legible at arm's length
LINE = 1.32  # line height over font size
INK, GREY, PALE = "#000000", "#6e6e6e", "#e2e2e2"  # the grey is dark enough for a photocopier


@dataclass(frozen=True)
class Stroke:
    """A line through points."""

    points: tuple[Point, ...]
    width: float = 0.25  # [mm]
    colour: str = INK
    dash: tuple[float, ...] = ()  # lengths on and off [mm]; empty: solid


@dataclass(frozen=True)
class Area:
    """A closed polygon; a colour of None means no fill or no edge."""

    points: tuple[Point, ...]
    fill: str | None = None
    edge: str | None = INK
    width: float = 0.25


@dataclass(frozen=True)
class Words:
    """One line of text."""

    at: Point  # on the baseline [mm]
    text: str
    size: float = TYPE  # [pt]
    bold: bool = False
    colour: str = INK
    align: Align = "left"


Shape: TypeAlias = Stroke | Area | Words


@dataclass(frozen=True)
class Drawing:
    """Shapes in a rectangle; origin at its top left corner, x to the right, y down. [mm]"""

    width: float
    height: float
    shapes: tuple[Shape, ...]


def moved(shape: Shape, dx: float, dy: float) -> Shape:
    """The shape shifted by (dx, dy). [mm]"""
    if isinstance(shape, Words):
        return replace(shape, at=(shape.at[0] + dx, shape.at[1] + dy))
    return replace(shape, points=tuple((x + dx, y + dy) for x, y in shape.points))


def line(x0: float, y0: float, x1: float, y1: float, width: float = 0.25, colour: str = INK,
         dash: tuple[float, ...] = ()) -> Stroke:
    """A straight line."""
    return Stroke(((x0, y0), (x1, y1)), width, colour, dash)


def box(x: float, y: float, width: float, height: float, fill: str | None = None, edge: str | None = INK,
        line: float = 0.25) -> Area:
    """A rectangle from its top left corner."""
    return Area(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), fill, edge, line)


def disc(x: float, y: float, radius: float, fill: str | None = INK, edge: str | None = INK,
         width: float = 0.25) -> Area:
    """A circle, as a polygon fine enough for print."""
    corners = 20
    turn = [2 * math.pi * k / corners for k in range(corners)]
    return Area(tuple((x + radius * math.cos(a), y + radius * math.sin(a)) for a in turn), fill, edge, width)


def arrow(points: Sequence[Point], width: float = 0.5, colour: str = INK, head: float = 2.4) -> tuple[Shape, ...]:
    """A line with an arrowhead at its last point; ``head`` is its length. [mm]"""
    (x0, y0), (x1, y1) = points[-2:]
    along = math.hypot(x1 - x0, y1 - y0) or 1.0
    ux, uy = (x1 - x0) / along, (y1 - y0) / along
    back = (x1 - head * ux, y1 - head * uy)
    wide = 0.45 * head
    tip = ((x1, y1), (back[0] - wide * uy, back[1] + wide * ux), (back[0] + wide * uy, back[1] - wide * ux))
    return Stroke((*points[:-1], back), width, colour), Area(tip, colour, None)


def tick_box(x: float, y: float, size: float, done: bool) -> tuple[Shape, ...]:
    """A box to tick; ticked if ``done``."""
    frame = box(x, y, size, size, line=0.4)
    if not done:
        return (frame,)
    tick = ((x + 0.2 * size, y + 0.55 * size), (x + 0.42 * size, y + 0.8 * size), (x + 0.85 * size, y + 0.15 * size))
    return frame, Stroke(tick, 0.6)


def stacked(drawings: Iterable[Drawing], width: float, gap: float = 0.0, left: float = 0.0) -> Drawing:
    """Drawings below each other, with ``gap`` between them and indented by ``left``. [mm]"""
    shapes: list[Shape] = []
    y = 0.0
    for k, one in enumerate(drawings):
        y += gap if k else 0.0
        shapes += [moved(shape, left, y) for shape in one.shapes]
        y += one.height
    return Drawing(width, y, tuple(shapes))
