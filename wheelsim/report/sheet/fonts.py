"""The sheet's typeface: DejaVu Sans, a free font that matplotlib carries, so it is the same on every machine."""

import base64
import io
from functools import lru_cache
from pathlib import Path

import matplotlib
from fontTools import subset
from fontTools.ttLib import TTFont

PT = 25.4 / 72  # [mm]
UNKNOWN = "\N{WHITE SQUARE}"  # stands for a character that the font lacks


@lru_cache(maxsize=1)
def font_paths() -> dict[bool, Path]:
    """Files of the regular (False) and the bold (True) font."""
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    return {False: folder / "DejaVuSans.ttf", True: folder / "DejaVuSans-Bold.ttf"}


@lru_cache(maxsize=2)
def _advances(bold: bool) -> dict[int, float]:
    """Advance of each character in the font, by code point, as a fraction of the size."""
    font = TTFont(font_paths()[bold], lazy=True)
    widths, per_em = font["hmtx"].metrics, font["head"].unitsPerEm
    return {code: widths[name][0] / per_em for code, name in font.getBestCmap().items()}


def printable(text: str) -> str:
    """Free text on one line, in characters that the font has."""
    known = _advances(False)
    one_line = " ".join("".join(c if c.isprintable() else " " for c in text).split(" "))
    return "".join(c if ord(c) in known else UNKNOWN for c in one_line)


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Width of one line of type of a size in points. [mm]"""
    known = _advances(bold)
    return sum(known.get(ord(c), known[ord(UNKNOWN)]) for c in text) * size * PT


def wrap(text: str, width: float, size: float, bold: bool = False) -> list[str]:
    """Text on lines no wider than a width [mm]; a word that is wider is broken where it must be."""
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if text_width(longer, size, bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        while text_width(word, size, bold) > width and len(word) > 1:
            fits = max((k for k in range(1, len(word)) if text_width(word[:k], size, bold) <= width), default=1)
            lines.append(word[:fits])
            word = word[fits:]
        line = word
    return [*lines, line] if line or not lines else lines


def embedded(text: str, bold: bool) -> str:
    """The font with the characters of a text only, as a data address for CSS."""
    options = subset.Options(flavor="woff", desubroutinize=True, hinting=False, notdef_outline=True,
                             layout_features=[], name_IDs=[1, 2, 4, 13, 14])
    font = subset.load_font(str(font_paths()[bold]), options)
    font.recalcTimestamp = False  # the same page is the same bytes
    chooser = subset.Subsetter(options)
    chooser.populate(text="".join(sorted(set(text))) + UNKNOWN)
    chooser.subset(font)
    out = io.BytesIO()
    subset.save_font(font, out, options)
    return "data:font/woff;base64," + base64.b64encode(out.getvalue()).decode()
