"""The numbers under Found, and what a line that touches a curve must do."""

import numpy as np
import pytest

from experiments import where_linear_stops
from experiments.common import dished_rear, one_turn
from experiments.where_linear_stops import BACKED_OFF, SIDE_TURNS, SPOKE
from tests.experiments.told import Told
from wheelsim.mechanics.equilibrium import equilibrium


@pytest.fixture(scope="module")
def found():
    return where_linear_stops.run()


def test_found(found):
    told = Told(where_linear_stops)
    told("the rim's shift: {:.1f} % too much at a quarter turn, {:.1f} % at a half, {:.1f} % at one, {:.1f} % at two",
         *(100 * found.off(turns)[0] for turns in (0.25, 0.5, 1.0, 2.0)))
    told("That side's tension is hit to {:.1f} % at two turns up",
         100 * max(abs(found.off(turns)[1]) for turns in SIDE_TURNS if turns > 0))
    down = int(np.flatnonzero(SIDE_TURNS == -2.0)[0])
    told("two turns down the line leaves it {:.0f} N where it keeps {:.0f} N", found.line_tension[down],
         found.tension[down])
    told("One far-side spoke goes slack after {:.2f} turns; after {:.0f} turns the line says {:.0f} N", found.slack_at,
         BACKED_OFF[-1], found.line_spoke[-1])
    assert told.left == []
    assert SPOKE - 1 in dished_rear().on_side("left")


def test_the_line_touches_the_wheel(found):
    """Both ways from no turns it misses by the square of the turns at first: a quarter of it at half of the turns."""
    assert found.line_shift[SIDE_TURNS == 0] == pytest.approx(found.shift[SIDE_TURNS == 0], abs=1e-12)
    miss = dict(zip(SIDE_TURNS, found.line_shift - found.shift, strict=True))
    for turns in (0.5, -0.5):
        # What the cube of the turns adds.
        assert miss[turns] / miss[turns / 2] == pytest.approx(4, rel=0.05)


def test_the_miss_grows_with_the_turns(found):
    """In proportion, as a share: and one turn up the wheel goes less than the line says, one turn down more."""
    up = [found.off(turns)[0] for turns in (0.25, 0.5, 1.0, 2.0)]
    # The same share per turn within a twentieth.
    assert np.array(up) / [0.25, 0.5, 1.0, 2.0] == pytest.approx(up[0] / 0.25, rel=0.05)
    assert found.off(1.0)[0] > 0 > found.off(-1.0)[0]


def test_a_slack_spoke_no_longer_speaks_to_the_rim():
    """Once it hangs slack, further turns of its nipple change nothing anywhere; before, they do."""
    wheel = dished_rear()
    at = {turns: equilibrium(wheel, one_turn(wheel, SPOKE, -turns)) for turns in (1.5, 2.0, 2.5, 3.0)}
    assert at[3.0].lateral == pytest.approx(at[2.5].lateral, abs=1e-9)
    assert at[3.0].tension == pytest.approx(at[2.5].tension, abs=1e-4)
    assert np.abs(at[2.0].lateral - at[1.5].lateral).max() > 1e-4


def test_the_spoke_only_pulls(found):
    assert (found.spoke >= 0).all()
    assert (found.spoke[found.slack_at < BACKED_OFF] == 0).all()
    assert (found.spoke[found.slack_at > BACKED_OFF] > 0).all()
    assert (np.diff(found.spoke[found.slack_at > BACKED_OFF]) < 0).all()


def test_draws(found):
    figure = where_linear_stops.draw(found)
    assert "13" in figure.get_suptitle()
    assert [axes.get_ylabel() for axes in figure.axes] == ["rim shift [mm], + right", "its tension [N]"]
