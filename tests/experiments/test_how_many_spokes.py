"""The numbers under Found."""

import numpy as np
import pytest

from experiments import how_many_spokes
from experiments.how_many_spokes import COUNTS, spread_round
from tests.experiments.told import WORDS, Told
from wheelsim.readings.errors import METER_SCATTER


@pytest.fixture(scope="module")
def found():
    return how_many_spokes.run()


def test_found(found):
    told, n = Told(how_many_spokes), COUNTS[-1]
    eight, eighteen, every = COUNTS.index(8), COUNTS.index(18), COUNTS.index(36)
    told("{} random wheels whose spokes stray {:.0f} N", WORDS[how_many_spokes.WHEELS].capitalize(), found.scatter)
    told("With eight read the mean tension is known to {:.0f} N, with all {} to {:.0f} N", found.mean[eight], n,
         found.mean[every])
    told("A spoke not read is {:.0f} N off when eight are read (the program claims {:.0f} N), {:.0f} N when eighteen "
         "are", found.unread[eight], found.unread_sd[eight], found.unread[eighteen])
    told("A spoke that is read is {:.0f} N off among eight and {:.0f} N among {}", found.read[eight], found.read[every],
         n)
    told("scatters by {:.0f} %", 100 * METER_SCATTER)
    assert told.left == []
    assert np.isnan(found.unread[every])



@pytest.mark.parametrize("count", COUNTS)
def test_spread_round(count):
    spokes = spread_round(36, count)
    assert len(set(spokes)) == count
    assert sum(spokes % 2) == count // 2


def test_draws(found):
    figure = how_many_spokes.draw(found)
    assert "read every spoke" in figure.get_suptitle().replace("\n", " ")
    assert "[N]" in figure.axes[0].get_ylabel()
