"""The numbers under Found."""

import pytest

from experiments import near_flange
from tests.experiments.told import Told
from wheelsim.units import MM


def test_found():
    told, found = Told(near_flange), near_flange.run()
    right, left = (found.wheel.hub.flange(side).offset / MM for side in ("right", "left"))
    told("With flanges {:.0f} and {:.0f} mm from the middle the left spokes pull {:.0f} N, {:.3f} of the right", right,
         left, found.tension["left"], found.tension["left"] / found.tension["right"])
    told("the distances alone say {:.3f}", right / left)
    told("Each right spoke pulls {:.1f} N sideways, and so does each left one", found.sideways["right"])
    assert found.sideways["left"] == pytest.approx(found.sideways["right"], rel=1e-9)
    at = list(near_flange.DISTANCES / MM).index(pytest.approx(30))
    told("A right flange at {:.0f} mm gives {:.3f}", near_flange.DISTANCES[at] / MM, found.ratio[at])
    told("a rim drilled {:.0f} mm to the left of its middle gives {:.3f}", -near_flange.DRILLED / MM,
         found.sample_drilled)
    assert told.left == []



def test_the_ratio_follows_the_flanges():
    found = near_flange.run()
    # Length of the spokes changes a little with the flange: at most one per cent over the whole range.
    assert found.ratio == pytest.approx(near_flange.DISTANCES / found.wheel.hub.left.offset, rel=0.01)


def test_draws():
    figure = near_flange.draw(near_flange.run())
    assert "pulls 0.53 of the near side" in " ".join(figure.get_suptitle().split())
    assert all("[" in axes.get_xlabel() and "[" in axes.get_ylabel() for axes in figure.axes)
