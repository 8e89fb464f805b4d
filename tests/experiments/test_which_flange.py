"""The numbers under Found."""

import pytest

from experiments import which_flange
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return which_flange.run()


def test_found(found):
    # As printed in the experiment: hundredths of a millimetre, whole newtons.
    (far, cheap), (near, dear) = found.quarter("left"), found.quarter("right")
    assert (far / MM, near / MM) == pytest.approx((0.58, 0.35), abs=0.006)
    assert (cheap, dear) == pytest.approx((49, 125), abs=0.6)
    assert found.price("left") * MM == pytest.approx(84, abs=0.6)
    assert found.price("right") * MM == pytest.approx(353, abs=0.6)
    # As printed.
    assert far / near == pytest.approx(1.63, abs=0.006)
    assert cheap / dear == pytest.approx(0.39, abs=0.006)


def test_tells_the_tale_of_the_facts(found):
    """Facts, section 7 (derived, another wheel): 0.62 against 0.38 mm, +56 against +144 N."""
    (far, cheap), (near, dear) = found.quarter("left"), found.quarter("right")
    # Another wheel: its ratios lie near, not on these.
    assert far / near == pytest.approx(0.62 / 0.38, rel=0.1)
    assert cheap / dear == pytest.approx(56 / 144, rel=0.1)


def test_draws(found):
    figure = which_flange.draw(found)
    assert "0.58 mm for 49 N" in figure.get_suptitle().replace("\N{NO-BREAK SPACE}", " ").replace("\n", " ")
    assert "[mm]" in figure.axes[0].get_xlabel()
    assert "[N]" in figure.axes[0].get_ylabel()
