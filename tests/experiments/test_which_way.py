"""The numbers under Found."""

import pytest

from experiments import which_way
from tests.wheels import side_turns


def test_found():
    found = which_way.run()
    wheel = found.plan.before.state.wheel
    # As printed in the experiment: whole newtons, quarter turns.
    assert found.tighten_right_turns == 1.0
    assert found.tighten_right_highest == pytest.approx(1651, abs=0.6)
    assert found.plan.turns == pytest.approx(side_turns(wheel, right=0.25, left=-0.5))
    assert found.plan.after.highest == pytest.approx(1181, abs=0.6)
    assert len(found.plan.passes) == 3


def test_draws():
    figure = which_way.draw(which_way.run())
    assert "Gap 3.0 to 0.0 mm" in figure.get_suptitle() or any("Gap 3.0 to" in t.get_text() for t in figure.texts)
