"""The numbers under Found and in the notes, and the forces on the squeezed spokes."""

import numpy as np
import pytest

from experiments import squeeze
from experiments.common import front
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import nominal_factor
from wheelsim.units import MM
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.lacing import crossing_graph

PAIR = np.array(squeeze.PAIR) - 1


@pytest.fixture(scope="module")
def found():
    return squeeze.run()


def test_found(found):
    pressed = list(found.squeezed.values())
    beside = PAIR.sum() // 2
    # As printed in the experiment.
    assert [one.lateral[beside] / MM for one in pressed] == pytest.approx([0.91, 2.60, 4.41], abs=0.006)
    assert [4 * one.turns for one in pressed] == pytest.approx([2.6, 7.3, 12.3], abs=0.06)
    assert [one.bend / MM for one in pressed] == pytest.approx([6.5, 11.0, 14.3], abs=0.06)
    assert [one.tension for one in pressed] == pytest.approx([1121, 1335, 1549], abs=0.6)
    assert [one.lateral.mean() / MM for one in pressed] == pytest.approx([0.12, 0.34, 0.58], abs=0.006)
    assert found.side_quarter / MM == pytest.approx(0.42, abs=0.006)
    assert found.wheel.limits.max_tension == 1200


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
    assert "rim 2.6 mm right, like 7 quarter turns" in " ".join(figure.get_suptitle().split())
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
