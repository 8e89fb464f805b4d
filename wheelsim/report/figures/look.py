"""The look of figures: colours, marks and type shared by every figure, whatever the user's own settings."""

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
LINE = 1.25  # height of a line of type over its size


@dataclass(frozen=True)
class SideStyle:
    """How one side is told apart: by colour, by marker and by line, each enough alone."""

    colour: str
    marker: str
    line: Literal["solid"] | tuple[float, tuple[float, ...]]  # solid, or (offset, lengths on and off)
    face: str


# Blue and red of the high-contrast scheme, apart for the colour-blind and on a grey print: P. Tol, Colour Schemes,
# SRON technical note SRON/EPS/TN/09-002, issue 3.2, 2021 (values from memory).
STYLES: dict[Side, SideStyle] = {
    "right": SideStyle("#004488", "o", "solid", "#004488"),
    "left": SideStyle("#bb5566", "s", (0, (3, 1.5)), "white"),
}

# Left to the machine: what picks a screen, and what names no look.
_SETTINGS = {
    key: value for key, value in matplotlib.rcParamsDefault.items()
    if not key.startswith(("backend", "webagg", "savefig.directory", "date."))
} | {
    "font.family": ["DejaVu Sans"],  # travels with matplotlib, so it is the same everywhere
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
_one_at_a_time = threading.RLock()  # matplotlib's settings are one for the whole process


@contextmanager
def fixed_look() -> Iterator[None]:
    """Settings of the one look, for as long as a figure is being made or written."""
    with _one_at_a_time, matplotlib.rc_context(_SETTINGS), warnings.catch_warnings():
        # A name in a script the font lacks shows as boxes; no reason to talk about fonts.
        warnings.filterwarnings("ignore", "Glyph .* missing")
        yield


def plain(text: str) -> str:
    """Free text on one line, without characters that a file can't hold."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def signed(value: float, digits: int) -> str:
    """A number with its sign, a true minus, and no sign on nought."""
    text = f"{value:+.{digits}f}"
    return text[1:] if float(text) == 0 else text.replace("-", "\N{MINUS SIGN}")


def spread_out(places: Sequence[float], gap: float) -> Floats:
    """Places moved apart to at least ``gap``, in order, each as near as may be to where it was.

    Parameters
    ----------
    places : sequence of float
        Rising.
    gap : float

    Returns
    -------
    (k,) ndarray
    """
    # (sum of wished starts, count) of each run of places that touch: a run stays centred on their wishes.
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
    """Write labels in the right margin of a panel, at their height but never over one another.

    Parameters
    ----------
    axes : Axes
        Of final size and limits.
    labels : iterable of (float, str, str)
        Height in the panel's data, words, colour.
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
        if abs(place - height) > line / 4:  # moved: lead the eye back to where it belongs
            axes.plot([1.003, 1.012], [height, place], transform=across, color=colour, lw=0.8, clip_on=False)
        axes.text(1.016, place, words, transform=across, color=colour, fontsize=SMALL,
                  va="center", ha="left", parse_math=False)
