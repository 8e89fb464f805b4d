"""Tighten the right, or loosen the left?

Question
    The sample wheel's rim lies 1.5 mm left of the hub's middle and its right side is already tight.
    Which side, and which way?
Expect
    The obvious way, tightening the right until the rim is centred, takes the right spokes past their limit.
Found
    The rim lies 1.5 mm left. Tightening the right a full turn centres it and takes the highest spoke to 1,652 N where
    1,270 N is allowed. Loosening the left 1/2 and then tightening the right 1/4 centres it in three passes and ends at
    1,181 N.
Figure
    figures/which_way.svg: the wheel before and after that plan.
"""

from dataclasses import dataclass
from pathlib import Path

from experiments.proven import proven_plan
from wheelsim.files import sample_job
from wheelsim.planning.plan_result import Plan
from wheelsim.report.figures import save, strip
from wheelsim.units import turns_text

FIGURE = Path(__file__).parents[1] / "figures" / "which_way.svg"


@dataclass(frozen=True, eq=False)
class Found:
    """The plan, and what only tightening the right would do."""

    plan: Plan
    tighten_right_turns: float  # that centre the rim [turn]
    tighten_right_highest: float  # highest tension then [N]


def run():
    """Plan the sample."""
    found = proven_plan(sample_job())
    only_right = next(way for way in found.ways if not way.left_turns)
    return Found(found, only_right.right_turns, only_right.after.highest)


def draw(found):
    """The strip of the plan."""
    one, wheel = found.plan, found.plan.before.state.wheel
    left, right = (turns_text(abs(float(one.turns[wheel.on_side(side)[0]]))) for side in ("left", "right"))
    sentence = (f"Both: loosen the left {left}, then tighten the right {right}: the rim ends centred, no spoke above "
                f"{one.after.highest:,.0f} N; tightening alone ends at {found.tighten_right_highest:,.0f} N, limit "
                f"{wheel.limits.max_tension:,.0f} N")
    return strip(wheel, one.before, one.after, one.turns, sentence=sentence)


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
