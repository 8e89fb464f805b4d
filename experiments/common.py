"""Shared by experiments: the sample wheels, variations of them, and a figure with its heading."""

import math
import re
import textwrap
from dataclasses import replace
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FixedLocator

from wheelsim.files import read_wheel
from wheelsim.files.reader import sample_path
from wheelsim.report.figures.look import FAINT, INK, LARGE, LIMIT, LINE, SMALL, STYLES, TEXT

FIGURES = Path(__file__).parents[1] / "figures"


def front():
    """The shipped front wheel, invented: 36 spokes, both flanges 35 mm out, 1,000 N."""
    return read_wheel(sample_path("front.toml"))


def dished_rear():
    """The shipped dished rear wheel, invented: 32 spokes, flanges 36 mm left and 19 mm right, right 1,150 N."""
    return read_wheel(sample_path("dished-rear-wheel.toml"))


def side_turns(wheel, right=0.0, left=0.0):
    """Turns of whole sides, (n,). [turn]"""
    turns = np.zeros(wheel.n)
    turns[wheel.on_side("right")] = right
    turns[wheel.on_side("left")] = left
    return turns


def one_turn(wheel, spoke, turns):
    """Turns of one nipple, numbered from 1: (n,). [turn]"""
    return np.where(np.arange(1, wheel.n + 1) == spoke, turns, 0.0)


def with_flanges(wheel, right=None, left=None):
    """The wheel with flanges this far from the hub's middle. [m]"""
    hub = wheel.hub
    far = {"right": hub.right.offset if right is None else right, "left": hub.left.offset if left is None else left}
    return replace(wheel, hub=replace(hub, **{side: replace(hub.flange(side), offset=far[side]) for side in far}))


def with_holes(wheel, n, cross):
    """The wheel with n evenly spaced spokes, alternately right and left from spoke 1, all with this many crosses."""
    spokes = wheel.spokes
    return replace(
        wheel, rim=replace(wheel.rim, hole_angles=tuple(2 * math.pi * (i + 0.5) / n for i in range(n))),
        spokes=replace(spokes, sides="RL" * (n // 2), left=replace(spokes.left, cross=cross),
                       right=replace(spokes.right, cross=cross)))


def with_diameter(wheel, diameter):
    """The wheel with plain spokes of one diameter. [m]"""
    plain = ((diameter, 1.0),)
    return replace(wheel, spokes=replace(wheel.spokes, left=replace(wheel.spokes.left, segments=plain),
                                         right=replace(wheel.spokes.right, segments=plain)))


def without(wheel, spoke):
    """The wheel with a spoke missing."""
    return replace(wheel, spokes=replace(wheel.spokes, missing=frozenset({spoke})))


def page(sentence, size=(10.0, 5.5), note="invented wheel, no real one was measured"):
    """An empty figure with a sentence as its heading; use it inside ``fixed_look()``.

    Returns
    -------
    figure : Figure
    top : float
        Top of the panels, as a fraction of the height.
    """
    figure = Figure(figsize=size)
    line = LINE / 72 / size[1]
    whole = re.sub(r"(?<=\d) (?=mm|N\b|%)", "\N{NO-BREAK SPACE}", sentence)
    lines = textwrap.wrap(whole, round(8.8 * size[0]))
    figure.text(0.02, 0.985, note, fontsize=TEXT, color=LIMIT, va="top", parse_math=False)
    figure.suptitle("\n".join(lines), x=0.02, y=0.985 - TEXT * line * 1.1, ha="left", va="top", fontsize=LARGE,
                    fontweight="bold", color=INK, parse_math=False)
    return figure, 0.985 - line * (TEXT * 1.1 + LARGE * len(lines) + SMALL * 1.2)


def spoke_axis(panels, n):
    """Axes of spoke numbers from valve to valve for panels that share them; labelled below the last."""
    for axes in panels:
        for end in (0.5, n + 0.5):
            axes.axvline(end, color=FAINT, lw=1.2, ls="dotted")
        axes.tick_params(axis="x", length=3 if axes is panels[-1] else 0)
        axes.grid(axis="y", color="#e4e4e4", lw=0.6)
    panels[0].set_xlim(0.5 - 0.008 * n, n + 0.5 + 0.008 * n)
    panels[-1].xaxis.set_major_locator(FixedLocator(np.arange(1, n + 1, 2)))
    for end in (0.5, n + 0.5):
        panels[-1].annotate("valve", (end, 0), (0, -26), xycoords=("data", "axes fraction"),
                            textcoords="offset points", ha="center", va="center", fontsize=SMALL)
    panels[-1].set_xlabel("spoke number, clockwise as seen from the right", labelpad=4)


def stems(axes, wheel, values, mark=5.5):
    """One stem per spoke; marker and line tell its side."""
    for side, style in STYLES.items():
        index = np.array(wheel.pulling(side))
        axes.vlines(index + 1, 0.0, values[index], colors=style.colour, linestyles=[style.line], lw=1.4)
        axes.plot(index + 1, values[index], ls="none", **marker(side, mark))


def marker(side, size=5.5):
    """Keyword arguments for matplotlib: the marker of a side."""
    style = STYLES[side]
    return {"marker": style.marker, "ms": size, "mfc": style.face, "mec": style.colour, "mew": 1.2, "zorder": 3}


def side_handles():
    """Legend entries of the two sides."""
    return [Line2D([], [], color=style.colour, ls=style.line, lw=1.4, label=f"{side} spokes", **marker(side))
            for side, style in STYLES.items()]


def rounded(values, digits=4):
    """Values rounded, so that floating-point noise doesn't change a figure's file."""
    return np.round(np.asarray(values, dtype=float), digits) + 0.0
