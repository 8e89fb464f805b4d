"""The strip: rim position, tensions and turns over the spoke number, as if the rim were laid out flat."""

import re
import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator, MultipleLocator

from wheelsim.arrays import Floats, Turns
from wheelsim.estimation.outlook import Outlook
from wheelsim.measures.view import View
from wheelsim.report.figures.look import (
    BAND,
    FAINT,
    INK,
    LARGE,
    LIMIT,
    LINE,
    SMALL,
    STYLES,
    TEXT,
    SideStyle,
    fixed_look,
    label_margin,
    plain,
    signed,
)
from wheelsim.report.figures.words import what_to_see
from wheelsim.units import MM, QUARTER, turns_text
from wheelsim.wheel.parts import Side, Wheel

SIZE = (10.0, 7.0)  # [in]
HEIGHTS = (2.05, 0.95, 2.2, 1.1)  # relative heights of the panels


def strip(wheel: Wheel, before: View, after: View, turns: npt.ArrayLike, *, title: str | None = None,
          sentence: str | None = None, ahead: Outlook | None = None) -> Figure:
    """Draw a wheel before and after turns, all on one axis of spoke numbers.

    Parameters
    ----------
    wheel : Wheel
    before, after : View
        With the same state in both, only one is drawn.
    turns : (n,) array_like
        Plus tightens. [turn]
    title : str, optional
        Default: the wheel's name.
    sentence : str, optional
        Heading that says what to see; default: gap, run-out and highest tension.
    ahead : Outlook, optional
        Its 95 per cent intervals are drawn as bands around the rim and the tensions after.

    Returns
    -------
    matplotlib.figure.Figure
        Panels from the top: lateral, radial, tension, turns.

    Notes
    -----
    A lowest tension given as "from load" is not drawn.
    """
    turned: Turns = np.round(np.asarray(turns, dtype=float), 6) + 0.0
    sentence = what_to_see(wheel, before, after) if sentence is None else sentence
    was = None if after.state is before.state else before  # None: nothing to compare
    with fixed_look():
        figure = Figure(figsize=SIZE)
        top = _head(figure, plain(wheel.name if title is None else title), plain(sentence))
        panels = figure.subplots(
            len(HEIGHTS), sharex=True,
            gridspec_kw={"height_ratios": HEIGHTS, "left": 0.095, "right": 0.845, "bottom": 0.085,
                         "top": top, "hspace": 0.14},
        )
        _lateral(panels[0], wheel, was, after, ahead)
        _radial(panels[1], wheel, was, after)
        _tension(panels[2], wheel, was, after, ahead)
        _turns(panels[3], wheel, turned)
        _spoke_axis(panels, wheel.n)
        _legend(figure, panels[0], wheel, was, after, ahead)
        figure.align_ylabels(panels)
    return figure


def _head(figure: Figure, title: str, sentence: str) -> float:
    """Write title and heading; returns the top of the panels as a fraction of the figure's height."""
    line = LINE / 72 / SIZE[1]
    # No line break between a number and its unit, nor between "limit" and its number.
    whole = re.sub(r"(?<=\d) (?=mm|N\b|%)|(?<=limit) (?=\d)", "\N{NO-BREAK SPACE}", sentence)
    lines = textwrap.wrap(whole, 88, max_lines=4, placeholder=" ...")
    figure.text(0.02, 0.985, title if len(title) <= 110 else title[:106] + " ...", fontsize=TEXT, color=LIMIT,
                va="top", parse_math=False)
    figure.suptitle("\n".join(lines), x=0.02, y=0.985 - TEXT * line * 1.1, ha="left", va="top",
                    fontsize=LARGE, fontweight="bold", color=INK, parse_math=False)
    return 0.985 - line * (TEXT * 1.1 + LARGE * len(lines) + SMALL * 2)


def _there(wheel: Wheel, side: Side) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Numbers (from 1) and indices of a side's spokes, missing ones left out."""
    index = np.array(wheel.pulling(side))
    return index + 1, index


def _mark_size(n: int) -> float:
    """Marker size for n spokes. [pt]"""
    return float(np.clip(190 / n, 3.0, 6.5))


def _in_mm(values: npt.ArrayLike) -> Floats:
    # Rounded, so that floating-point noise doesn't change the file's bytes.
    rounded: Floats = np.round(np.asarray(values, dtype=float) / MM, 4) + 0.0
    return rounded


def _rim_line(axes: Axes, wheel: Wheel, before: Floats | None, after: Floats, band: float) -> float:
    """Rim position before and after, allowed run-out as a band around the mean after; returns that mean. [mm]"""
    number = np.arange(1, wheel.n + 1)
    mean = float(after.mean())
    axes.axhspan(mean - band / 2, mean + band / 2, color=BAND, lw=0, zorder=0, label="band")
    if before is not None:
        axes.plot(number, before, color=FAINT, lw=1.3, label="before")
    axes.plot(number, after, color=INK, lw=1.6, label="after")
    for side, style in STYLES.items():
        where, index = _there(wheel, side)
        axes.plot(where, after[index], ls="none", marker=style.marker, ms=_mark_size(wheel.n),
                  mfc=style.face, mec=style.colour, mew=1.2, label=f"after {side}")
    return mean


