"""The numbers under Found."""

import numpy as np
import pytest

from experiments import tighten_or_loosen
from tests.experiments.told import Told
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return tighten_or_loosen.run()


def test_found(found):
    told, ways = Told(tighten_or_loosen), found.ways
    tight, loose, half = (ways[name] for name in ("tighten the right", "loosen the left", "half of each"))
    told("From {:.2f} mm left, {:,.0f} N right and {:,.0f} N left", -tight.dish[0] / MM, tight.tension["right"][0],
         tight.tension["left"][0])
    told("tightening the right {:.2f} turn centres the rim", tight.turns)
    told("loosening the left by the same {:.2f} turn", loose.turns)
    high, low = tight.tension["right"][-1], loose.tension["left"][-1]
    told("Tightening leaves {:,.0f} N on both sides, loosening {:,.0f} N", high, low)
    for apart in (high - found.nominal, found.nominal - low):
        told("either is {:.0f} N from the {:,.0f} N of the wheel", apart, found.nominal)
    told("Half of each, {:.2f} turn, ends at those {:,.0f} N", half.turns / 2, half.tension["right"][-1])
    assert told.left == []


def test_the_ways_begin_and_end_alike(found):
    for way in found.ways.values():
        assert way.dish[0] == pytest.approx(tighten_or_loosen.OFF, abs=1e-9)
        assert way.dish[-1] == pytest.approx(0, abs=1e-9)
        # A centred symmetric wheel pulls alike on both sides.
        assert way.tension["right"][-1] == pytest.approx(way.tension["left"][-1], abs=1e-3)


def test_tightening_a_side_tightens_both_and_loosening_loosens_both(found):
    for name, sign in (("tighten the right", 1), ("loosen the left", -1)):
        for side in ("right", "left"):
            assert (sign * np.diff(found.ways[name].tension[side]) > 0).all()


def test_draws(found):
    figure = tighten_or_loosen.draw(found)
    said = " ".join(figure.get_suptitle().split())
    assert "centres the rim alike" in said
    axes = figure.axes[0]
    assert "[mm]" in axes.get_xlabel()
    assert "[N]" in axes.get_ylabel()
    assert len(axes.lines) == 6
