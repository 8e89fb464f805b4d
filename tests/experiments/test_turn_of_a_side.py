"""The numbers under Found."""

import numpy as np
import pytest

from experiments import turn_of_a_side
from wheelsim.units import MM


def test_found():
    found = turn_of_a_side.run()
    # As printed in the experiment: hundredths of a millimetre, whole newtons.
    assert found.spacing[[0, 6, 8], 0] / MM == pytest.approx([0.60, 0.42, 0.38], abs=0.006)
    assert found.spacing[[0, 6, 8], 2] / MM == pytest.approx([0.83, 0.47, 0.42], abs=0.006)
    assert turn_of_a_side.SPACING[[0, 6, 8]] / MM == pytest.approx([40, 70, 80])
    assert found.count[[0, -1], 0] / MM == pytest.approx([0.41, 0.42], abs=0.006)
    assert found.gauge[[0, -1], 0] / MM == pytest.approx([0.39, 0.43], abs=0.006)
    assert found.spacing[:, 1] == pytest.approx(80, abs=1.0)
    assert found.count[[0, -1], 1] == pytest.approx([90, 72], abs=0.6)
    assert found.gauge[[0, -1], 1] == pytest.approx([53, 96], abs=0.6)


def test_what_the_sentence_says():
    found = turn_of_a_side.run()
    assert (np.diff(found.spacing[:, 0]) < 0).all()
    # "Doesn't matter": less over twice as many spokes than the flanges do in five millimetres.
    assert np.ptp(found.count[:, 0]) < np.abs(np.diff(found.spacing[:, 0])).min()


def test_draws():
    figure = turn_of_a_side.draw(turn_of_a_side.run())
    assert "0.60 mm at 40 mm, 0.38 mm at 80 mm" in " ".join(figure.get_suptitle().split())
    assert all("[" in axes.get_xlabel() for axes in figure.axes[3:])
