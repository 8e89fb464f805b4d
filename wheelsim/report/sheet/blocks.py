"""What stands on a sheet, whatever kind of file it is written to: the one content of PDF and HTML."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from wheelsim.report.sheet.shapes import TYPE, Drawing


@dataclass(frozen=True)
class Heading:
    """The head of a part; it stays with what follows."""

    text: str


@dataclass(frozen=True)
class Text:
    """A paragraph; ``head`` stands before it in bold."""

    text: str
    head: str = ""
    size: float = TYPE


@dataclass(frozen=True)
class Tick:
    """A box to tick and what it is for; ticked already where ``done``."""

    text: str
    head: str = ""
    done: bool = False


@dataclass(frozen=True)
class Ticks:
    """Short things to tick, one after the other, as many in a line as fit."""

    texts: tuple[str, ...]


@dataclass(frozen=True)
class Rows:
    """A table: the first column to the left, the others to the right; None is room to write in."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str | None, ...], ...]


@dataclass(frozen=True)
class Fill:
    """Labels, each with a line to write on. ``(label, room [mm])``"""

    labels: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Boxes:
    """One flange's nipples from valve to valve: spoke number and amount, "" where it is not turned."""

    cells: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class Picture:
    """A drawing for a width [mm] and a stretch of its height, and what it shows for who can't see it."""

    draw: Callable[[float, float], Drawing]
    alt: str


@dataclass(frozen=True)
class Card:
    """Blocks in a frame that no page break parts."""

    blocks: tuple["Block", ...]


@dataclass(frozen=True)
class Beside:
    """A picture with blocks to its right; ``share`` of the width is the picture's."""

    picture: Picture
    blocks: tuple["Block", ...]
    share: float = 0.4


@dataclass(frozen=True)
class Columns:
    """Blocks beside blocks where the paper is wide enough, else below them; ``share`` of the width is the left's."""

    left: tuple["Block", ...]
    right: tuple["Block", ...]
    share: float = 0.5


@dataclass(frozen=True)
class NewPage:
    """What follows begins a page."""


Block: TypeAlias = Heading | Text | Tick | Ticks | Rows | Fill | Boxes | Picture | Card | Beside | Columns | NewPage


@dataclass(frozen=True)
class Sheet:
    """A whole sheet: title, the line below it, blocks; ``foot`` stands at the bottom of every page."""

    title: str
    about: str
    blocks: tuple[Block, ...]
    foot: str


@dataclass(frozen=True)
class Paper:
    """A size of paper and its margin. [mm]"""

    name: str
    width: float
    height: float
    margin: float

    @property
    def inside(self) -> float:
        """Width between the margins. [mm]"""
        return self.width - 2 * self.margin


WIDE = 150.0  # between margins, from which two columns have room [mm]
PAPERS = {paper.name: paper
          for paper in (Paper("A3", 297, 420, 16), Paper("A4", 210, 297, 12), Paper("A5", 148, 210, 9))}
