"""Position of the rim half-way between neighbouring spokes.

The model has its degrees of freedom at the spokes only; a dial passes the places between them too.
"""

from functools import lru_cache

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.bent import bent_to
from wheelsim.mechanics.equilibrium import State
from wheelsim.mechanics.pose import body_of, station_frames, to_global, to_station
from wheelsim.mechanics.ring import Pieces, arc_stiffness, pieces_of, ring_of
from wheelsim.mechanics.stability import ring_matrix
from wheelsim.mechanics.structure import pull_direction
from wheelsim.wheel.geometry import LAT, RAD, wheel_geometry
from wheelsim.wheel.parts import Rim, Wheel


def half_way(state: State) -> tuple[Floats, Floats]:
    """Position of the rim in the middle of each arc between two neighbouring spokes.

    Parameters
    ----------
    state : State
        A wheel at rest, with n spokes.

    Returns
    -------
    lateral, radial : (n,) ndarray
        Midway between spokes i and i + 1 (the last entry: between spokes n and 1), measured like ``State.edge`` and
        ``State.radial``: the rim's edge from the hub's middle, plus right; the section's centre from the circle on
        which the section's centre lies at the spokes of the true wheel, plus outward. [m]

    Notes
    -----
    Forces act on an arc at its ends only, so the displacement of its middle follows exactly (to first order) from
    those of its ends. At the nominal tensions the wheel is true at its spokes by definition of "true"; between them
    the spokes' pulls bow the rim, which ``_bow`` adds.
    """
    wheel, pose = state.wheel, state.pose
    rim = wheel.rim
    body = body_of(wheel, state.own_shape)
    shape = np.zeros((wheel.n, 3))
    shape[:, LAT], shape[:, RAD] = state.own_shape
    shift = pose.shift + (bent_to(body.ring, shape) if shape.any() else 0.0)
    middle = _middles(rim, shift) + _bow(wheel)
    frame = station_frames(_middle_angles(rim))
    place = middle[:, :3].copy()
    place[:, RAD] += rim.section_radius
    where = to_station(frame, to_global(frame, place) @ pose.turn.T + pose.move)
    return where[:, LAT] + rim.edge_out * middle[:, 4], where[:, RAD] - rim.section_radius


def _middle_angles(rim: Rim) -> Floats:
    """Angle at the middle of each arc, from the valve, (n,). [rad]"""
    angle = np.asarray(rim.hole_angles)
    middles: Floats = angle + np.diff(angle, append=angle[0] + 2 * np.pi) / 2
    return middles


def _middles(rim: Rim, shift: Floats) -> Floats:
    """Displacement and rotation (n, 6) of the middle of each arc, from those of the stations (n, 6)."""
    after = np.roll(shift, -1, axis=0)
    both: Floats = np.einsum("nij,nj->ni", _of_ends(rim), np.concatenate([shift, after], axis=1))
    return both


@lru_cache(maxsize=64)
def _of_ends(rim: Rim) -> Floats:
    """Displacement of each arc's middle per displacement of its two ends, (n, 6, 12); equal arcs are computed once."""
    known = {piece: _middle_of_ends(piece, rim) for piece in set(pieces_of(rim))}
    return np.array([known[piece] for piece in pieces_of(rim)])


def _middle_of_ends(pieces: Pieces, rim: Rim) -> Floats:
    """The same for one arc, (6, 12): it is cut in the middle and the node there condensed out (no load on it)."""
    half = sum(angle for angle, _ in pieces) / 2
    first: list[tuple[float, float]] = []
    second: list[tuple[float, float]] = []
    at = 0.0
    for angle, share in pieces:
        before = min(max(half - at, 0.0), angle)
        first += [(before, share)] * int(before > 0)
        second += [(angle - before, share)] * int(angle > before)
        at += angle
    stiffness = (rim.radial_bending, rim.lateral_bending, rim.torsion, rim.stretch)
    one, two = (arc_stiffness(tuple(part), rim.section_radius, *stiffness)[0] for part in (first, second))
    # Equilibrium of the unloaded middle: the end forces of the two halves cancel there.
    return -np.linalg.solve(one[6:, 6:] + two[:6, :6], np.concatenate([one[6:, :6], two[:6, 6:]], axis=1))


@lru_cache(maxsize=64)
def _bow(wheel: Wheel) -> Floats:
    """Displacement of the arcs' middles in the true wheel at nominal tensions, (n, 6); cached: don't write to it."""
    g, ring = wheel_geometry(wheel), ring_of(wheel.rim)
    load = (pull_direction(g.axis, g.lever) * g.tension[:, None]).ravel()
    # The free ring's matrix is singular (six rigid-body motions). The pulls balance, so the minimum-norm least-squares
    # solution is its bent shape.
    shift = np.linalg.lstsq(ring_matrix(ring.own, ring.next), load, rcond=1e-11)[0].reshape(-1, 6)
    # The unloaded rim is a larger circle, by as much as the pulls shrink it. What the pulls do unevenly at the spokes
    # is compensated by the rim's own shape, since the wheel is true there.
    wider = -shift[:, RAD].mean()
    uneven = np.zeros((wheel.n, 3))
    uneven[:, LAT], uneven[:, RAD] = -shift[:, LAT], -shift[:, RAD] - wider
    bow = _middles(wheel.rim, shift + bent_to(ring, uneven))
    bow[:, RAD] += wider
    return bow
