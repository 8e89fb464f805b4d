"""The numbers under Found."""

import numpy as np
import pytest

from experiments import quarter_turn
from wheelsim.units import MM


def test_found():
    found = quarter_turn.run()
    k = quarter_turn.SPOKE - 1
    # As printed in the experiment: hundredths of a millimetre, whole newtons.
    assert found.lateral[[k - 3, k, k + 3]] / MM == pytest.approx([0.09, 0.19, 0.09], abs=0.006)
    assert found.lateral.min() / MM == pytest.approx(-0.04, abs=0.006)
    assert found.lateral.mean() / MM == pytest.approx(0.02, abs=0.006)
    assert found.radial[k] / MM == pytest.approx(-0.05, abs=0.006)
    assert found.tension[k - 3:k + 4] == pytest.approx([28, -38, -13, 85, -21, -35, 39], abs=0.6)
    assert found.tension[[k - 2, k - 1, k + 1, k + 2]].sum() == pytest.approx(-107, abs=0.6)
    assert found.tension.sum() == pytest.approx(158, abs=0.6)


def test_the_spoke_turned_is_the_one_most_moved():
    found = quarter_turn.run()
    assert np.flatnonzero(found.turns).tolist() == [quarter_turn.SPOKE - 1]
    for change in (found.lateral, found.radial, found.tension):
        assert np.abs(change).argmax() == quarter_turn.SPOKE - 1


def test_draws():
    figure = quarter_turn.draw(quarter_turn.run())
    assert "moves the rim 0.19 mm" in " ".join(figure.get_suptitle().split())
    assert [axes.get_ylabel().split("\n")[0] for axes in figure.axes] == [
        "lateral [mm]", "radial [mm]", "tension [N]", "turns"]
