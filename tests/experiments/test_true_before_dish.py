"""The numbers under Found."""

import numpy as np
import pytest

from experiments import true_before_dish
from tests.experiments.told import Told
from wheelsim.units import MM


def test_found():
    told, found = Told(true_before_dish), true_before_dish.run()
    assert found.runout[3][-1] == pytest.approx(found.runout[2][-1], rel=0.01)
    nothing = 0.001  # what "none" and "nothing" mean, said beside them
    told("A saddle of {:.2f} mm run-out shows a gap up to {:.2f} mm that is not there", found.runout[2][-1] / MM,
         found.false_gap[2][-1] / MM)
    told("three waves none (below {} mm)", nothing)
    assert found.false_gap[3].max() / MM < nothing
    told("four waves {:.2f} mm, one nipple alone {:.2f} mm for every millimetre",
         *(found.false_gap[name][-1] / found.runout[name][-1] for name in (4, "one nipple")))
    limits = found.wheel.limits
    at_limit = np.interp(limits.lateral_runout, found.runout[2], found.false_gap[2])
    told("At the limit of {:.1f} mm run-out the saddle's false gap is {:.2f} mm", limits.lateral_runout / MM,
         at_limit / MM)
    assert at_limit / limits.gap == pytest.approx(0.5, abs=0.006)  # "half of what is allowed"
    told("leaves nothing (below {} mm)", nothing)
    assert found.averaged / MM < nothing
    assert told.left == []



def test_draws():
    figure = true_before_dish.draw(true_before_dish.run())
    assert "run-out can show a gap of 1.0 mm" in figure.get_suptitle().replace("\N{NO-BREAK SPACE}", " ")
    assert all("[" in axes.get_ylabel() for axes in figure.axes)
