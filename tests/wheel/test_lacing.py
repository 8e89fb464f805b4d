"""Lacing rules of the design: which hole a spoke takes, and what is refused."""

from dataclasses import replace

import networkx as nx
import numpy as np
import pytest

from tests.wheels import dished, front, make_wheel, paired, two_to_one
from wheelsim.wheel.crossings import crossing_graph
from wheelsim.wheel.geometry import LAT, RAD, TAN, geometry_of, pull_resultants, wheel_geometry
from wheelsim.wheel.lacing import LacingError, laced_spokes
from wheelsim.wheel.lacing_graph import laced_in, lacing_graph
from wheelsim.wheel.parts import SideSpokes
from wheelsim.wheel.rules import PartError


def holes(wheel):
    graph = lacing_graph(wheel.rim, wheel.spokes)
    return graph, {data["spoke"]: (b if a[0] == "rim" else a) for a, b, data in graph.edges(data=True)}


@pytest.mark.parametrize("wheel", [front(), dished(), two_to_one(), paired(), make_wheel(20, cross=(0, 2))])
def test_every_hole_holds_one_spoke(wheel):
    graph, _ = holes(wheel)
    assert graph.number_of_edges() == wheel.n
    assert {degree for _, degree in graph.degree} == {1}
    assert sum(1 for kind, _ in graph if kind == "rim") == wheel.n


@pytest.mark.parametrize("cross", [1, 2, 3, 4])
def test_hub_hole_stands_two_pi_cross_over_h_ahead_or_behind(cross):
    """Design, section 4: on an alternating wheel the hub hole sits at the rim hole's angle +- 2 pi X / h."""
    wheel = front(cross=cross)
    graph, hole = holes(wheel)
    for spoke in range(1, 37):
        turn = graph.nodes[hole[spoke]]["angle"] - graph.nodes[("rim", spoke)]["angle"]
        turn = (turn + np.pi) % (2 * np.pi) - np.pi
        j = (spoke - 1) // 2
        assert turn == pytest.approx((1 if j % 2 == 0 else -1) * 2 * np.pi * cross / 18, abs=1e-9)


def test_trailing_spokes_lean_clockwise_at_the_hub():
    """Trailing: the hub end is ahead of the rim end in forward rotation, clockwise from the right."""
    wheel = front()
    g, graph = wheel_geometry(wheel), lacing_graph(wheel.rim, wheel.spokes)
    for _, _, data in graph.edges(data=True):
        lean = g.axis[data["spoke"] - 1, TAN]
        assert data["lean"] == ("trailing" if lean > 0 else "leading")
    assert g.axis[0, TAN] > 0


def test_leading_start_swaps_them():
    wheel = front()
    other = replace(wheel, spokes=replace(wheel.spokes, right=replace(wheel.spokes.right, starts="leading")))
    right = wheel.on_side("right")
    assert np.allclose(wheel_geometry(other).axis[right, TAN], -wheel_geometry(wheel).axis[right, TAN])


def test_straight_pull_angle():
    wheel = front()
    straight = SideSpokes(None, ((2e-3, 1.0),), angle=np.radians(40))
    wheel = replace(wheel, spokes=replace(wheel.spokes, right=straight))
    graph, hole = holes(wheel)
    for spoke in range(1, 37, 2):
        turn = graph.nodes[hole[spoke]]["angle"] - graph.nodes[("rim", spoke)]["angle"]
        assert abs(turn) == pytest.approx(np.radians(40))


@pytest.mark.parametrize(("cross", "spokes"), [(5, 36), (3, 20), (12, 32)])
def test_cross_past_the_tangent_is_refused(cross, spokes):
    with pytest.raises(PartError, match=r"spokes\.right\.cross: .*expected at most"):
        make_wheel(spokes, cross=cross)


def test_cross_at_the_tangent_is_warned():
    faults = make_wheel(32, cross=4).faults()
    assert [(f.field, f.level) for f in faults] == [("spokes.right.cross", "warning"), ("spokes.left.cross", "warning")]


def test_odd_flange_cannot_cross():
    with pytest.raises(PartError, match="odd number"):
        make_wheel(21, sides="RLR" * 7, cross=(2, 1))


@pytest.mark.parametrize(("holes", "expected"), [(27, "24 or 28"), (34, "32 or 36"), (35, "32 or 36"), (9, "8 or 12")])
def test_holes_that_can_not_be_crossed_are_told_as_holes(holes, expected):
    """Not as crosses: thirty-five is a slip for thirty-six."""
    sides = ("RL" * holes)[:holes]
    with pytest.raises(PartError) as caught:
        make_wheel(holes, sides=sides, cross=1)
    assert [(fault.field, fault.value) for fault in caught.value.faults] == [("rim.holes", holes)]
    assert caught.value.faults[0].expected.endswith(f"expected {expected}")
    assert make_wheel(holes, sides=sides, cross=0).n == holes


