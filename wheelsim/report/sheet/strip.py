"""The flat strip for paper: position over tension over turns, valve to valve, in shapes instead of a figure.

It says what the figure of the same name says, with type large enough to read beside the stand.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import resolved
from wheelsim.measures.view import View
from wheelsim.report.figures.look import BAND, LIMIT, STYLES, signed
from wheelsim.report.sheet.drawing import FAINT, INK, RULE, Drawing
from wheelsim.report.sheet.fonts import text_width
from wheelsim.units import MM, QUARTER, turns_text
from wheelsim.wheel.parts import SIDES, Side, Wheel

Role = Literal["received", "planned", "read"]
LABEL = {"received": "as received", "planned": "planned", "read": "as read"}
LINE: dict[Role, tuple[str, float, tuple[float, float] | None]] = {  # colour, width [mm], lengths on and off [mm]
    "received": (FAINT, 0.4, (0.6, 0.9)), "planned": (INK, 0.45, (2.2, 1.1)), "read": (INK, 0.6, None)}
LEFT, ROW = 13.0, 5.2  # room for numbers; height of a line of type [mm]
HEIGHTS = {"lateral": 25.0, "tension": 30.0, "turns": 14.0}  # [mm]


@dataclass(frozen=True)
class Shown:
    """The wheel at one time."""

    role: Role
    view: View


@dataclass(frozen=True)
class _Panel:
    """A part of the drawing with a scale of its own."""

    drawing: Drawing
    n: int
    top: float
    height: float
    low: float
    high: float

    def x(self, spoke: float) -> float:
        return LEFT + (spoke - 0.5) / self.n * (self.drawing.width - LEFT - 1.0)

    def y(self, value: float) -> float:
        return self.top + (self.high - value) / (self.high - self.low) * self.height

    def at(self, spokes: Iterable[float], values: Iterable[float]) -> list[tuple[float, float]]:
        return [(self.x(s), self.y(v)) for s, v in zip(spokes, values, strict=True)]

    def level(self, value: float, colour: str = LIMIT, width: float = 0.3,
              dash: tuple[float, float] | None = (1.6, 1.0)) -> None:
        if self.low <= value <= self.high:
            self.drawing.line((self.x(0.5), self.y(value)), (self.x(self.n + 0.5), self.y(value)), colour, width, dash)

    def frame(self, ticks: Sequence[tuple[float, str]]) -> None:
        """Ends at the valve, and numbers at the left."""
        for end in (0.5, self.n + 0.5):
            self.drawing.line((self.x(end), self.top), (self.x(end), self.top + self.height), FAINT, 0.3)
        for value, text in ticks:
            self.drawing.middle_words((LEFT - 1.2, self.y(value)), text, anchor="end")
            self.level(value, RULE, 0.12, None)


def rim_strip(shown: Sequence[Shown], turns: Turns | None, width: float) -> Drawing:
    """The rim laid out flat at one or more times.

    Parameters
    ----------
    shown : sequence of Shown
        The last is drawn most strongly.
    turns : (n,) ndarray or None
        Drawn below, where there are any. [turn]
    width : float
        [mm]
    """
    wheel = shown[-1].view.wheel
    turned = turns is not None and bool(np.any(turns))
    drawing = Drawing(width, 0.0, "The rim laid out flat from valve to valve: rim position, tension of each spoke"
                      + (", turns of each nipple" if turned else "") + "; "
                      + ", ".join(LABEL[one.role] for one in shown))
    top = _legend(drawing, shown)
    top = _lateral(drawing, shown, top)
    top = _tension(drawing, shown, top)
    if turned and turns is not None:
        top = _turns(drawing, wheel, turns, top)
    drawing.height = _numbers(drawing, wheel.n, top)
    return drawing


def _legend(drawing: Drawing, shown: Sequence[Shown]) -> float:
    at, row = 0.0, ROW / 2

    def place(wide: float) -> tuple[float, float]:
        nonlocal at, row
        if at > 0 and at + wide > drawing.width:
            at, row = 0.0, row + ROW
        here = at
        at += wide + 4.0
        return here, row

    for one in shown:
        colour, line, dash = LINE[one.role]
        text = LABEL[one.role]
        x, y = place(10.0 + text_width(text, 11.0))
        drawing.line((x, y), (x + 8.5, y), colour, line, dash)
        drawing.middle_words((x + 10.0, y), text)
    for side in SIDES:
        text = f"{side} spokes"
        x, y = place(4.0 + text_width(text, 11.0))
        mark(drawing, side, (x + 1.5, y), 1.2)
        drawing.middle_words((x + 4.0, y), text)
    return row + ROW / 2


def mark(drawing: Drawing, side: Side, place: tuple[float, float], size: float) -> None:
    """A side's mark: a full disc for the right, an open square for the left."""
    style = STYLES[side]
    if side == "right":
        drawing.disc(place, size, style.colour, style.face)
    else:
        drawing.box(place[0] - size, place[1] - size, 2 * size, 2 * size, style.colour, style.face, 0.35)


