"""The public function ``wheelsim.figure``."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from wheelsim.report.figures.history import history
from wheelsim.report.figures.strip import strip

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from wheelsim.planning.plan_result import Plan
    from wheelsim.stand.assess import Assessment
    from wheelsim.stand.predict import Prediction


def figure(result: Prediction | Plan | Assessment) -> Figure:
    """Draw a result.

    Parameters
    ----------
    result : Prediction, Plan or Assessment

    Returns
    -------
    matplotlib.figure.Figure
        Of a prediction or plan: the rim laid out flat, before and after. Of an assessment: its history if there are
        several readings, else the rim laid out flat.

    Raises
    ------
    ValueError
        When the result has no wheel to draw: no stable one was found, or there is no plan.
    """
    if len(getattr(result, "readings", ())) > 1:
        return history(cast("Assessment", result))
    before = getattr(result, "before", None) or getattr(result, "view", None)
    after = getattr(result, "after", None) or getattr(result, "view", None)
    if before is None or after is None:
        raise ValueError("nothing to draw: this result has no wheel before and after")
    turns = getattr(result, "turns", None)
    if turns is None:
        turns = before.state.turns * 0
    ahead = getattr(result, "outlook", None) if turns.any() else None
    return strip(before.wheel, before, after, turns, ahead=ahead)
