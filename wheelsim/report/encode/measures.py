"""A state with its quantities as JSON."""

from functools import singledispatch
from typing import Any

from wheelsim.measures.view import View
from wheelsim.units import MM, rounded


@singledispatch
def encode(result: object) -> dict[str, Any]:
    """JSON of a result of `wheelsim.measures`; lists have one value per spoke, ``slack`` holds spoke numbers."""
    raise TypeError(f"no JSON is written for {type(result).__name__}")


@encode.register
def _view(view: View) -> dict[str, Any]:
    state = view.state
    lateral = [rounded(v / MM, 6) for v in state.lateral]
    dish = sum(lateral) / len(lateral)
    return {
        "dish_mm": dish,
        "gauge_gap_mm": 2 * dish,
        "lateral_mm": lateral,
        "radial_mm": [rounded(v / MM, 6) for v in state.radial],
        "lateral_runout_mm": rounded(view.true / MM, 6),
        "radial_runout_mm": rounded(view.round / MM, 6),
        "tension_N": [rounded(v, 3) for v in state.tension],
        "slack": view.slack,
    }
