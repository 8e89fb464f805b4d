"""The numbers under Found."""

import pytest

from experiments import which_way
from tests.experiments.told import WORDS, Told
from tests.wheels import side_turns
from wheelsim.units import MM, turns_text


@pytest.fixture(scope="module")
def found():
    return which_way.run()


def test_found(found):
    told, one = Told(which_way), found.plan
    wheel, limit = one.before.state.wheel, one.limits.max_tension
    told("The rim lies {:.1f} mm left", -one.before.dish / MM)
    assert found.tighten_right_turns == 1.0
    told("a full turn centres it and takes the highest spoke to {:,.0f} N where {:,.0f} N is allowed",
         found.tighten_right_highest, limit)
    told("Loosening the left {} and then tightening the right {} centres it in {} passes and ends at {:,.0f} N",
         turns_text(-one.turns[wheel.on_side("left")[0]]), turns_text(one.turns[wheel.on_side("right")[0]]),
         WORDS[len(one.passes)], one.after.highest)
    assert told.left == []
    assert one.turns == pytest.approx(side_turns(wheel, right=0.25, left=-0.5))  # whole sides, in this order:
    assert [(one.side, one.verb) for one in one.passes] == 2 * [("left", "loosen")] + [("right", "tighten")]
    assert max(one.peak_tension for one in one.passes) < limit < found.tighten_right_highest


def test_the_figure_answers(found):
    figure = which_way.draw(found)
    said = " ".join(figure.get_suptitle().split()).replace("\N{NO-BREAK SPACE}", " ")
    assert said.startswith("Both: loosen the left 1/2, then tighten the right 1/4")
    assert f"{found.plan.after.highest:,.0f} N" in said
    assert f"{found.tighten_right_highest:,.0f} N" in said
    assert len(figure.axes) == 4
