"""The numbers under Found."""

import numpy as np

from experiments import quarter_turn
from tests.experiments.told import Told
from wheelsim.units import MM


def test_found():
    told, found, k = Told(quarter_turn), quarter_turn.run(), quarter_turn.SPOKE - 1
    lateral, tension = found.lateral / MM, found.tension
    assert tension.argmax() == k
    assert k in found.wheel.on_side("right")
    told("The rim moves {:.2f} mm right at the spoke", lateral[k])
    for off in (-3, 3):
        told("half of that ({:.2f} mm) three spokes away, and up to {:.2f} mm left", lateral[k + off], -lateral.min())
    told("it comes in {:.2f} mm. The spoke gains {:.0f} N", -found.radial[k] / MM, tension[k])
    told("The right spokes nearest to it lose {:.0f} and {:.0f} N, the left ones next to it {:.0f} and {:.0f} N, and "
         "the left ones after those gain {:.0f} and {:.0f} N", *-tension[[k - 2, k + 2, k - 1, k + 1]],
         *tension[[k - 3, k + 3]])
    told("the four nearest lose {:.0f} N together, yet all {} together gain {:.0f} N",
         -tension[[k - 2, k - 1, k + 1, k + 2]].sum(), found.wheel.n, tension.sum())
    told("the dish, moves only {:.2f} mm", lateral.mean())
    assert told.left == []



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
