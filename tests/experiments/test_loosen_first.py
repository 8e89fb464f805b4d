"""The numbers under Found."""

import pytest

from experiments import loosen_first
from tests.experiments.told import WORDS, Told
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return loosen_first.run()


def test_found(found):
    told, (first, other) = Told(loosen_first), found.ways.values()
    told("Loosening first peaks at {:,.0f} N, tightening first at {:,.0f} N where {:,.0f} N is allowed",
         first.highest.max(), other.highest.max(), found.limit)
    told("both end at {:,.0f} N", first.highest[-1])
    told("After the pass of tightening alone it is {:,.0f} N", other.highest[found.nipples])
    told("The peak comes {} nipples before", WORDS[found.nipples - int(other.highest.argmax())])
    assert told.left == []
    assert first.highest.max() < found.limit < other.highest.max()



def test_both_ways_end_on_the_same_wheel(found):
    for way in found.ways.values():
        assert len(way.highest) == 3 * found.nipples + 1
        assert way.highest[-1] == pytest.approx(found.ways["loosen first"].highest[-1], abs=1e-3)
        assert way.dish[-1] == pytest.approx(0, abs=1e-9)
        # "1.5 mm left", to the digit printed.
        assert way.dish[0] / MM == pytest.approx(-1.5, abs=0.05)


def test_draws(found):
    figure = loosen_first.draw(found)
    assert "1,280" in figure.get_suptitle()
    assert "N]" in figure.axes[0].get_ylabel()
    assert "mm]" in figure.axes[1].get_ylabel()
