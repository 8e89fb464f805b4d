"""A picture as plain shapes in millimetres, y downward, so that PDF and HTML draw the same."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias

from wheelsim.report.sheet.fonts import PT, text_width

Point: TypeAlias = tuple[float, float]
INK, FAINT, RULE = "#222222", "#6f6f6f", "#b0b0b0"
THIN = 0.25  # [mm]
CAP = 0.73  # height of a capital over the size of its type


@dataclass(frozen=True)
class Stroke:
    """A line through points; ``dash`` is its lengths on and off, none for a solid one. [mm]"""

    points: tuple[Point, ...]
    colour: str = INK
    width: float = THIN
    dash: tuple[float, float] | None = None


@dataclass(frozen=True)
class Shape:
    """A closed outline, filled, drawn round, or both."""

    points: tuple[Point, ...]
    edge: str | None = INK
    fill: str | None = None
    width: float = THIN


@dataclass(frozen=True)
class Disc:
    """A circle."""

    centre: Point
    radius: float
    edge: str | None = INK
    fill: str | None = None
    width: float = THIN


@dataclass(frozen=True)
class Words:
    """One line of type; ``place`` is on its baseline, at its start, middle or end."""

    place: Point
    text: str
    size: float = 11.0
    anchor: Literal["start", "middle", "end"] = "start"
    bold: bool = False
    colour: str = INK

    @property
    def span(self) -> tuple[float, float]:
        """From left to right. [mm]"""
        wide = text_width(self.text, self.size, self.bold)
        left = self.place[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[self.anchor]
        return left, left + wide


Item: TypeAlias = Stroke | Shape | Disc | Words


@dataclass
class Drawing:
    """A picture of a size [mm]; ``alt`` says what it shows, for who can't see it."""

    width: float
    height: float
    alt: str
    items: list[Item] = field(default_factory=list)

    def line(self, start: Point, end: Point, colour: str = INK, width: float = THIN,
             dash: tuple[float, float] | None = None) -> None:
        self.items.append(Stroke((start, end), colour, width, dash))

    def path(self, points: Sequence[Point], colour: str = INK, width: float = THIN,
             dash: tuple[float, float] | None = None) -> None:
        self.items.append(Stroke(tuple(points), colour, width, dash))

    def box(self, left: float, top: float, width: float, height: float, edge: str | None = INK,
            fill: str | None = None, line: float = THIN) -> None:
        right, bottom = left + width, top + height
        self.items.append(Shape(((left, top), (right, top), (right, bottom), (left, bottom)), edge, fill, line))

    def shape(self, points: Sequence[Point], edge: str | None = INK, fill: str | None = None,
              line: float = THIN) -> None:
        self.items.append(Shape(tuple(points), edge, fill, line))

    def disc(self, centre: Point, radius: float, edge: str | None = INK, fill: str | None = None,
             line: float = THIN) -> None:
        self.items.append(Disc(centre, radius, edge, fill, line))

    def words(self, place: Point, text: str, size: float = 11.0, anchor: Literal["start", "middle", "end"] = "start",
              bold: bool = False, colour: str = INK) -> None:
        self.items.append(Words(place, text, size, anchor, bold, colour))

    def middle_words(self, place: Point, text: str, size: float = 11.0,
                     anchor: Literal["start", "middle", "end"] = "start", bold: bool = False,
                     colour: str = INK) -> None:
        """Words whose capitals stand half above and half below a place."""
        self.words((place[0], place[1] + CAP * size * PT / 2), text, size, anchor, bold, colour)
