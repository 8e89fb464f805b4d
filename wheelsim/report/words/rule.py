"""The rule of thumb's passes and its end, in words."""

import numpy as np

from wheelsim.planning.rule import PATIENCE, Purpose, RulePass, RuleResult, Stopped
from wheelsim.report.words.shared import spokes_words
from wheelsim.units import turns_text
from wheelsim.wheel.parts import Wheel


def rule_pass_words(wheel: Wheel, one: RulePass) -> str:
    """One pass: ``left flange, loosen 1/4, once round``, ``true, 1/4 at spokes 3, 9``."""
    spokes = np.flatnonzero(one.turns) + 1
    turn = float(one.turns[spokes[0] - 1])
    verb, amount = "tighten" if turn > 0 else "loosen", turns_text(abs(turn))
    match one.purpose:
        case Purpose.SIDE:
            side = "right" if spokes[0] - 1 in wheel.on_side("right") else "left"
            return f"{side} flange, {verb} {amount}, once round"
        case Purpose.TENSION:
            return f"tension, {verb} {amount} at spoke {spokes[0]}"
        case Purpose.TRUE | Purpose.ROUND:
            return f"{one.purpose.value}, {amount} at {spokes_words(spokes.tolist())}"


def stopped_words(told: RuleResult) -> str:
    """Why the rule of thumb stopped, without a full stop."""
    match told.stopped:
        case Stopped.WITHIN:
            return "its readings are within the limits"
        case Stopped.NO_HEADWAY:
            return f"{PATIENCE} rounds brought no headway"
        case Stopped.NO_TURN_HELPS:
            return "it knows no turn that would help without passing a tension limit"
        case Stopped.NO_STABLE_SHAPE:
            return "the next turn would have left the wheel without a stable shape"
        case Stopped.ENOUGH_PASSES:
            return f"it had made {len(told.passes)} passes"
