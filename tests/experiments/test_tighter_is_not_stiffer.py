"""The numbers under Found."""

import numpy as np
import pytest

from experiments import tighter_is_not_stiffer
from wheelsim.units import MM


def test_found():
    found = tighter_is_not_stiffer.run()
    # As printed in the experiment: whole newtons, and newtons a millimetre.
    for curve, slack, nominal, limit, buckles, waves in ((found.front, 173, 144, 136, 2738, 3),
                                                         (found.rear, 90, 69, 66, 2448, 2)):
        assert curve.stiffness[0] * MM == pytest.approx(slack, abs=0.6)
        assert curve.nominal * MM == pytest.approx(nominal, abs=0.6)
        assert curve.at_limit * MM == pytest.approx(limit, abs=0.6)
        assert curve.buckles == pytest.approx(buckles, abs=0.6)
        assert curve.waves == waves
    assert found.front.buckles / 2 == pytest.approx(1369, abs=0.6)
    assert found.rear.buckles / 2 == pytest.approx(1224, abs=0.6)
    assert found.rear.buckles / 2 < found.rear.wheel.limits.max_tension


def test_stiffness_only_falls_and_to_nothing():
    found = tighter_is_not_stiffer.run()
    for curve in (found.front, found.rear):
        assert (np.diff(curve.stiffness) < 0).all()
        # Half a per cent short of buckling the buckling mode alone, all but gone, decides.
        assert curve.stiffness[-1] < 0.05 * curve.stiffness[0]


def test_draws():
    figure = tighter_is_not_stiffer.draw(tighter_is_not_stiffer.run())
    assert "144 at 1,000 N, none at 2,738 N" in " ".join(figure.get_suptitle().split())
    assert "[N/mm]" in figure.axes[0].get_ylabel()
    assert "[N]" in figure.axes[0].get_xlabel()
