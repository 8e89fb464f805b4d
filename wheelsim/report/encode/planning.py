"""Plans and results of the rule of thumb as JSON."""

from functools import singledispatch
from typing import Any

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.planning.hindrance import Blocking
from wheelsim.planning.passes import PlannedPass
from wheelsim.planning.plan_result import FewestTurns, Plan, total
from wheelsim.planning.rule import RuleResult
from wheelsim.planning.verdict import Verdict
from wheelsim.planning.ways import Way
from wheelsim.report.words.estimation import assumed_words, doubt_words
from wheelsim.report.words.passes import SETTLE, instruction, way_action
from wheelsim.report.words.planning import first_words, plan_advice_words
from wheelsim.report.words.rule import rule_pass_words, stopped_words
from wheelsim.report.words.verdict import blocking_words, verdict_words
from wheelsim.units import MM, rounded


@singledispatch
def encode(result: object) -> dict[str, Any]:
    """JSON of a result of `wheelsim.planning`; chosen by its type. Raises TypeError for any other type."""
    raise TypeError(f"no JSON is written for {type(result).__name__}")


def _turns(turns: Turns) -> list[float]:
    return [float(t) + 0.0 for t in turns]


def _nipples(turns: Turns) -> int:
    return int(np.count_nonzero(turns))


@encode.register
def _plan(told: Plan) -> dict[str, Any]:
    turns = told.turns
    check = None if told.outlook is None else told.outlook.check_after
    return {
        "format": 1, "wheel": told.wheel, "status": told.status, "verdict": told.verdict.as_dict(),
        "ways": [way.as_dict() for way in told.ways],
        "turns": None if turns is None else _turns(turns),
        "total_turns": None if turns is None else total(turns),
        "nipples": None if turns is None else _nipples(turns),
        "bound_turns": told.bound_turns, "proven": told.proven,
        "passes": [one.as_dict() for one in told.passes],
        "before": None if told.before is None else told.before.as_dict(),
        "after": None if told.after is None else told.after.as_dict(),
        "fewest_turns": None if told.literal is None else total(told.literal.turns),
        "fewest": None if told.literal is None else told.literal.as_dict(),
        "blocking": [one.as_dict() for one in told.blocking],
        "unmet_aims": list(told.unmet), "assumed": [assumed_words(one) for one in told.assumed],
        "suspects": [doubt_words(one) for one in told.suspects],
        "advice": [plan_advice_words(one) for one in told.advice], "first": [first_words(one) for one in told.first],
        "outlook": None if told.outlook is None else told.outlook.as_dict() | {
            "check_after_pass": None if check is None else told.passes[check - 1].number},
    }


@encode.register
def _verdict(told: Verdict) -> dict[str, Any]:
    return {"side": told.side, "action": told.action, "why": verdict_words(told)}


@encode.register
def _way(told: Way) -> dict[str, Any]:
    seen = told.after
    return {
        "action": way_action(told), "right_turns": told.right_turns, "left_turns": told.left_turns,
        "dish_mm": None if seen is None else rounded(seen.dish / MM, 6),
        "right_N": None if seen is None else rounded(seen.mean["right"], 3),
        "left_N": None if seen is None else rounded(seen.mean["left"], 3),
        "within": seen is not None and not told.outside,
    }


@encode.register
def _pass(told: PlannedPass) -> dict[str, Any]:
    return {"number": told.number, "action": instruction(told), "turns": _turns(told.turns),
            "after": told.after.as_dict(), "peak_tension_N": round(told.peak_tension, 3),
            "half_way_runout_mm": round(told.half_way_true / MM, 4), "then": SETTLE if told.settles else None,
            "wind_up_deg": round(360 * told.wind_up, 1)}


@encode.register
def _literal(told: FewestTurns) -> dict[str, Any]:
    return {"passes": told.passes, "turns": _turns(told.turns), "total_turns": total(told.turns),
            "nipples": _nipples(told.turns), "bound_turns": told.bound_turns,
            "proven": told.proven, "after": told.after.as_dict()}


@encode.register
def _blocking(told: Blocking) -> dict[str, Any]:
    return {"name": told.name, "limit": told.limit, "needed": told.needed, "unit": told.unit,
            "words": blocking_words(told), "alone": told.alone}


@encode.register
def _rule(told: RuleResult) -> dict[str, Any]:
    wheel = told.after.wheel
    return {"turns": [rounded(t, 6) for t in told.turns], "total_turns": told.total_turns,
            "nipples": told.nipples, "times_round": told.times_round,
            "passes": [{"action": rule_pass_words(wheel, one), "turns": [rounded(t, 6) for t in one.turns]}
                       for one in told.passes],
            "after": told.after.as_dict(), "peak_tension_N": rounded(told.peak_tension, 3),
            "passed_N": {str(spoke): rounded(tension, 3) for spoke, tension in sorted(told.passed.items())},
            "within": told.within, "why_stopped": stopped_words(told)}