def _mm(values: npt.ArrayLike) -> Floats:
    rounded: Floats = np.round(np.asarray(values, dtype=float) / MM, 4) + 0.0
    return rounded


def _ticks(low: float, high: float, most: int = 5) -> list[float]:
    """Round numbers between two."""
    step = next(step for k in range(-4, 6) for step in (10.0**k, 2 * 10.0**k, 5 * 10.0**k)
                if (high - low) / step <= most)
    return [round(step * k, 6) for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


def _lateral(drawing: Drawing, shown: Sequence[Shown], top: float) -> float:
    last = shown[-1].view
    wheel, n = last.wheel, last.wheel.n
    rows = [_mm(one.view.state.lateral) for one in shown]
    target, gap = last.target_dish / MM, wheel.limits.gap / MM
    held = np.concatenate([*rows, [target - gap / 2, target + gap / 2]])
    room = 0.08 * max(float(np.ptp(held)), 0.2)
    drawing.middle_words((0.0, top + ROW / 2), _fitting(drawing.width, (
        f"Rim from the hub's middle, mm, plus right; dashed: gap limit {gap:.3g} mm; shaded: true",
        f"Rim, mm, plus right; dashed: gap limit {gap:.3g} mm")))
    panel = _Panel(drawing, n, top + ROW + 0.5, HEIGHTS["lateral"], float(held.min()) - room, float(held.max()) + room)
    band, mean = wheel.limits.lateral_runout / MM, float(rows[-1].mean())
    high, low = (min(max(mean + half, panel.low), panel.high) for half in (band / 2, -band / 2))
    drawing.box(panel.x(0.5), panel.y(high), panel.x(n + 0.5) - panel.x(0.5), panel.y(low) - panel.y(high), None, BAND)
    ticks = _ticks(panel.low, panel.high, 4)
    digits = 2 if len(ticks) > 1 and round(ticks[1] - ticks[0], 6) < 0.1 else 1
    panel.frame([(tick, signed(tick, digits)) for tick in ticks])
    for edge in (target - gap / 2, target + gap / 2):
        panel.level(edge)
    panel.level(target, LIMIT, 0.3, None)
    spokes = np.arange(1, n + 1)
    for one, row in zip(shown, rows, strict=True):
        colour, line, dash = LINE[one.role]
        drawing.path(panel.at(spokes, row), colour, line, dash)
    return panel.top + panel.height + 1.0


def _fitting(width: float, texts: Sequence[str]) -> str:
    """The first of several wordings that is no wider than a width [mm], or the last."""
    return next((text for text in texts if text_width(text, 11.0) <= width), texts[-1])


def _tension(drawing: Drawing, shown: Sequence[Shown], top: float) -> float:
    last = shown[-1].view
    wheel, n = last.wheel, last.wheel.n
    bounds = resolved(wheel)
    rows = [np.round(one.view.state.tension, 2) + 0.0 for one in shown]
    most = 1.07 * max(bounds.max_tension, *(float(row.max()) for row in rows))
    limits = f"{bounds.min_tension:.0f} to {bounds.max_tension:.0f} N"
    drawing.middle_words((0.0, top + ROW / 2), _fitting(drawing.width, (
        f"Tension of each spoke, N; dashed: limits {limits}; stems: {LABEL[shown[-1].role]}",
        f"Tension, N; dashed: limits {limits}")))
    panel = _Panel(drawing, n, top + ROW + 0.5, HEIGHTS["tension"], 0.0, most)
    panel.frame([(tick, f"{tick:,.0f}") for tick in _ticks(0.0, most)])
    for limit in (bounds.max_tension, bounds.min_tension):
        panel.level(limit, LIMIT, 0.4)
    size = min(max(0.17 * (drawing.width - LEFT) / n, 0.55), 1.0)
    for side in SIDES:
        index = wheel.pulling(side)
        for i in index:
            x = panel.x(i + 1)
            drawing.line((x, panel.y(0.0)), (x, panel.y(float(rows[-1][i]))), STYLES[side].colour, 0.35,
                         None if side == "right" else (1.2, 0.6))
            for one, row in zip(shown[:-1], rows[:-1], strict=True):
                y = panel.y(float(row[i]))
                drawing.line((x - 1.6 * size, y), (x + 1.6 * size, y), LINE[one.role][0], 0.45,
                             (0.6, 0.5) if one.role == "received" else None)
            mark(drawing, side, (x, panel.y(float(rows[-1][i]))), size)
    _crosses(panel, wheel, 0.0)
    return panel.top + panel.height + 1.0


def _crosses(panel: _Panel, wheel: Wheel, value: float) -> None:
    """A cross where a spoke is missing."""
    for spoke in sorted(wheel.spokes.missing):
        x, y = panel.x(spoke), panel.y(value)
        for way in (1, -1):
            panel.drawing.line((x - 1.2, y - way * 1.2), (x + 1.2, y + way * 1.2), INK, 0.45)


def _turns(drawing: Drawing, wheel: Wheel, turns: Turns, top: float) -> float:
    most = max(float(np.abs(turns).max()), QUARTER)
    drawing.middle_words((0.0, top + ROW / 2), _fitting(drawing.width, (
        "Turns of each nipple in all; up tightens, down loosens", "Turns in all; up tightens, down loosens")))
    panel = _Panel(drawing, wheel.n, top + ROW + 0.5, HEIGHTS["turns"], -1.25 * most, 1.25 * most)
    panel.frame([(value, turns_text(value, signed=True).replace("-", "\N{MINUS SIGN}")) for value in (most, -most)])
    panel.level(0.0, FAINT, 0.3, None)
    for side in SIDES:
        for i in wheel.pulling(side):
            if turns[i]:
                x, y = panel.x(i + 1), panel.y(float(turns[i]))
                drawing.line((x, panel.y(0.0)), (x, y), STYLES[side].colour, 0.35,
                             None if side == "right" else (1.2, 0.6))
                mark(drawing, side, (x, y), 0.9)
    return panel.top + panel.height + 1.0


def _numbers(drawing: Drawing, n: int, top: float) -> float:
    """Spoke numbers along the bottom and the valve at both ends; returns where the drawing ends."""
    panel = _Panel(drawing, n, top, 1.0, 0.0, 1.0)
    each = (drawing.width - LEFT) / n
    step = next((step for step in (1, 2, 4, 8) if step * each > text_width(str(n), 11.0) + 1.0), 16)
    for spoke in range(1, n + 1, step):
        drawing.middle_words((panel.x(spoke), top + ROW / 2), str(spoke), anchor="middle")
    drawing.middle_words((panel.x(0.5), top + 1.5 * ROW), "valve")
    drawing.middle_words((panel.x(n + 0.5), top + 1.5 * ROW), "valve", anchor="end")
    drawing.middle_words(((panel.x(0.5) + panel.x(n + 0.5)) / 2, top + 1.5 * ROW), _fitting(
        drawing.width - LEFT - 30.0, ("spoke number, clockwise seen from the right", "spoke, clockwise from right",
                                      "spoke number")), anchor="middle")
    return top + 2 * ROW
