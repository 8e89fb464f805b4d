"""The numbers under Found."""

import numpy as np
import pytest

from experiments import broken_spoke
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return broken_spoke.run()


def test_found(found):
    # As printed in the experiment: hundredths of a millimetre, whole newtons.
    assert found.whole.true == pytest.approx(0, abs=1e-9)
    assert found.broken.true / MM == pytest.approx(2.60, abs=0.006)
    assert found.broken.round / MM == pytest.approx(0.62, abs=0.006)
    assert found.broken.gap / MM == pytest.approx(-0.55, abs=0.006)
    assert found.near_side.true / MM == pytest.approx(4.89, abs=0.006)
    assert found.broken.highest == pytest.approx(1430, abs=0.6)
    change = (found.broken.state.tension - found.whole.state.tension)[broken_spoke.LOST - 1 + np.array([-2, 2, -3, 3])]
    assert change == pytest.approx([430, 398, -326, -449], abs=0.6)


def test_what_it_bears(found):
    # The lost spoke pulled right: the weak way is to the left.
    assert found.loads["radial"] == pytest.approx((2304, 1258), abs=0.6)
    assert found.loads["left"] == pytest.approx((598, 259), abs=0.6)
    assert found.loads["right"][1] > found.loads["left"][1]


def test_slack_is_as_bad_as_broken(found):
    # Halved to a thousandth of a turn, printed to a hundredth.
    assert found.slack_at == pytest.approx(2.90, abs=0.006)
    # The same equilibrium by two ways, each to 1e-10 of the forces.
    assert found.slack.state.tension == pytest.approx(found.broken.state.tension, abs=1e-3)
    assert found.slack.true == pytest.approx(found.broken.true, abs=1e-8)


def test_draws(found):
    figure = broken_spoke.draw(found)
    assert "398 to 430" in figure.get_suptitle()
    assert [axes.get_ylabel().split("\n")[0] for axes in figure.axes] == ["lateral [mm]", "tension [N]"]
