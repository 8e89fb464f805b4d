"""The font of sheets: its files, width of text, and line breaking.

DejaVu Sans is shipped with matplotlib, so it is the same everywhere; its licence allows embedding.
"""

import re
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import TypeAlias

from fontTools.ttLib import TTFont

from wheelsim.report.sheet.shapes import PT

Run: TypeAlias = tuple[str, bool]  # text, and whether it is bold
WIDTH_ROUNDING = 1e-6  # tolerance for sums of widths, so that text that just fits is not broken [mm]
WHOLE = re.compile(r"(?<=\d) (?=(?:mm|N|%)(?:\W|$))")  # the space between a number and its unit: no line break there
UNKNOWN = "\N{REPLACEMENT CHARACTER}"  # drawn for letters that the font lacks


def font_file(bold: bool) -> Path:
    """The file of the upright or the bold face."""
    import matplotlib

    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / f"DejaVuSans{'-Bold' if bold else ''}.ttf"


@lru_cache(maxsize=2)
def _advances(bold: bool) -> dict[int, float]:
    """Advance width of each letter by its code point, as a multiple of the font size."""
    with TTFont(font_file(bold), lazy=True) as face:
        units, metrics = face["head"].unitsPerEm, face["hmtx"]
        return {code: metrics[name][0] / units for code, name in face.getBestCmap().items()}


def known(text: str) -> str:
    """Free text on one line; letters that the font lacks are replaced by ``UNKNOWN``."""
    upright, bold = _advances(False), _advances(True)
    shown = "".join(c if c.isprintable() else " " for c in text)
    letters = "".join(c if ord(c) in upright and ord(c) in bold else UNKNOWN for c in shown)
    return WHOLE.sub("\N{NO-BREAK SPACE}", " ".join(letters.split(" "))).strip(" ")


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of text on one line [mm]; ``size`` in points."""
    advance = _advances(bold)
    return sum(advance.get(ord(c), advance[ord(UNKNOWN)]) for c in text) * size * PT


def wrapped(runs: Sequence[Run], width: float, size: float, first: float | None = None) -> list[list[Run]]:
    """Break text into lines no wider than ``width`` [mm], at spaces; inside a word only if it alone is wider.

    ``first`` [mm] is the width of the first line if that differs; ``size`` in points.
    """
    words = [(word, bold) for text, bold in runs for word in text.split(" ") if word]
    lines: list[list[Run]] = [[]]
    room = used = width if first is None else first
    used = 0.0
    while words:
        word, bold = words.pop(0)
        wide = text_width(word, size, bold)
        space = text_width(" ", size, bold) if lines[-1] else 0.0
        if used + space + wide <= room + WIDTH_ROUNDING:
            lines[-1].append((word, bold))
            used += space + wide
        elif lines[-1]:
            words.insert(0, (word, bold))
            lines.append([])
            room, used = width, 0.0
        else:
            fit = max(k for k in range(1, len(word) + 1) if k == 1 or text_width(word[:k], size, bold) <= room)
            lines[-1].append((word[:fit], bold))
            used = room
            if word[fit:]:
                words.insert(0, (word[fit:], bold))
    return [_joined(one) for one in lines]


def _joined(words: Sequence[Run]) -> list[Run]:
    """Neighbouring words of the same weight joined to one run."""
    out: list[Run] = []
    for word, bold in words:
        if out and out[-1][1] == bold:
            out[-1] = (f"{out[-1][0]} {word}", bold)
        else:
            out.append((word, bold))
    return out