def test_two_holes_are_no_rim():
    with pytest.raises(PartError, match="rim has 2 holes"):
        make_wheel(2, angles=(0.0, np.pi), sides="RL")


@pytest.mark.parametrize("wheel", [front(), dished(), two_to_one(), paired(), make_wheel(20, cross=(0, 2))])
def test_graph_holds_what_was_laced(wheel):
    laced = laced_spokes(wheel.rim.hole_angles, wheel.spokes)
    assert [row.spoke for row in laced] == list(range(1, wheel.n + 1))
    assert laced_in(lacing_graph(wheel.rim, wheel.spokes)) == laced


def test_graph_with_an_edge_away_is_refused():
    wheel = front()
    graph = nx.Graph(lacing_graph(wheel.rim, wheel.spokes))
    edge = next((a, b) for a, b, data in graph.edges(data=True) if data["spoke"] == 7)
    graph.remove_edge(*edge)
    with pytest.raises(LacingError, match="holds 0 spokes"):
        geometry_of(wheel, laced_in(graph))


def test_graph_with_a_hole_used_twice_is_refused():
    wheel = front()
    graph = nx.Graph(lacing_graph(wheel.rim, wheel.spokes))
    graph.add_edge(("rim", 1), ("left", 3), spoke=37, side="left", lean="radial", ahead=1, missing=False)
    with pytest.raises(LacingError, match="holds 2 spokes"):
        geometry_of(wheel, laced_in(graph))


def test_crossings_of_three_cross():
    """Common practice, no source: in a three-cross wheel each spoke crosses three others of its flange."""
    crossings = crossing_graph(front())
    assert {degree for _, degree in crossings.degree} == {3}
    assert all(a % 2 == b % 2 for a, b in crossings.edges), "crossings are within a flange"
    assert all(0.02 < radius < 0.3 for _, _, radius in crossings.edges(data="radius"))


def test_radial_spokes_cross_none():
    assert crossing_graph(front(cross=0)).number_of_edges() == 0


@pytest.mark.parametrize("wheel", [front(), dished(), two_to_one(), paired(), dished(seat_offset=3e-3),
                                   dished(drilling_offset=2e-3), make_wheel(32, cross=(3, 0), right=19e-3)])
def test_nominal_tensions_balance(wheel):
    g = wheel_geometry(wheel)
    rest = pull_resultants(g.angle, wheel.rim.section_radius, g.lever, g.axis) @ g.tension
    # Rounding of some dozens of tensions.
    assert np.abs(rest).max() < 1e-9 * g.tension.max()
    right = wheel.on_side("right")
    assert g.tension[right].mean() == pytest.approx(wheel.tension)


def test_uneven_holes_are_balanced_too():
    angles = 2 * np.pi * (np.arange(24) + 0.5) / 24
    angles[3] += 0.03
    wheel = make_wheel(24, cross=2, angles=angles)
    g = wheel_geometry(wheel)
    rest = pull_resultants(g.angle, wheel.rim.section_radius, g.lever, g.axis) @ g.tension
    assert np.abs(rest).max() < 1e-9 * g.tension.max()
    assert np.ptp(g.tension) > 1.0, "side means alone can't balance it"


def test_length_by_hand():
    """Spoke length by the cosine rule in the wheel's plane and Pythagoras across it."""
    wheel = front()
    turn = 2 * np.pi * 3 / 18
    plane = 0.3055**2 + 0.0235**2 - 2 * 0.3055 * 0.0235 * np.cos(turn)
    assert wheel_geometry(wheel).length == pytest.approx(np.sqrt(plane + 0.035**2))


def test_butted_spoke_is_parts_in_series():
    wheel = front()
    butted = replace(wheel.spokes.right, segments=((2.0e-3, 0.012), (1.8e-3, 0.266), (2.0e-3, 0.014)))
    wheel = replace(wheel, spokes=replace(wheel.spokes, right=butted))
    g = wheel_geometry(wheel)
    share = np.array([12, 266, 14]) / 292
    area = np.pi / 4 * np.array([2.0, 1.8, 2.0]) ** 2 * 1e-6
    assert g.stiffness[0] == pytest.approx(200e9 / (share / area).sum() / g.length[0])
    assert g.stiffness[1] > g.stiffness[0]


def test_flange_inside_the_seats_is_refused():
    with pytest.raises(PartError, match=r"hub\.right\.offset"):
        make_wheel(right=2e-3, seat_offset=4e-3)


def test_rim_side_of_the_seats():
    g = wheel_geometry(front(drilling_offset=2e-3, seat_offset=1e-3, inset=5e-3))
    assert g.lever[0] == pytest.approx([3e-3, 0.0, -5e-3])
    assert g.lever[1] == pytest.approx([-1e-3, 0.0, -5e-3])
    assert (g.axis[:, RAD] < 0).all()
    assert (np.sign(g.axis[:, LAT]) == g.side).all()
