"""The numbers under Found."""

import numpy as np
import pytest

from experiments import bent_rim
from experiments.bent_rim import SPREADS
from tests.experiments.told import Told
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return bent_rim.run()


def test_found(found):
    told, usual, wide = Told(bent_rim), found.mended(0.20), found.mended(0.60)
    told("Its own bend of {:.1f} mm leaves {:.2f} mm out of true at a spread of {:.0f} %", found.bent.true / MM,
         usual.true / MM, 100 * max(usual.spread.values()))
    told("with the highest spoke at {:,.0f} N.", usual.highest)
    told("With {:.0f} % and {:,.0f} N it is still {:.2f} mm: three times the spread for {:.2f} mm more",
         100 * max(wide.spread.values()), wide.highest, wide.true / MM, (usual.true - wide.true) / MM)
    told("With even tension it is {:.2f} mm.", found.mended(0.0).true / MM)
    told("as far out, {:.2f} mm, comes true to {:.2f} mm", found.straight.true / MM,
         max(one.true for one in found.of_straight) / MM)
    told("round kept within {:.1f} mm", found.bent.state.wheel.limits.radial_runout / MM)
    assert told.left == []



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
    assert "2.8 of 5.0" in figure.get_suptitle().replace("\n", " ")
    assert [axes.get_ylabel() for axes in figure.axes] == ["least run-out, true [mm]", "lateral [mm], + right"]
