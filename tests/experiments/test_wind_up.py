"""The numbers under Found."""

import numpy as np
import pytest

from experiments import wind_up
from tests.experiments.told import Told


@pytest.fixture(scope="module")
def found():
    return wind_up.run()


def test_found(found):
    told = Told(wind_up)
    tighten, loosen = ([found.usual(way[name]) for name in wind_up.SPOKES] for way in (found.tighten, found.loosen))
    told("At {:,.0f} N a plain {} mm spoke twists {:.0f} degrees before its nipple tightens, a plain {} mm one {:.0f} "
         "degrees, one of {} mm with a {} mm middle {:.0f} degrees", wind_up.USUAL, "2.0", tighten[0], "1.8",
         tighten[1], "2.0", "1.5", tighten[2])
    told("a quarter turn, {:.0f} degrees", 360 / 4)
    told("To loosen it takes {:.0f}, {:.0f} and {:.0f} degrees", *loosen)
    assert told.left == []


def test_grows_in_proportion_to_tension(found):
    for twist in (*found.tighten.values(), *found.loosen.values()):
        assert twist == pytest.approx(found.tension * twist[-1] / found.tension[-1], rel=1e-9)


def test_draws(found):
    figure = wind_up.draw(found)
    assert "30 degrees" in figure.get_suptitle()
    assert "degree]" in figure.axes[0].get_ylabel()
    assert np.diff(figure.axes[0].get_ylim())[0] > max(found.tighten["2.0 mm with a 1.5 mm middle"]) * 0.9
