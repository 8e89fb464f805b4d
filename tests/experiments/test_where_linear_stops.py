"""The numbers under Found."""

import numpy as np
import pytest

from experiments import where_linear_stops
from experiments.where_linear_stops import SIDE_TURNS


@pytest.fixture(scope="module")
def found():
    return where_linear_stops.run()


@pytest.mark.parametrize(("turns", "per_cent"), [(0.25, 1.7), (0.5, 3.4), (1.0, 6.7), (2.0, 13.4)])
def test_shift(found, turns, per_cent):
    # As printed in the experiment: tenths of a per cent.
    assert 100 * found.off(turns)[0] == pytest.approx(per_cent, abs=0.06)


def test_tension(found):
    worst = max(abs(found.off(turns)[1]) for turns in SIDE_TURNS if turns > 0)
    # Tenths of a per cent, and whole newtons.
    assert 100 * worst == pytest.approx(2.5, abs=0.06)
    down = int(np.flatnonzero(SIDE_TURNS == -2.0)[0])
    assert (found.line_tension[down], found.tension[down]) == pytest.approx((157, 235), abs=0.6)


def test_slack(found):
    # Hundredths of a turn, whole newtons.
    assert found.slack_at == pytest.approx(2.32, abs=0.006)
    assert found.line_spoke[-1] == pytest.approx(-168, abs=0.6)
    assert where_linear_stops.BACKED_OFF[-1] == 3.0
    assert found.spoke[-1] == 0.0


def test_draws(found):
    figure = where_linear_stops.draw(found)
    assert "13" in figure.get_suptitle()
    assert [axes.get_ylabel() for axes in figure.axes] == ["rim shift [mm], + right", "its tension [N]"]
