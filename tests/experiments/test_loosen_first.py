"""The numbers under Found."""

import pytest

from experiments import loosen_first
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return loosen_first.run()


def test_found(found):
    first, other = found.ways["loosen first"], found.ways["tighten first"]
    # As printed in the experiment: whole newtons.
    assert first.highest.max() == pytest.approx(1181, abs=0.6)
    assert other.highest.max() == pytest.approx(1280, abs=0.6)
    assert other.highest[found.nipples] == pytest.approx(1248, abs=0.6)
    assert found.limit == 1250
    assert int(other.highest.argmax()) == found.nipples - 2
    assert first.highest.max() < found.limit < other.highest.max()


def test_both_ways_end_on_the_same_wheel(found):
    for way in found.ways.values():
        assert len(way.highest) == 3 * found.nipples + 1
        assert way.highest[-1] == pytest.approx(1150, abs=0.1)
        assert way.dish[-1] == pytest.approx(0, abs=1e-9)
        # "1.5 mm left", to the digit printed.
        assert way.dish[0] / MM == pytest.approx(-1.5, abs=0.05)


def test_draws(found):
    figure = loosen_first.draw(found)
    assert "1,280" in figure.get_suptitle()
    assert "N]" in figure.axes[0].get_ylabel()
    assert "mm]" in figure.axes[1].get_ylabel()
