"""Figure of the work on one wheel: gap, true and highest tension at each reading, read and predicted."""

import textwrap
from collections.abc import Callable, Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from wheelsim.measures.view import View
from wheelsim.report.figures.look import (
    BAND,
    FAINT,
    INK,
    LARGE,
    LIMIT,
    SMALL,
    TEXT,
    fixed_look,
    label_margin,
    plain,
    signed,
)
from wheelsim.stand.assessment import Assessment, VisitView
from wheelsim.units import MM

SIZE = (10.0, 6.4)  # [in]


def history(found: Assessment) -> Figure:
    """Draw gap, true and highest tension over all readings of a job.

    Parameters
    ----------
    found : Assessment
        Of a wheel that was read more than once.

    Returns
    -------
    matplotlib.figure.Figure

    Raises
    ------
    ValueError
        When no stable wheel explains the readings, or there is only one reading.
    """
    if found.view is None or len(found.readings) < 2:
        raise ValueError("nothing to draw: a history needs two readings of a wheel")
    limits = found.view.state.wheel.limits
    gap, target = limits.gap / MM, 2 * found.view.target_dish / MM
    with fixed_look():
        figure = Figure(figsize=SIZE)
        figure.text(0.02, 0.985, plain(found.wheel)[:110], fontsize=TEXT, color=LIMIT, va="top", parse_math=False)
        figure.suptitle(plain(_sentence(found.readings)), x=0.02, y=0.955, ha="left", va="top", fontsize=LARGE,
                        fontweight="bold", color=INK, parse_math=False)
        panels = figure.subplots(3, sharex=True, gridspec_kw={"left": 0.095, "right": 0.845, "bottom": 0.1, "top": 0.85,
                                                              "hspace": 0.14})
        _panel(panels[0], found.readings, lambda seen: seen.gap / MM, "gap", "gap [mm]\n+ right",
               (target - gap, target + gap), 2)
        _panel(panels[1], found.readings, lambda seen: seen.true / MM, "lateral_runout", "true [mm]",
               (0.0, limits.lateral_runout / MM), 2)
        _panel(panels[2], found.readings, lambda seen: seen.highest, "max_tension", "highest spoke [N]",
               (None, limits.max_tension), 0)
        _reading_axis(panels[-1], found.readings)
        handles = [Line2D([], [], color=INK, marker="o", lw=1.6, label="as read"),
                   Line2D([], [], color=INK, ls="none", marker="o", mfc="white", label="not read then: from all else"),
                   Line2D([], [], color=FAINT, ls=(0, (2, 2)), marker="D", mfc="white", label="predicted of it before"),
                   Patch(color=BAND, lw=0, label="accepted")]
        box = panels[0].get_position()
        figure.legend(handles=handles, loc="lower left", bbox_to_anchor=(box.x0, box.y1), ncols=4, fontsize=SMALL,
                      frameon=False, borderaxespad=0.2, borderpad=0.2)
        figure.align_ylabels(panels)
    return figure


def _sentence(readings: Sequence[VisitView]) -> str:
    """The sentence above the figure: gap and true at the first and last reading."""
    first, last = (next(one.view for one in some if one.view is not None) for some in (readings, readings[::-1]))
    gap = f"{signed(first.gap / MM, 2)} to {signed(last.gap / MM, 2)}"
    return (f"Over {len(readings)} readings the gap went from {gap} mm, true from {first.true / MM:.2f} to "
            f"{last.true / MM:.2f} mm.")


def _panel(axes: Axes, readings: Sequence[VisitView], of: Callable[[View], float], name: str, label: str,
           accepted: tuple[float | None, float], digits: int) -> None:
    """One panel: a quantity over the readings, its limits as a band."""
    low, high = accepted
    seen = np.array([np.nan if one.view is None else of(one.view) for one in readings]).round(4)
    said = np.array([np.nan if one.predicted is None else of(one.predicted) for one in readings]).round(4)
    read = np.array([one.read[name] for one in readings])
    at = np.arange(len(readings))
    held = [*seen[np.isfinite(seen)], *said[np.isfinite(said)], high, *([] if low is None else [low])]
    room = 0.12 * max(float(np.ptp(held)), 0.1)
    bottom, top = min(held) - room, max(held) + room
    axes.set_ylim(0.0 if low == 0.0 else bottom, top)
    axes.axhspan(bottom if low is None else low, high, color=BAND, lw=0, zorder=0)
    axes.plot(at, seen, color=INK, lw=1.6)
    for k in at[1:]:  # from each estimate to the prediction made from it
        axes.plot([k - 1, k], [seen[k - 1], said[k]], color=FAINT, lw=1.2, ls=(0, (2, 2)), zorder=1)
    axes.plot(at, said, ls="none", marker="D", ms=6.5, mfc="white", mec=FAINT, mew=1.2, zorder=2)
    for chosen, face in ((read, INK), (~read, "white")):
        axes.plot(at[chosen], seen[chosen], ls="none", marker="o", ms=6.5, mfc=face, mec=INK, zorder=3)
    axes.set_ylabel(label)
    axes.grid(axis="y", color="#e4e4e4", lw=0.6)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=5))
    labels = [(high, f"limit {high:,.{digits}f}", LIMIT)]
    if low:
        labels.append((low, f"limit {signed(low, digits)}", LIMIT))
    if np.isfinite(seen[-1]):
        now = signed(seen[-1], digits) if low is not None and low < 0 else f"{seen[-1]:,.{digits}f}"
        labels.append((float(seen[-1]), f"now {now}", INK))
    label_margin(axes, labels)


def _reading_axis(axes: Axes, readings: Sequence[VisitView]) -> None:
    """Label the readings below the last panel."""
    room = min(28, 100 // len(readings))  # letters per label, so that labels don't overlap
    names = [textwrap.shorten(plain(one.label), room, placeholder=" ...") or f"reading {k + 1}"
             for k, one in enumerate(readings)]
    axes.set_xticks(range(len(readings)), [f"{name}\nafter pass {one.after_pass}" if one.after_pass else f"{name}\n "
                                           for name, one in zip(names, readings, strict=True)])
    axes.set_xlim(-0.3, len(readings) - 0.7)
