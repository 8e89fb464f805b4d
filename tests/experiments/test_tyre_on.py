"""The numbers under Found."""

import pytest

from experiments import tyre_on
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return tyre_on.run()


def test_found(found):
    one = found.at(tyre_on.MIDDLE)
    assert tyre_on.SHARES[one] == pytest.approx(0.15)
    # As printed in the experiment: whole newtons, tenths of a per cent, hundredths of a millimetre.
    for side, newtons, per_cent in (("right", 166, 14.4), ("left", 98, 16.1)):
        lost = found.tension[side][0] - found.tension[side][one]
        assert lost == pytest.approx(newtons, abs=0.6)
        assert 100 * lost / found.tension[side][0] == pytest.approx(per_cent, abs=0.06)
    assert found.dish[one] / MM == pytest.approx(0.21, abs=0.006)
    assert 2 * found.dish[one] / MM == pytest.approx(0.42, abs=0.006)
    assert found.true.max() / MM < 0.001
    assert 100 * found.theory == pytest.approx(2.2, abs=0.06)
    assert found.front_dish == pytest.approx(0, abs=1e-9)


def test_draws(found):
    figure = tyre_on.draw(found)
    assert "0.4" in figure.get_suptitle()
    assert "[N]" in figure.axes[0].get_ylabel()
    assert "[mm]" in figure.axes[1].get_ylabel()
    assert "[%]" in figure.axes[1].get_xlabel()
