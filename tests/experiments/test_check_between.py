"""The numbers under Found."""

import numpy as np
import pytest

from experiments import check_between
from tests.experiments.told import Told
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return check_between.run()


def test_found(found):
    told, (straight, checked) = Told(check_between), check_between.WAYS
    told("Of {} such wheels turned straight through, {} end with a gap within {} mm; it is {:.2f} mm short on average",
         check_between.WHEELS, found.within(straight), check_between.AIM / MM, -found.gap[straight].mean() / MM)
    told("by what it shows, {} do, and it is {:.2f} mm short on average", found.within(checked),
         -found.gap[checked].mean() / MM)
    assert told.left == []


def test_a_check_halves_the_spread_of_what_is_left(found):
    straight, checked = (np.sqrt(np.mean(found.gap[way] ** 2)) for way in check_between.WAYS)
    assert checked < 0.6 * straight


def test_draws(found):
    figure = check_between.draw(found)
    assert figure.get_suptitle().startswith(f"{found.within('straight through')} of 100 wheels")
    assert "mm]" in figure.axes[0].get_ylabel()
