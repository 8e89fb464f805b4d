"""The numbers under Found."""

import numpy as np

from experiments import neighbours
from experiments.neighbours import QUARTER, TENTH, count
from tests.experiments.told import WORDS, Told


def test_found():
    told, found = Told(neighbours), neighbours.run()
    counts = {rim: [count(shares[rim], least) for shares in (found.tension, found.lateral)
                    for least in (QUARTER, TENTH)] for rim in neighbours.LOOKS}
    spokes, spokes_tenth, places, places_tenth = (WORDS[k] for k in counts["box alloy"])
    told("{} other spokes by a quarter, {} by a tenth", spokes.capitalize(), spokes_tenth)
    told("by a quarter beside {} others, by a tenth beside {}", places, places_tenth)
    told("With a shallow rim {} and {} spokes, {} and {} places", *counts["shallow alloy"])
    told("with a deep one {} and {} spokes, {} and {} places", *counts["deep alloy"])
    assert told.left == []



def test_counts_others_only():
    assert count(np.array([1.0, 0.3, 0.1]), 0.2) == 1


def test_draws():
    figure = neighbours.draw(neighbours.run())
    title = " ".join(figure.get_suptitle().split())
    assert "four other spokes by a quarter of its own change or more, and seventeen by a tenth" in title
    assert "[%" in figure.axes[0].get_ylabel()
