"""Nipples to turn as rows of boxes from valve to valve, both flanges, to be ticked one by one."""

import math
from collections.abc import Sequence

from wheelsim.arrays import Turns
from wheelsim.report.sheet.drawing import FAINT, INK, RULE, Drawing
from wheelsim.report.sheet.fonts import text_width
from wheelsim.units import turns_text
from wheelsim.wheel.parts import SIDES, Wheel

NUMBER, AMOUNT, TICK = 4.6, 4.6, 4.4  # heights of a number, an amount, a square to tick [mm]
LEAST = 7.4  # width of a box: two digits, or a fraction, at 11 pt [mm]
NAME = 13.5  # width of the flange's name before its row [mm]


def nipple_rows(wheel: Wheel, turns: Turns, width: float) -> Drawing:
    """A row of boxes a flange; what is to be turned has its amount and a square, the rest its number only.

    Parameters
    ----------
    wheel : Wheel
    turns : (n,) ndarray
        Of one pass. [turn]
    width : float
        [mm]
    """
    amounts = {i: turns_text(abs(float(t))) for i, t in enumerate(turns) if t}
    need = max([LEAST, *(text_width(text, 11.0, True) + 1.4 for text in amounts.values())])
    flanges = {side: list(map(int, sorted(wheel.on_side(side)))) for side in SIDES}
    longest = max(len(own) for own in flanges.values())
    room = width - NAME
    # Half a box more: the flanges are staggered, as the spokes are.
    bands = math.ceil(longest * need / (room - need / 2) - 1e-9)
    across = math.ceil(longest / bands)
    box = min(room / (across + 0.5), 14.0)
    drawing = Drawing(width, 0.0, "Nipples to turn, from the valve round: " + ", ".join(
        f"spoke {i + 1} {text}" for i, text in amounts.items()))
    top = 0.0
    first = min(SIDES, key=lambda side: flanges[side][0])
    for band in range(bands):
        for side in SIDES:
            own = flanges[side][band * across:(band + 1) * across]
            inset = NAME + (0.0 if side == first else box / 2)
            top = _row(drawing, wheel, side, own, amounts, inset, box, top)
        top += 0.8
    drawing.height = top
    return drawing


def _row(drawing: Drawing, wheel: Wheel, side: str, own: Sequence[int], amounts: dict[int, str], left: float,
         box: float, top: float) -> float:
    """One flange's nipples under a top; returns where they end."""
    turned = any(i in amounts for i in own)
    height = NUMBER + (AMOUNT + TICK if turned else 0.0)
    drawing.middle_words((0.0, top + NUMBER / 2), side, colour=INK if turned else FAINT)
    for k, i in enumerate(own):
        x = left + k * box
        here = i in amounts
        if here:
            drawing.box(x, top, box, height, INK, None, 0.3)
            drawing.middle_words((x + box / 2, top + NUMBER + AMOUNT / 2), amounts[i], anchor="middle", bold=True)
            drawing.box(x + box / 2 - 1.9, top + NUMBER + AMOUNT, 3.8, 3.8, INK, "#ffffff", 0.35)
        else:
            drawing.box(x, top, box, height, RULE, None, 0.15)
        drawing.middle_words((x + box / 2, top + NUMBER / 2), str(i + 1), anchor="middle",
                             colour=INK if here else FAINT)
        if i + 1 in wheel.spokes.missing:
            drawing.line((x, top), (x + box, top + height), INK, 0.3)
    return top + height
