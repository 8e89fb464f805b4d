"""Outlooks and learnt properties as JSON."""

from functools import singledispatch
from typing import Any

from wheelsim.estimation.course import Learnt
from wheelsim.estimation.outlook import Outlook
from wheelsim.units import MM, rounded


@singledispatch
def encode(result: object) -> dict[str, Any]:
    """JSON of a result of `wheelsim.estimation`; chosen by its type. Raises TypeError for any other type."""
    raise TypeError(f"no JSON is written for {type(result).__name__}")


@encode.register
def _outlook(told: Outlook) -> dict[str, Any]:
    def newtons(pair: tuple[float, float]) -> list[float]:
        return [rounded(one, 2) for one in pair]

    return {"chance_within": rounded(told.chance_within, 4),
            "gap_mm": [rounded(one / MM, 4) for one in told.gap],
            "lateral_runout_mm": [rounded(one / MM, 4) for one in told.true],
            "highest_N": newtons(told.highest), "highest_on_the_way_N": newtons(told.highest_on_the_way),
            "chance_with_check_after": [rounded(one, 4) for one in told.with_check],
            "check_after_pass": told.check_after, "draws": told.draws}


@encode.register
def _learnt(told: Learnt) -> dict[str, Any]:
    """``unit`` says what the value is a share of."""
    unit = "of what was turned" if told.name == "gain_per_turn" else \
        "of the true tension" if told.name.startswith("meter") else "of its kind"
    return {"name": told.name, "prior": told.prior, "value": round(told.value, 5), "sd": round(told.sd, 5),
            "unit": unit}
