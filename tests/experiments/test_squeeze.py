"""The numbers under Found and in the notes, and the forces on the squeezed spokes."""

import numpy as np
import pytest

from experiments import squeeze
from experiments.common import front
from tests.experiments.told import Told
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import nominal_factor
from wheelsim.units import MM, QUARTER
from wheelsim.wheel.crossings import crossing_graph
from wheelsim.wheel.geometry import wheel_geometry

PAIR = np.array(squeeze.PAIR) - 1


@pytest.fixture(scope="module")
def found():
    return squeeze.run()


def test_found(found):
    told, pressed = Told(squeeze), list(found.squeezed.values())
    beside = PAIR.sum() // 2
    told("Squeezed with {:.0f} N on each, {:.0f} N, {:.0f} N: the rim goes {:.2f}, {:.2f}, {:.2f} mm right beside them",
         *found.squeezed, *(one.lateral[beside] / MM for one in pressed))
    told("as with {:.1f}, {:.1f} and {:.1f} quarter turns of the two", *(one.turns / QUARTER for one in pressed))
    told("The spokes bend {:.1f}, {:.1f} and {:.1f} mm and pull up to {:,.0f}, {:,.0f} and {:,.0f} N",
         *(one.bend / MM for one in pressed), *(one.tension for one in pressed))
    past = next(force for force, one in found.squeezed.items() if one.tension > found.wheel.limits.max_tension)
    told("so {:.0f} N of hand already takes them past the {:,.0f} N allowed", past, found.wheel.limits.max_tension)
    told("(dish) goes {:.2f}, {:.2f} and {:.2f} mm right", *(one.lateral.mean() / MM for one in pressed))
    told("a quarter turn of the whole side moves it {:.2f} mm", found.side_quarter / MM)
    assert told.left == []



def test_hand_and_spokes_balance(found):
    """Two halves of a spoke, each pulling with its tension toward its end, hold the hand."""
    for force, one in found.squeezed.items():
        turns = np.zeros(found.wheel.n)
        turns[PAIR] = one.turns
        tension = equilibrium(found.wheel, turns).tension[PAIR].mean()
        straight = wheel_geometry(found.wheel).length[PAIR].mean()
        # Means of two spokes that differ by a per cent.
        assert 2 * tension * np.sin(np.arctan(one.bend / (straight / 2))) == pytest.approx(force, rel=1e-3)
        longer = 2 * np.hypot(straight / 2, one.bend) - straight
        assert longer == pytest.approx(one.turns * found.wheel.spokes.thread_pitch, rel=1e-3)


def test_pair_runs_side_by_side():
    """Same flange, next to each other, not crossing, and too far apart in the middle to touch at 300 N."""
    wheel = front()
    assert set(PAIR) < set(wheel.on_side("right"))
    assert not crossing_graph(wheel).has_edge(*squeeze.PAIR)
    ends = _ends(wheel)
    apart = np.linalg.norm(np.diff(ends.mean(axis=1), axis=0))
    assert apart > 2 * squeeze.squeezed(wheel, 300.0).bend


def test_ends_pull_on_the_rim_may_be_left_out(found):
    """As the notes say: 0.002 mm at 200 N, half of it at each end of a spoke."""
    wheel = found.wheel
    factor, g = nominal_factor(wheel)
    middle = _ends(wheel).mean(axis=1)
    toward = (middle[1] - middle[0]) / np.linalg.norm(middle[1] - middle[0])
    load = np.zeros((wheel.n, 6))
    for k, sign in zip(PAIR, (1, -1), strict=True):
        load[k, :3] = _frame(g.angle[k]).T @ (sign * 100.0 * toward)
    assert np.abs(factor.solve(load)[:, 0]).max() / MM == pytest.approx(0.002, abs=6e-4)


def test_bending_of_a_spoke_asks_a_fifth_more():
    """Half a spoke with both ends held against turning, under tension and an end force: a - 2 c tanh(a / 2 c)."""
    wheel = front()
    half = wheel_geometry(wheel).length[PAIR[0]] / 2
    diameter = wheel.spokes.right.segments[0][0]
    reach = np.sqrt(wheel.spokes.modulus * np.pi * diameter**4 / 64 / wheel.tension)
    # "About a fifth".
    assert half / (half - 2 * reach * np.tanh(half / (2 * reach))) == pytest.approx(1.2, abs=0.02)


def test_draws(found):
    figure = squeeze.draw(found)
    assert "rim 2.7 mm right, like 7 quarter turns" in " ".join(figure.get_suptitle().split())
    assert all("[" in axes.get_ylabel() for axes in figure.axes)


def _frame(angle):
    """A station's (lateral, tangential, radial) axes as columns in (right, forward, up)."""
    s, c = np.sin(angle), np.cos(angle)
    return np.array([[1, 0, 0], [0, c, s], [0, -s, c]])


def _ends(wheel):
    """Seat and hub hole of both spokes: (2, 2, 3). [m]"""
    g = wheel_geometry(wheel)
    centre = np.array([0.0, 0.0, wheel.rim.section_radius])
    return np.array([[_frame(g.angle[k]) @ (centre + end[k]) for end in (g.lever, g.hub)] for k in PAIR])
