"""The rim between its spokes: how far it stands from the line through the spokes."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import front, make_wheel, paired
from wheelsim.job.job import Job
from wheelsim.mechanics.between import half_way
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.ring import ring_of
from wheelsim.mechanics.stability import ring_matrix
from wheelsim.mechanics.structure import pull_direction
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.stand.assess import assess
from wheelsim.units import MM
from wheelsim.wheel.geometry import LAT, RAD, wheel_geometry


def finer_ring(wheel, load):
    """Displacement (n, 4, 6) of the wheel's free rim, each arc cut in four, under loads (n, 6) that balance."""
    angle = np.asarray(wheel.rim.hole_angles)
    arc = np.diff(angle, append=angle[0] + 2 * np.pi)
    finer = (angle[:, None] + arc[:, None] * np.arange(4) / 4).ravel() % (2 * np.pi)
    order = np.argsort(finer)
    ring = ring_of(replace(wheel.rim, hole_angles=tuple(finer[order])))
    loads = np.zeros((len(finer), 6))
    loads[::4] = load
    matrix = ring_matrix(ring.own, ring.next)
    # Free in six ways; the pulls balance, so the shortest answer is the shape.
    found = np.linalg.lstsq(matrix, loads[order].ravel(), rcond=1e-11)[0]
    assert np.abs(matrix @ found - loads[order].ravel()).max() < 1e-6 * np.abs(loads).max()
    shift = np.empty_like(loads)
    shift[order] = found.reshape(-1, 6)
    return shift.reshape(-1, 4, 6)


def bowed(wheel):
    """Radial and lateral run-out [m] of a rim round and flat by itself under its nominal pulls: everywhere, at spokes.

    The rim's own exact arcs, each cut in four; compression left out.
    """
    g = wheel_geometry(wheel)
    shift = finer_ring(wheel, pull_direction(g.axis, g.lever) * g.tension[:, None])
    return {name: (np.ptp(shift[..., part]), np.ptp(shift[:, 0, part]))
            for name, part in (("radial", RAD), ("lateral", LAT))}


def test_equal_loads_by_hand():
    """Roark, Table 9.2, case 7 (value from memory): k equal loads bow the rim inward by (W R^3/4EI)(a/sin^2 a + cot a -
    2/a) at the loads, and outward by (W R^3/4EI)(2/a - 1/sin a - a cos a/sin^2 a) between."""
    wheel = paired(cross=0, right=35e-3, left=35e-3, angles=tuple(2 * np.pi * (np.arange(20) + 0.5) / 20))
    everywhere, at_spokes = bowed(wheel)["radial"]
    g, rim, a = wheel_geometry(wheel), wheel.rim, np.pi / 20
    pull = -(g.tension * g.axis[:, RAD]).mean()
    inward = a / np.sin(a) ** 2 + 1 / np.tan(a) - 2 / a
    outward = 2 / a - 1 / np.sin(a) - a * np.cos(a) / np.sin(a) ** 2
    by_hand = pull * rim.section_radius**3 / (4 * rim.radial_bending) * (inward + outward)
    # The rim's stretch under its hoop force, which varies along an arc, is left out by hand.
    assert everywhere == pytest.approx(by_hand, rel=0.05)
    assert at_spokes < 0.01 * everywhere


def test_paired_holes_scallop():
    """README's figures: some 0.3 mm between pairs of 20 spokes at 1000 N, a hundredth on 36 even ones."""
    # Radial lacing gives 0.28 and crossed 0.29.
    for cross in (0, 2):
        everywhere, at_spokes = bowed(paired(cross=cross))["radial"]
        assert everywhere - at_spokes == pytest.approx(0.3 * MM, abs=0.03 * MM)
    for wheel in (paired(), front()):
        everywhere, at_spokes = bowed(wheel)["lateral"]
        assert everywhere - at_spokes < 0.01 * MM
    everywhere, at_spokes = bowed(front())["radial"]
    assert everywhere - at_spokes < 0.01 * MM


@pytest.mark.parametrize("wheel", [paired(cross=0), paired(), front()], ids=["paired radial", "paired", "even"])
def test_half_way_as_a_finer_ring_has_it(wheel):
    """The true wheel at its nominal tension: as the rim divided into short arcs, whose stations the middles are."""
    _, radial = half_way(equilibrium(wheel))
    everywhere, at_spokes = bowed(wheel)["radial"]
    # Crossed lacing's forces along the rim make the finer ring uneven at its spokes; a true wheel is even there.
    assert np.ptp(np.concatenate([radial, [0.0]])) == pytest.approx(everywhere - at_spokes, abs=0.02 * MM)


def test_half_way_with_spokes_turned():
    """Between spokes under uneven pulls, against the finer ring under the same pulls."""
    wheel = make_wheel(20, cross=0, tension=1e-3)
    # Little enough that the hoop's compression, left out by the finer ring, does next to nothing.
    turns = np.full(20, 0.02)
    turns[[2, 7]] += 0.02, -0.01
    state = equilibrium(wheel, turns)
    _, axis, lever, _ = state.factored
    finer = finer_ring(wheel, pull_direction(axis, lever) * state.tension[:, None])
    lateral, radial = half_way(state)
    # A free ring knows no place: over the six ways it may move, both must stand alike at the spokes, and then between.
    angle = np.asarray(wheel.rim.hole_angles)
    for shape, at_spokes, part in ((lateral, state.lateral, LAT), (radial, state.radial, RAD)):
        ways = [np.stack([np.full(20, float(part == LAT)), np.sin(a), np.cos(a)], axis=1)
                for a in (angle, angle + np.pi / 20)]
        moved = np.linalg.lstsq(ways[0], at_spokes - finer[:, 0, part], rcond=None)[0]
        assert at_spokes == pytest.approx(finer[:, 0, part] + ways[0] @ moved, abs=0.006 * np.ptp(at_spokes))
        assert shape == pytest.approx(finer[:, 2, part] + ways[1] @ moved, abs=0.006 * np.ptp(at_spokes))
        # The line through the spokes would not do.
        assert np.abs(shape - (at_spokes + np.roll(at_spokes, -1)) / 2).max() > 0.02 * np.ptp(at_spokes)


def test_assess_has_a_line_for_it():
    wheel = paired()
    near = tuple((spoke, 0.0) for spoke in range(1, 21))
    reading = Reading(gauge=Gauge(set_on="right", gap_at="hub", low=0.0, high=0.0), lateral=near, radial=near)
    said = assess(Job(wheel, (reading,)))
    line = {check.name: check for check in said.checks}["round between spokes"]
    # README: some 0.3 mm at 1000 N.
    assert line.value - {check.name: check for check in said.checks}["round"].value == pytest.approx(0.28, abs=0.03)
    assert "round between spokes" not in {check.name for check in assess(front()).checks}
