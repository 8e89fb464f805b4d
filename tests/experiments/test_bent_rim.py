"""The numbers under Found."""

import numpy as np
import pytest

from experiments import bent_rim
from experiments.bent_rim import SPREADS
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return bent_rim.run()


def test_found(found):
    # As printed in the experiment: hundredths of a millimetre (tenths of the bend), whole newtons.
    assert found.bent.true / MM == pytest.approx(5.0, abs=0.06)
    for spread, run_out, highest in ((0.20, 2.87, 1200), (0.60, 2.61, 1601)):
        assert found.mended(spread).true / MM == pytest.approx(run_out, abs=0.006)
        assert found.mended(spread).highest == pytest.approx(highest, abs=0.6)
    assert (found.mended(0.20).true - found.mended(0.60).true) / MM == pytest.approx(0.25, abs=0.006)
    assert found.mended(0.0).true / MM == pytest.approx(5.08, abs=0.006)


def test_a_straight_rim_comes_true(found):
    assert found.straight.true / MM == pytest.approx(5.00, abs=0.006)
    assert max(one.true for one in found.of_straight) / MM < 0.005
    assert max(max(one.spread.values()) for one in found.of_straight) < 0.001


@pytest.mark.parametrize("k", range(len(SPREADS)))
def test_keeps_what_it_promises(found, k):
    one = found.best[k]
    # What a last linear programme of a twentieth of a turn leaves of the bend of the way.
    assert max(one.spread.values()) <= SPREADS[k] + 0.0005
    assert one.round / MM <= 0.5 + 0.0005
    assert one.dish == pytest.approx(0, abs=5e-6)
    assert one.state.tension.mean() == pytest.approx(1000, abs=0.05)


def test_more_spread_is_never_worse(found):
    assert (np.diff([one.true for one in found.best]) < 1e-6).all()


def test_draws(found):
    figure = bent_rim.draw(found)
    assert "2.9 of 5.0" in figure.get_suptitle().replace("\n", " ")
    assert [axes.get_ylabel() for axes in figure.axes] == ["least run-out, true [mm]", "lateral [mm], + right"]