def _lateral(axes: Axes, wheel: Wheel, before: View | None, after: View, ahead: Outlook | None) -> None:
    now = _in_mm(after.state.edge)
    reach = now if ahead is None else _in_mm(ahead.lateral)
    if ahead is not None:
        axes.fill_between(np.arange(1, wheel.n + 1), *reach, **_AHEAD)
    was = None if before is None else _in_mm(before.state.edge)
    mean = _rim_line(axes, wheel, was, now, wheel.limits.lateral_runout / MM)
    target, gap = float(_in_mm(after.target_dish)), wheel.limits.gap / MM
    axes.axhline(target, color=LIMIT, lw=1.0, zorder=1, label="target")
    for edge in (target - gap / 2, target + gap / 2):
        axes.axhline(edge, color=LIMIT, lw=1.0, ls="dashed", zorder=1, label="gap limit")
    _room(axes, now, was, reach, [target - gap / 2, target + gap / 2, mean], share=0.08, ticks=5)
    axes.set_ylabel("lateral [mm]\n+ right")
    labels = [(target, f"target {signed(target, 2)}" if target else "hub middle", LIMIT),
              (target + gap / 2, f"gap limit {gap:.3g} mm", LIMIT),
              (target - gap / 2, f"gap limit {gap:.3g} mm", LIMIT),
              (mean, f"mean {signed(mean, 2)}", INK)]
    if was is not None:
        labels.append((was.mean(), f"before {signed(was.mean(), 2)}", FAINT))
    label_margin(axes, labels)


def _radial(axes: Axes, wheel: Wheel, before: View | None, after: View) -> None:
    now = _in_mm(after.state.radial)
    was = None if before is None else _in_mm(before.state.radial)
    band = wheel.limits.radial_runout / MM
    mean = _rim_line(axes, wheel, was, now, band)
    _room(axes, now, was, [mean - band / 2, mean + band / 2], share=0.15, ticks=3)
    axes.set_ylabel("radial [mm]\n+ out")


def _room(axes: Axes, *values: npt.ArrayLike | None, share: float, ticks: int) -> None:
    """Set y limits that contain all values, with a margin (share of their range), and the number of ticks."""
    held = np.concatenate([np.ravel(v) for v in values if v is not None])
    room = share * max(float(np.ptp(held)), 0.1)
    axes.set_ylim(float(held.min()) - room, float(held.max()) + room)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=ticks, steps=[1, 2, 5, 10], min_n_ticks=2))


def _tension(axes: Axes, wheel: Wheel, before: View | None, after: View, ahead: Outlook | None) -> None:
    limits = wheel.limits
    if ahead is not None:
        for side in STYLES:
            number, index = _there(wheel, side)
            axes.fill_between(number, *np.round(np.maximum(ahead.tension[:, index], 0.0), 1), **_AHEAD)
    now = np.round(after.state.tension, 2) + 0.0
    was = None if before is None else np.round(before.state.tension, 2) + 0.0
    labels = [(limits.max_tension, f"max {limits.max_tension:,.0f} N", LIMIT)]
    axes.axhline(limits.max_tension, color=LIMIT, lw=1.2, ls="dashed", label="max tension")
    if not isinstance(limits.min_tension, str):  # "from load": no number to draw
        axes.axhline(limits.min_tension, color=LIMIT, lw=1.2, ls="dashed", label="min tension")
        labels.append((limits.min_tension, f"min {limits.min_tension:,.0f} N", LIMIT))
    for side, style in STYLES.items():
        number, index = _there(wheel, side)
        _stems(axes, number, now[index], style, wheel.n, label=f"after {side}")
        if was is not None:
            axes.plot(number, was[index], ls="none", marker="_", ms=2.2 * _mark_size(wheel.n), mew=1.6,
                      color=FAINT, zorder=1.5, label=f"before {side}")
        mean = float(now[index].mean())
        labels.append((mean, f"{side} mean {mean:,.0f} N", style.colour))
    axes.plot(after.slack, np.zeros(len(after.slack)), **_SLACK, clip_on=False, label="slack")
    _crosses(axes, wheel)
    axes.set_ylim(0.0, 1.08 * max(limits.max_tension, now.max(), 0.0 if was is None else was.max(),
                                  0.0 if ahead is None else float(ahead.tension.max())))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=6))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
    axes.set_ylabel("tension [N]")
    label_margin(axes, labels)


