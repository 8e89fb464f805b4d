"""What a sheet is made of: one content, without a look of its own; ``pdf`` and ``html`` set it."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from wheelsim.report.sheet.drawing import Drawing

BODY = 11.0  # least size of type, legible at arm's length: common practice, no source [pt]


@dataclass(frozen=True)
class Paper:
    """A size of paper, upright. [mm]"""

    name: str
    width: float
    height: float
    margin: float

    @property
    def inner(self) -> float:
        """Width between the margins. [mm]"""
        return self.width - 2 * self.margin


A4 = Paper("A4", 210.0, 297.0, 13.0)
PAPERS = {"A4": A4, "A5": Paper("A5", 148.0, 210.0, 9.0)}


@dataclass(frozen=True)
class Heading:
    """The name of a part of the sheet."""

    text: str


@dataclass(frozen=True)
class Paragraph:
    """Running text."""

    text: str
    bold: bool = False


@dataclass(frozen=True)
class TickList:
    """Lines with a square before each to tick; or, without squares, plain lines under one another."""

    lines: tuple[str, ...]
    squares: bool = True


@dataclass(frozen=True)
class Table:
    """Rows of cells under a head; the first column to the left, the others centred. An empty row is to write in."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    bold_rows: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Picture:
    """A drawing made for the paper's inner width."""

    drawing: Drawing


@dataclass(frozen=True)
class Step:
    """One pass: a square to tick, what to do, what should then show with room for what did, a row of nipples."""

    what: str
    table: Table | None
    nipples: Drawing | None = None
    then: str | None = None


@dataclass(frozen=True)
class Fields:
    """Words with a line behind each to write on."""

    labels: tuple[str, ...]


@dataclass(frozen=True)
class NewPage:
    """What follows stands on a page of its own."""


Block: TypeAlias = Heading | Paragraph | TickList | Table | Picture | Step | Fields | NewPage


@dataclass(frozen=True)
class Document:
    """A sheet: its title, a line under it, its blocks in order, and a word at the foot of every page."""

    title: str
    under: str
    blocks: tuple[Block, ...]
    paper: Paper
    foot: str
    language: Literal["en"] = "en"
