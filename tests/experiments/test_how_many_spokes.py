"""The numbers under Found."""

import numpy as np
import pytest

from experiments import how_many_spokes
from experiments.how_many_spokes import COUNTS, spread_round


@pytest.fixture(scope="module")
def found():
    return how_many_spokes.run()


def test_found(found):
    eight, eighteen, all_of_them = COUNTS.index(8), COUNTS.index(18), COUNTS.index(36)
    # As printed in the experiment: whole newtons; the wheels are seeded.
    assert how_many_spokes.WHEELS == 10
    assert found.scatter == pytest.approx(111, abs=0.6)
    assert found.mean[[eight, all_of_them]] == pytest.approx([25, 15], abs=0.6)
    assert found.unread[[eight, eighteen]] == pytest.approx([85, 54], abs=0.6)
    assert found.unread_sd[eight] == pytest.approx(87, abs=0.6)
    assert found.read[[eight, all_of_them]] == pytest.approx([46, 37], abs=0.6)
    assert np.isnan(found.unread[all_of_them])


@pytest.mark.parametrize("count", COUNTS)
def test_spread_round(count):
    spokes = spread_round(36, count)
    assert len(set(spokes)) == count
    assert sum(spokes % 2) == count // 2


def test_draws(found):
    figure = how_many_spokes.draw(found)
    assert "read every spoke" in figure.get_suptitle().replace("\n", " ")
    assert "[N]" in figure.axes[0].get_ylabel()
