"""The numbers under Found."""

import numpy as np
import pytest

from experiments import true_before_dish
from wheelsim.units import MM


def test_found():
    found = true_before_dish.run()
    # As printed in the experiment: hundredths of a millimetre.
    assert found.runout[2][-1] / MM == pytest.approx(1.00, abs=0.006)
    assert found.false_gap[2][-1] / MM == pytest.approx(1.00, abs=0.006)
    assert found.false_gap[3].max() / MM < 0.001
    assert found.runout[3][-1] / MM == pytest.approx(1.00, abs=0.006)
    for name, printed in ((4, 1.03), ("one nipple", 0.67)):
        assert found.false_gap[name][-1] / found.runout[name][-1] == pytest.approx(printed, abs=0.006)
    at_limit = np.interp(found.wheel.limits.lateral_runout, found.runout[2], found.false_gap[2])
    assert found.wheel.limits.lateral_runout / MM == pytest.approx(0.5)
    assert at_limit / MM == pytest.approx(0.50, abs=0.006)
    assert at_limit / found.wheel.limits.gap == pytest.approx(0.5, abs=0.006)
    assert found.averaged / MM < 0.001


def test_draws():
    figure = true_before_dish.draw(true_before_dish.run())
    assert "run-out can show a gap of 1.0 mm" in figure.get_suptitle().replace("\N{NO-BREAK SPACE}", " ")
    assert all("[" in axes.get_ylabel() for axes in figure.axes)
