"""Predictions and assessments as JSON."""

from functools import singledispatch
from typing import Any

from wheelsim.report.words.estimation import assumed_words, doubt_words
from wheelsim.report.words.stand import advice_words
from wheelsim.report.words.warned import warning_words
from wheelsim.stand.assessment import AgainstUsual, Assessment, Check, GaugeFit, QuarterTurn, VisitView
from wheelsim.stand.predict import Prediction
from wheelsim.units import MM, rounded

# Keys of the change between two states: single numbers, and lists of one number per spoke with their digits.
ONE_NUMBER = ("dish_mm", "gauge_gap_mm")
ONE_A_SPOKE = (("lateral_mm", 6), ("radial_mm", 6), ("tension_N", 3))


@singledispatch
def encode(result: object) -> dict[str, Any]:
    """JSON of a result of `wheelsim.stand`; chosen by its type. Raises TypeError for any other type."""
    raise TypeError(f"no JSON is written for {type(result).__name__}")


@encode.register
def _prediction(told: Prediction) -> dict[str, Any]:
    before, after = told.before.as_dict(), told.after.as_dict()
    change: dict[str, Any] = {name: after[name] - before[name] for name in ONE_NUMBER}
    for key, digits in ONE_A_SPOKE:
        change[key] = [rounded(b - a, digits) for a, b in zip(before[key], after[key], strict=True)]
    return {"format": 1, "wheel": told.wheel, "before": before, "after": after, "change": change,
            "turns": [rounded(t, 6) for t in told.turns], "assumed": [assumed_words(one) for one in told.assumed],
            "warnings": [warning_words(one) for one in told.warnings],
            "suspects": [doubt_words(one) for one in told.suspects], "outlook": told.outlook.as_dict()}


@encode.register
def _assessment(told: Assessment) -> dict[str, Any]:
    return {"format": 1, "wheel": told.wheel, "verdict": told.verdict,
            "checks": [check.as_dict() for check in told.checks],
            "state": None if told.view is None else told.view.as_dict(),
            "quarter_turns": [one.as_dict() for one in told.quarter_turns],
            "assumed": [assumed_words(one) for one in told.assumed],
            "suspects": [doubt_words(one) for one in told.suspects],
            "advice": [advice_words(one) for one in told.advice],
            "readings": [one.as_dict() for one in told.readings],
            "usual": [one.as_dict() for one in told.usual],
            "learnt": [one.as_dict() for one in told.learnt],
            "gauge": None if told.gauge is None else told.gauge.as_dict()}


@encode.register
def _check(told: Check) -> dict[str, Any]:
    """``value``, ``limit``, ``margin``, ``sd`` and ``likely`` are in ``unit``."""
    return {**vars(told), "doubted": list(told.doubted)}


@encode.register
def _quarter_turn(told: QuarterTurn) -> dict[str, Any]:
    return {"side": told.side, "action": told.verb, "dish_mm": rounded(told.dish / MM, 6),
            "right_N": rounded(told.right, 3), "left_N": rounded(told.left, 3)}


@encode.register
def _once(told: VisitView) -> dict[str, Any]:
    """One visit; what its reading didn't measure is None."""
    seen, said = told.view, told.predicted
    values: dict[str, tuple[str, float, int]] = {} if seen is None else {
        "gauge_gap_mm": ("gap", seen.gap / MM, 6), "lateral_runout_mm": ("lateral_runout", seen.true / MM, 6),
        "radial_runout_mm": ("radial_runout", seen.round / MM, 6),
        "right_N": ("max_tension", seen.mean["right"], 3), "left_N": ("max_tension", seen.mean["left"], 3),
        "highest_N": ("max_tension", seen.highest, 3)}
    foretold = {"predicted_gap_mm": None if said is None else rounded(said.gap / MM, 6),
                "predicted_runout_mm": None if said is None else rounded(said.true / MM, 6),
                "predicted_highest_N": None if said is None else rounded(said.highest, 3)}
    found = {key: rounded(value, digits) if told.read[name] else None for key, (name, value, digits) in values.items()}
    return {"label": told.label, "after_pass": told.after_pass, **found, **foretold}


@encode.register
def _against_usual(told: AgainstUsual) -> dict[str, Any]:
    return {"side": told.side, "mean_N": rounded(told.mean, 3), "usual_N": rounded(told.usual, 3),
            "percent": rounded(100 * told.off, 3), "read": told.read}


@encode.register
def _gauge_fit(told: GaugeFit) -> dict[str, Any]:
    return {"read_mm": rounded(told.read / MM, 6), "fits_mm": rounded(told.fits / MM, 6)}
