"""The rim between its spokes, where it isn't judged: how far it stands from the line through the spokes."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import front, paired
from wheelsim.mechanics.ring import ring_of
from wheelsim.mechanics.stability import ring_matrix
from wheelsim.mechanics.structure import pull_direction
from wheelsim.units import MM
from wheelsim.wheel.geometry import LAT, RAD, wheel_geometry


def bowed(wheel):
    """Radial and lateral run-out [m] of a rim round and flat by itself under its nominal pulls: everywhere, at spokes.

    The rim's own exact arcs, each cut in four; compression left out.
    """
    g, angle = wheel_geometry(wheel), np.asarray(wheel.rim.hole_angles)
    arc = np.diff(angle, append=angle[0] + 2 * np.pi)
    finer = (angle[:, None] + arc[:, None] * np.arange(4) / 4).ravel() % (2 * np.pi)
    order = np.argsort(finer)
    ring = ring_of(replace(wheel.rim, hole_angles=tuple(finer[order])))
    load = np.zeros((len(finer), 6))
    load[::4] = pull_direction(g.axis, g.lever) * g.tension[:, None]
    matrix = ring_matrix(ring.own, ring.next)
    # Free in six ways; the pulls balance, so the shortest answer is the shape.
    shift = np.linalg.lstsq(matrix, load[order].ravel(), rcond=1e-11)[0].reshape(-1, 6)
    assert np.abs(matrix @ shift.ravel() - load[order].ravel()).max() < 1e-6 * np.abs(load).max()
    at_spokes = np.isin(order, np.arange(0, len(finer), 4))
    return {name: (np.ptp(shift[:, part]), np.ptp(shift[at_spokes, part]))
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