# Keyword arguments for matplotlib lines; Any, since their types differ.
_SLACK: dict[str, Any] = {"ls": "none", "marker": "v", "ms": 8.0, "mfc": "white", "mec": INK, "mew": 1.5, "zorder": 4}
_CROSS: dict[str, Any] = {"ls": "none", "marker": "x", "ms": 7.0, "mec": INK, "mew": 1.8, "zorder": 4}
_AHEAD: dict[str, Any] = {"color": "#9db7d6", "alpha": 0.45, "lw": 0, "zorder": 0.5, "label": "ahead"}


def _crosses(axes: Axes, wheel: Wheel) -> None:
    """A cross at zero for each missing spoke."""
    missing = sorted(wheel.spokes.missing)
    axes.plot(missing, np.zeros(len(missing)), **_CROSS, clip_on=False, label="missing")


def _stems(axes: Axes, number: npt.NDArray[np.intp], height: Floats, style: SideStyle, n: int, label: str) -> None:
    axes.vlines(number, 0.0, height, colors=style.colour, linestyles=style.line, lw=1.4,
                label=f"stems {label}")
    axes.plot(number, height, ls="none", marker=style.marker, ms=_mark_size(n), mfc=style.face,
              mec=style.colour, mew=1.2, zorder=3, label=label)


def _turns(axes: Axes, wheel: Wheel, turns: Turns) -> None:
    most = max(float(np.abs(turns).max()), QUARTER)
    axes.set_ylim(-1.3 * most, 1.3 * most)
    axes.axhline(0.0, color=FAINT, lw=0.8)
    for side, style in STYLES.items():
        number, index = _there(wheel, side)
        turned = turns[index] != 0
        _stems(axes, number[turned], turns[index][turned], style, wheel.n, label=f"turns {side}")
    _crosses(axes, wheel)
    if not turns.any():
        axes.text(0.5, 0.75, "no nipple turned", transform=axes.transAxes, ha="center", va="center",
                  fontsize=TEXT, color=INK)
    step = QUARTER * 2 ** max(0.0, np.ceil(np.log2(most / 0.5)))  # at most five ticks
    axes.yaxis.set_major_locator(MultipleLocator(step))
    if most <= 1.5:
        axes.yaxis.set_minor_locator(MultipleLocator(QUARTER))
    axes.yaxis.set_major_formatter(FuncFormatter(
        lambda value, _: turns_text(round(value, 6), signed=True).replace("-", "\N{MINUS SIGN}")))
    axes.set_ylabel("turns\n+ tightens")
    label_margin(axes, [(most, "tighten", LIMIT), (-most, "loosen", LIMIT)])


def _spoke_axis(panels: Sequence[Axes], n: int) -> None:
    ends = (0.5, n + 0.5)
    for axes in panels:
        for end in ends:
            axes.axvline(end, color=FAINT, lw=1.2, ls="dotted", label="valve")
        axes.tick_params(axis="x", length=3 if axes is panels[-1] else 0)
        axes.grid(axis="y", color="#e4e4e4", lw=0.6)
    panels[0].set_xlim(0.5 - 0.008 * n, n + 0.5 + 0.008 * n)
    room = 72 * SIZE[0] * panels[-1].get_position().width / n  # [pt] per spoke
    step = next(step for step in (1, 2, 4, 8) if step * room > 2.5 + 6 * len(str(n)))
    panels[-1].xaxis.set_major_locator(FixedLocator(range(1, n + 1, step)))
    for end in ends:
        panels[-1].annotate("valve", (end, 0), (0, -26), xycoords=("data", "axes fraction"),
                            textcoords="offset points", ha="center", va="center", fontsize=SMALL)
    panels[-1].set_xlabel("spoke number, clockwise as seen from the right", labelpad=4)


def _legend(figure: Figure, axes: Axes, wheel: Wheel, before: View | None, after: View,
            ahead: Outlook | None) -> None:
    handles: list[Artist] = [Line2D([], [], color=style.colour, ls=style.line, marker=style.marker, mfc=style.face,
                      mec=style.colour, lw=1.4, label=f"{side} spokes")
               for side, style in STYLES.items()]
    if before is not None:
        handles += [Line2D([], [], color=INK, lw=1.6, label="rim after"),
                    Line2D([], [], color=FAINT, lw=1.6, label="before")]
    handles.append(Patch(color=BAND, lw=0, label="allowed run-out"))
    if ahead is not None:
        handles.append(Patch(**_AHEAD | {"label": "95 in 100 end here"}))
    if after.slack:
        handles.append(Line2D([], [], **_SLACK, label="slack"))
    if wheel.spokes.missing:
        handles.append(Line2D([], [], **_CROSS, label="missing"))
    box = axes.get_position()
    figure.legend(handles=handles, loc="lower left", bbox_to_anchor=(box.x0, box.y1), ncols=len(handles),
                  fontsize=SMALL, frameon=False, borderaxespad=0.2, borderpad=0.2, handlelength=2.4,
                  columnspacing=1.4, handletextpad=0.5)
