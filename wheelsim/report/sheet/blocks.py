"""Content of a sheet as blocks, independent of the file format."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from wheelsim.report.sheet.shapes import TYPE, Drawing


@dataclass(frozen=True)
class Heading:
    """A heading; no page break follows it."""

    text: str


@dataclass(frozen=True)
class Text:
    """A paragraph, with ``head`` before it in bold."""

    text: str
    head: str = ""
    size: float = TYPE  # [pt]


@dataclass(frozen=True)
class Tick:
    """A box to tick with text; ``head`` in bold before it; already ticked if ``done``."""

    text: str
    head: str = ""
    done: bool = False


@dataclass(frozen=True)
class Ticks:
    """Short texts with boxes to tick, as many in a line as fit."""

    texts: tuple[str, ...]


@dataclass(frozen=True)
class Rows:
    """A table; first column left-aligned, others right-aligned; a None cell is left empty to write in."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str | None, ...], ...]


@dataclass(frozen=True)
class Fill:
    """Labels, each with a line to write on."""

    labels: tuple[tuple[str, float], ...]  # (label, length of the line [mm])


@dataclass(frozen=True)
class Boxes:
    """Boxes to tick, one per nipple of a flange, in order from the valve."""

    cells: tuple[tuple[int, str], ...]  # (spoke number, amount; "" where it is not turned)


@dataclass(frozen=True)
class Picture:
    """A drawing."""

    draw: Callable[[float, float], Drawing]  # of width [mm] and a factor on the usual height
    alt: str  # description for readers who can't see it


@dataclass(frozen=True)
class Card:
    """Blocks in a frame, kept on one page."""

    blocks: tuple["Block", ...]


@dataclass(frozen=True)
class Beside:
    """A picture with blocks to its right."""

    picture: Picture
    blocks: tuple["Block", ...]
    share: float = 0.4  # of the width, for the picture


@dataclass(frozen=True)
class Columns:
    """Two columns of blocks; on narrow paper one below the other."""

    left: tuple["Block", ...]
    right: tuple["Block", ...]
    share: float = 0.5  # of the width, for the left column


@dataclass(frozen=True)
class NewPage:
    """Page break."""


Block: TypeAlias = Heading | Text | Tick | Ticks | Rows | Fill | Boxes | Picture | Card | Beside | Columns | NewPage


@dataclass(frozen=True)
class Sheet:
    """A whole sheet."""

    title: str
    about: str  # line below the title
    blocks: tuple[Block, ...]
    foot: str  # at the bottom of every page


@dataclass(frozen=True)
class Paper:
    """Paper size and margin. [mm]"""

    name: str
    width: float
    height: float
    margin: float

    @property
    def inside(self) -> float:
        """Width between the margins. [mm]"""
        return self.width - 2 * self.margin


WIDE = 150.0  # least width between the margins for two columns; own choice: A4 has two, A5 one [mm]
PAPERS = {paper.name: paper
          for paper in (Paper("A3", 297, 420, 16), Paper("A4", 210, 297, 12), Paper("A5", 148, 210, 9))}
