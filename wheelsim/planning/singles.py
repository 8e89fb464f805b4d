"""Turns told apart: those of whole sides, and those of nipples that are named one by one."""

import numpy as np

from wheelsim.arrays import Bools, Turns
from wheelsim.wheel.parts import SIDES, Wheel


def names_others(turns: Turns, wheel: Wheel, may: Bools | None) -> bool:
    """Whether turns (n,) name a nipple that may not be named."""
    return may is not None and any(
        (np.abs(turns[mine] - _usual(turns[mine])) > 1e-9)[~may[mine]].any()
        for mine in (np.array(wheel.pulling(side), dtype=int) for side in SIDES))


def _usual(turns: Turns) -> float:
    """What more than half of a side's nipples are turned by, else nought. [turn]"""
    amounts, counts = np.unique(turns, return_counts=True)
    return float(amounts[counts.argmax()]) if len(turns) and counts.max() > len(turns) / 2 else 0.0


def singles_and_sides(turns: Turns, wheel: Wheel) -> tuple[Turns, Turns]:
    """Turns (n,) as those of single nipples and those of whole sides; no nipple is turned both ways.

    A side is turned as a whole by what more than half of its nipples are turned by.
    """
    sides = np.zeros_like(turns)
    for side in SIDES:
        mine = np.array(wheel.pulling(side), dtype=int)
        usual = _usual(turns[mine])
        # A nipple that its side's turn would take too far, or the wrong way, is left out of it.
        joins = (turns[mine] * usual > 0) & (np.abs(turns[mine]) >= abs(usual) - 1e-9)
        sides[mine[joins]] = usual
    return turns - sides, sides
