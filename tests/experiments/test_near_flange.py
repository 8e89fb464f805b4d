"""The numbers under Found."""

import pytest

from experiments import near_flange
from wheelsim.units import MM


def test_found():
    found = near_flange.run()
    # As printed in the experiment: whole newtons, tenths of them sideways, thousandths of a ratio.
    assert found.tension["left"] == pytest.approx(610, abs=0.6)
    assert found.tension["left"] / found.tension["right"] == pytest.approx(0.531, abs=6e-4)
    assert found.sideways["right"] == pytest.approx(75.4, abs=0.06)
    assert found.sideways["left"] == pytest.approx(75.4, abs=0.06)
    at_30 = list(near_flange.DISTANCES / MM).index(pytest.approx(30))
    assert found.ratio[at_30] == pytest.approx(0.835, abs=6e-4)
    assert found.sample_drilled == pytest.approx(0.669, abs=6e-4)
    flange = found.wheel.hub.right.offset / found.wheel.hub.left.offset
    assert flange == pytest.approx(0.528, abs=6e-4)


def test_the_ratio_follows_the_flanges():
    found = near_flange.run()
    # Length of the spokes changes a little with the flange: at most one per cent over the whole range.
    assert found.ratio == pytest.approx(near_flange.DISTANCES / found.wheel.hub.left.offset, rel=0.01)


def test_draws():
    figure = near_flange.draw(near_flange.run())
    assert "pulls 0.53 of the near side" in " ".join(figure.get_suptitle().split())
    assert all("[" in axes.get_xlabel() and "[" in axes.get_ylabel() for axes in figure.axes)
