"""The numbers under Found."""

import numpy as np
import pytest

from experiments import broken_spoke
from tests.experiments.told import Told
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return broken_spoke.run()


def test_found(found):
    told, broken = Told(broken_spoke), found.broken
    assert found.whole.true == pytest.approx(0, abs=1e-9)
    told("The rim is {:.2f} mm out of true and {:.2f} mm out of round; the gap opens to {:.2f} mm", broken.true / MM,
         broken.round / MM, abs(broken.gap) / MM)
    change = broken.state.tension - found.whole.state.tension
    own, other = broken.state.wheel.on_side("right"), broken.state.wheel.on_side("left")
    for words, gains, side, off in (("the next spokes, {} and {}, gain {:.0f} and {:.0f} N", 1, own, 2),
                                    ("two beside it, {} and {}, gain {:.0f} and {:.0f} N", 1, other, 1),
                                    ("those after them, {} and {}, lose {:.0f} and {:.0f} N", -1, other, 3)):
        spokes = np.array([broken_spoke.LOST - off, broken_spoke.LOST + off])
        assert set(spokes - 1) < set(side)
        told(words, *spokes, *(gains * change[spokes - 1]))
    told("to {:,.0f} N", broken.highest)
    told("from below at which the next spoke goes slack falls from {:,.0f} to {:,.0f} N", *found.loads["radial"])
    # The lost spoke pulled right: the weak way is to the left.
    told("the push to the left from {:.0f} to {:.0f} N", *found.loads["left"])
    told("Slack, after {:.2f} turns", found.slack_at)
    told("leaves {:.2f} mm out of true", found.near_side.true / MM)
    assert told.left == []


def test_no_spoke_gains_more_than_the_next_of_its_flange(found):
    change = np.delete(found.broken.state.tension - found.whole.state.tension, broken_spoke.LOST - 1)
    assert sorted(change.argsort()[-2:]) == [broken_spoke.LOST - 3, broken_spoke.LOST]  # 15 and 19, the lost one out


def test_it_is_weak_to_the_left(found):
    assert found.loads["right"][1] > found.loads["left"][1]



def test_slack_is_as_bad_as_broken(found):
    # The same equilibrium by two ways, each to 1e-10 of the forces.
    assert found.slack.state.tension == pytest.approx(found.broken.state.tension, abs=1e-3)
    assert found.slack.true == pytest.approx(found.broken.true, abs=1e-8)


def test_draws(found):
    figure = broken_spoke.draw(found)
    assert "399 to 432" in figure.get_suptitle()
    assert [axes.get_ylabel().split("\n")[0] for axes in figure.axes] == ["lateral [mm]", "tension [N]"]
