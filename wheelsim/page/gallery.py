"""The experiments' gallery as a list: each question with its picture and its answer, found where it can be had."""

import re
import site
import sys
from dataclasses import dataclass
from pathlib import Path

import wheelsim

BOOK = "README.md"  # written by the experiments beside their pictures
INSTALLED = Path("share", "wheelsim", "gallery")
LINK = re.compile(r"\[([^\]]*)\]\([^)]*\)")
PICTURE = re.compile(r"!\[([^\]]*)\]\(([\w-]+)\.svg\)")


@dataclass(frozen=True)
class Exhibit:
    """One experiment.

    Attributes
    ----------
    name : str
        Stem of its picture.
    question, answer : str
        In one sentence each.
    more : tuple of str
        Paragraphs.
    shown : str
        What the picture shows, for those who don't see it.
    """

    name: str
    question: str
    answer: str
    more: tuple[str, ...]
    shown: str


def places(folder: Path | None) -> list[Path]:
    """Where a gallery may lie: beside the jobs, where it was installed, in the project's own folder."""
    roots = [Path(one) for one in (sys.prefix, site.USER_BASE) if one]
    beside = [] if folder is None else [folder / "figures", folder]
    return [*beside, *(one / INSTALLED for one in roots), Path(wheelsim.__file__).parents[1] / "figures"]


def gallery_of(folder: Path | None) -> tuple[Path, list[Exhibit]] | None:
    """The first gallery found, and its exhibits whose picture is there; None where there is none."""
    for place in places(folder):
        try:
            found = exhibits((place / BOOK).read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError):
            continue
        there = [one for one in found if (place / f"{one.name}.svg").is_file()]
        if there:
            return place, there
    return None


def exhibits(book: str) -> list[Exhibit]:
    """The exhibits of a gallery's book, in its order; parts without a picture are left out."""
    out = []
    for part in book.split("\n## ")[1:]:
        question, _, rest = part.partition("\n")
        picture = PICTURE.search(rest)
        if picture is None:
            continue
        blocks = rest[picture.end():].split("\n\n")
        paragraphs = [LINK.sub(r"\1", " ".join(one.split())) for one in blocks if one.strip()]
        bold = [one.strip("*") for one in paragraphs if one.startswith("**")]
        out.append(Exhibit(picture[2], question.strip(), bold[0] if bold else picture[1],
                           tuple(one for one in paragraphs if not one.startswith("**")), picture[1]))
    return out
