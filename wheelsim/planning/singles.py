"""Turns told apart: those of whole sides, and those of nipples that are named one by one."""

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.planning.task import Task
from wheelsim.wheel.parts import SIDES, Wheel


def names_others(turns: Turns, task: Task) -> bool:
    """Whether turns (n,) name a nipple that may not be named: those of a side must all be turned alike."""
    held = task.free & ~task.named
    sides = [np.array(task.start.wheel.on_side(side), dtype=int) for side in SIDES]
    return any(np.ptp(turns[mine[held[mine]]]) > 1e-9 for mine in sides if held[mine].any())


def singles_and_sides(turns: Turns, wheel: Wheel) -> tuple[Turns, Turns]:
    """Turns (n,) as those of single nipples and those of whole sides; no nipple is turned both ways.

    A side is turned as a whole by what at least half of its nipples reach, so that fewest are named besides.
    """
    sides = np.zeros_like(turns)
    for side in SIDES:
        mine = np.array(wheel.pulling(side), dtype=int)
        named = {0.0: float(np.count_nonzero(turns[mine]))}
        for whole in np.unique(turns[mine]):
            reach = (turns[mine] * whole > 0) & (np.abs(turns[mine]) >= abs(whole) - 1e-9)
            if whole and 2 * np.count_nonzero(reach) >= len(mine):
                named[float(whole)] = float(np.count_nonzero(np.abs(turns[mine] - whole) > 1e-9))
        whole = min(named, key=lambda one: (named[one], abs(one)))
        # A nipple that its side's turn would take too far, or the wrong way, is left out of it.
        sides[mine[(turns[mine] * whole > 0) & (np.abs(turns[mine]) >= abs(whole) - 1e-9)]] = whole
    return turns - sides, sides
