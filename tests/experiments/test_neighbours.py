"""The numbers under Found."""

import numpy as np
import pytest

from experiments import neighbours
from experiments.neighbours import QUARTER, TENTH, count


@pytest.mark.parametrize(("rim", "spokes", "places"), [
    ("box alloy", (4, 15), (8, 16)), ("shallow alloy", (4, 16), (6, 18)), ("deep alloy", (3, 11), (8, 18)),
])
def test_found(rim, spokes, places):
    found = neighbours.run()
    # Whole spokes, as printed in the experiment.
    assert (count(found.tension[rim], QUARTER), count(found.tension[rim], TENTH)) == spokes
    assert (count(found.lateral[rim], QUARTER), count(found.lateral[rim], TENTH)) == places


def test_counts_others_only():
    assert count(np.array([1.0, 0.3, 0.1]), 0.2) == 1


def test_draws():
    figure = neighbours.draw(neighbours.run())
    title = " ".join(figure.get_suptitle().split())
    assert "four other spokes by a quarter of its own change or more, and fifteen by a tenth" in title
    assert "[%" in figure.axes[0].get_ylabel()
