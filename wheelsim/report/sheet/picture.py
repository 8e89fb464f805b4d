"""The flat strip of a sheet as plain marks in a unit square, for any paper: lines, rings and words."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.view import View
from wheelsim.units import MM

TOP, MIDDLE = (0.06, 0.40), (0.50, 0.92)  # heights of the two panels, from the top


@dataclass(frozen=True)
class Mark:
    """A line through points, a ring at a point, or words at one; x and y from the top left, 0 to 1."""

    kind: Literal["line", "ring", "dot", "words"]
    points: tuple[tuple[float, float], ...]
    weight: float = 0.3  # of a line [mm]
    dashed: bool = False
    text: str = ""


def picture(before: View, after: View | None, turns: Turns | None, limit: float) -> tuple[Mark, ...]:
    """Position over tension, spoke by spoke from valve to valve.

    Parameters
    ----------
    before, after : View
        As found, and as planned where there is a plan.
    turns : (n,) ndarray or None
        Nipples that are turned are marked by their spoke numbers below.
    limit : float
        Highest tension allowed. [N]
    """
    n = before.wheel.n
    across = 0.12 + 0.86 * (np.arange(n) + 0.5) / n
    band = before.wheel.limits.lateral_runout / 2
    target = before.target_dish
    shown = [before.state.lateral] + ([] if after is None else [after.state.lateral])
    reach = max(float(max(np.abs(one - target).max() for one in shown)), 1.5 * band)

    def height(lateral: Floats | float) -> Floats:
        return np.asarray((TOP[0] + TOP[1]) / 2 - (np.asarray(lateral) - target) / reach * (TOP[1] - TOP[0]) / 2)

    marks = [Mark("words", ((0.0, TOP[0]),), text=f"+{reach / MM:.1f} mm"),
             Mark("words", ((0.0, TOP[1]),), text=f"-{reach / MM:.1f} mm")]
    for level, weight, dashed in ((target, 0.2, False), (target + band, 0.2, True), (target - band, 0.2, True)):
        y = float(height(level))
        marks.append(Mark("line", ((0.12, y), (0.98, y)), weight, dashed))
    for lateral, weight in zip(shown, (0.3, 0.8), strict=False):
        marks.append(Mark("line", tuple(zip(across.tolist(), height(lateral).tolist(), strict=True)), weight))
    seen = before if after is None else after
    most = 1.1 * max(limit, seen.highest)
    marks.append(Mark("words", ((0.0, MIDDLE[1] - (MIDDLE[1] - MIDDLE[0]) * limit / most),), text=f"{limit:.0f} N"))
    y = float(MIDDLE[1] - (MIDDLE[1] - MIDDLE[0]) * limit / most)
    marks.append(Mark("line", ((0.12, y), (0.98, y)), 0.4, True))
    marks.append(Mark("line", ((0.12, MIDDLE[1]), (0.98, MIDDLE[1])), 0.2))
    right = set(before.wheel.on_side("right"))
    for i, x in enumerate(across.tolist()):
        top = float(MIDDLE[1] - (MIDDLE[1] - MIDDLE[0]) * seen.state.tension[i] / most)
        marks.append(Mark("line", ((x, MIDDLE[1]), (x, top)), 0.3))
        marks.append(Mark("dot" if i in right else "ring", ((x, top),)))
        few = turns is not None and np.count_nonzero(turns) <= 8
        if i % max(n // 8, 1) == 0 or (few and turns is not None and turns[i] != 0):
            marks.append(Mark("words", ((x, 1.0),), text=str(i + 1)))
    return tuple(marks)
