"""Tighten the right, or loosen the left?

Question
    The sample wheel's rim lies 1.5 mm left of the hub's middle and its right side is already tight.
    Which side, and which way?
Expect
    The obvious move, tightening the right until the rim is over, takes the right past its limit.
Found
    Tightening the right a full turn centres it and takes the highest spoke to 1,651 N, limit 1,250 N.
    Loosening the left 1/2 and then tightening the right 1/4 centres it at 1,181 N, in three passes.
Figure
    figures/which_way.svg: the wheel before and after that plan.
"""

from dataclasses import dataclass
from pathlib import Path

from wheelsim.drawing import save, strip
from wheelsim.files import sample_job
from wheelsim.truing.plan import plan
from wheelsim.truing.plan_result import Plan

FIGURE = Path(__file__).parents[1] / "figures" / "which_way.svg"


@dataclass(frozen=True, eq=False)
class Found:
    """The plan, and the highest spoke after only tightening the right. [N]"""

    plan: Plan
    tighten_right_turns: float
    tighten_right_highest: float


def run():
    """Plan the sample."""
    found = plan(sample_job(), seconds=5)
    only_right = next(way for way in found.ways if not way.left_turns)
    return Found(found, only_right.right_turns, only_right.after.highest)


def draw(found):
    """The house strip of the plan."""
    one = found.plan
    return strip(one.before.state.wheel, one.before, one.after, one.turns)


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
