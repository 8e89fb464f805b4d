"""What is logged and far from what was expected, as records for programs, each with its sentence."""

from typing import Any

from wheelsim.estimation.doubts import GaugeFarOff, OfAll
from wheelsim.estimation.expected import Unexpected
from wheelsim.estimation.gauge_before import GaugeBefore
from wheelsim.estimation.held_out import DialFarOff
from wheelsim.estimation.large_turns import LargeTurn
from wheelsim.estimation.slips import PassAstray
from wheelsim.report.words.estimation import doubt_words, large_turn_words, unexpected_words
from wheelsim.units import MM, rounded

# Every record has these keys; None where they say nothing.
EMPTY: dict[str, Any] = {"name": None, "pass": None, "spoke": None, "read": None, "expected": None, "unit": None,
                         "deviations": None, "slip": None}


def record(one: Unexpected | OfAll | PassAstray | GaugeBefore | GaugeFarOff | DialFarOff | LargeTurn) -> dict[str, Any]:
    """One thing that is far from what was expected.

    ``read`` and ``expected`` are in ``unit``; ``expected`` is a range, of turns one value. ``said`` is the sentence.
    """
    if isinstance(one, LargeTurn):
        found = {"name": "turns", "pass": one.number, "spoke": one.spoke, "side": one.side, "read": one.turns,
                 "expected": one.meant if one.planned is None else one.planned, "unit": "turn"}
        return {**EMPTY, **found, "said": _sentence(large_turn_words(one))}
    if isinstance(one, PassAstray):
        found = {"name": "pass", "pass": one.number, "side": one.side, "read": one.logged, "expected": one.fits,
                 "unit": "turn", "slip": None if one.slip is None else one.slip.value}
        return {**EMPTY, **found, "said": _sentence(doubt_words(one))}
    if isinstance(one, GaugeBefore):
        return {**EMPTY, "name": "gauge", "pass": one.after_pass, "read": rounded(one.read / MM, 3),
                "expected": [rounded(-one.read / MM, 3)] * 2, "unit": "mm", "slip": "the other way",
                "said": _sentence(doubt_words(one))}
    if isinstance(one, GaugeFarOff):
        return {**EMPTY, "name": "gauge", "read": rounded(one.read / MM, 3), "unit": "mm", "slip": "tenfold",
                "said": _sentence(doubt_words(one))}
    if isinstance(one, DialFarOff):
        return {**EMPTY, "name": one.dial, "read": rounded(one.runout / MM, 3), "unit": "mm", "slip": "tenfold",
                "said": _sentence(doubt_words(one))}
    if not isinstance(one, Unexpected):
        return {**EMPTY, "name": "tensions", "unit": "N", "spokes": list(getattr(one, "spokes", ())),
                "slip": type(one).__name__, "said": _sentence(doubt_words(one))}
    unit, scale, digits = ("N", 1.0, 1) if one.tool == "tension" else ("mm", MM, 3)
    found = {"name": one.tool, "spoke": one.spoke, "read": rounded(one.read / scale, digits),
             "expected": [rounded(end / scale, digits) for end in (one.low, one.high)], "unit": unit,
             "deviations": rounded(one.deviations, 1), "slip": None if one.slip is None else one.slip.value}
    return {**EMPTY, **found, "said": _sentence(unexpected_words(one))}


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}" + "." * (words[-1] not in ".?")
