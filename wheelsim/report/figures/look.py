"""Style of all figures: colours, markers and font sizes, independent of the user's matplotlib settings."""

import threading
import warnings
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Literal

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from wheelsim.arrays import Floats
from wheelsim.wheel.parts import Side

INK, FAINT, LIMIT, BAND = "#222222", "#8c8c8c", "#5b4a1e", "#ece4c9"
SMALL, TEXT, LARGE = 9.0, 10.0, 12.5  # [pt], still legible when the picture is printed at half its size
LINE = 1.25  # line height over font size


@dataclass(frozen=True)
class SideStyle:
    """Style of one side; colour, marker and line each suffice alone to tell the sides apart."""

    colour: str
    marker: str  # of matplotlib
    line: Literal["solid"] | tuple[float, tuple[float, ...]]  # solid, or (offset, lengths on and off)
    face: str  # fill colour of the marker


# Blue and red of the high-contrast scheme, distinct for colour-blind readers and in grey print: P. Tol, Colour Schemes,
# SRON technical note SRON/EPS/TN/09-002, issue 3.2, 2021 (values from memory).
STYLES: dict[Side, SideStyle] = {
    "right": SideStyle("#004488", "o", "solid", "#004488"),
    "left": SideStyle("#bb5566", "s", (0, (3, 1.5)), "white"),
}

# All of matplotlib's default settings except those of the machine (backend, directories), which stay the user's.
_SETTINGS = {
    key: value for key, value in matplotlib.rcParamsDefault.items()
    if not key.startswith(("backend", "webagg", "savefig.directory", "date."))
} | {
    "font.family": ["DejaVu Sans"],  # shipped with matplotlib, so it is the same everywhere
    "font.size": TEXT,
    "axes.labelsize": TEXT,
    "xtick.labelsize": SMALL,
    "ytick.labelsize": SMALL,
    "axes.unicode_minus": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": FAINT,
    "axes.axisbelow": True,
    "svg.fonttype": "path",  # looks the same where the font is not installed
    "svg.hashsalt": "wheelsim",
}
_one_at_a_time = threading.RLock()  # matplotlib's settings are global to the process


@contextmanager
def fixed_look() -> Iterator[None]:
    """Context in which these settings hold; figures are made and written inside it."""
    with _one_at_a_time, matplotlib.rc_context(_SETTINGS), warnings.catch_warnings():
        # Letters missing in the font are drawn as boxes; the warning would only confuse the user.
        warnings.filterwarnings("ignore", "Glyph .* missing")
        yield


def plain(text: str) -> str:
    """Free text on one line, unprintable characters removed."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def signed(value: float, digits: int) -> str:
    """A number with its sign and a typographic minus; zero without sign."""
    text = f"{value:+.{digits}f}"
    return text[1:] if float(text) == 0 else text.replace("-", "\N{MINUS SIGN}")


def spread_out(places: Sequence[float], gap: float) -> Floats:
    """Move sorted places apart to at least ``gap`` with the least sum of squared shifts.

    Parameters
    ----------
    places : sequence of float
        k places in rising order.
    gap : float
        In the same unit.

    Returns
    -------
    (k,) ndarray
        In the same order.

    Notes
    -----
    Isotonic regression (pool adjacent violators) of the places less their share of gaps.
    """
    # (sum, count) of each pooled group of ``place - k * gap``; its mean is the common start of the group.
    groups: list[tuple[float, int]] = []
    for k, place in enumerate(places):
        total, count = place - k * gap, 1
        while groups and groups[-1][0] / groups[-1][1] > total / count:
            earlier = groups.pop()
            total, count = total + earlier[0], count + earlier[1]
        groups.append((total, count))
    starts = np.concatenate([np.full(count, total / count) for total, count in groups] or [np.zeros(0)])
    apart: Floats = starts + gap * np.arange(len(places))
    return apart


def label_margin(axes: Axes, labels: Iterable[tuple[float, str, str]]) -> None:
    """Write labels in the right margin of a panel, at their height, moved apart where they would overlap.

    Parameters
    ----------
    axes : Axes
        Its size and limits must be final.
    labels : iterable of (float, str, str)
        Height in data units, text, colour.
    """
    figure = axes.figure
    assert isinstance(figure, Figure), "panels of a sub-figure have no height of their own"
    labels = sorted(labels, key=lambda label: label[0])
    low, high = axes.get_ylim()
    height = axes.get_position().height * figure.get_figheight() * 72
    line = LINE * SMALL * (high - low) / height
    places = spread_out([height for height, _, _ in labels], line)
    for place, (height, words, colour) in zip(places, labels, strict=True):
        across = axes.get_yaxis_transform()
        if abs(place - height) > line / 4:  # moved: draw a short line to its place
            axes.plot([1.003, 1.012], [height, place], transform=across, color=colour, lw=0.8, clip_on=False)
        axes.text(1.016, place, words, transform=across, color=colour, fontsize=SMALL,
                  va="center", ha="left", parse_math=False)
