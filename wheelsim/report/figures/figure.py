"""A picture of a result, for Python."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wheelsim.report.figures.strip import strip

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from wheelsim.planning.plan_result import Plan
    from wheelsim.stand.assess import Assessment
    from wheelsim.stand.predict import Prediction


def figure(result: Prediction | Plan | Assessment) -> Figure:
    """The wheel laid out flat: before and after a prediction or a plan, or as assessed.

    Raises
    ------
    ValueError
        Where the result has no wheel to draw: nothing stable was found, or there is no plan.
    """
    before = getattr(result, "before", None) or getattr(result, "view", None)
    after = getattr(result, "after", None) or getattr(result, "view", None)
    if before is None or after is None:
        raise ValueError("nothing to draw: this result has no wheel before and after")
    turns = getattr(result, "turns", None)
    if turns is None:
        turns = before.state.turns * 0
    return strip(before.wheel, before, after, turns)
