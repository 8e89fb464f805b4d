"""The rim half-way between its spokes, where a dial also passes."""

from functools import lru_cache

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.equilibrium import State
from wheelsim.mechanics.pose import bent_to, body_of, station_frames, to_global, to_station
from wheelsim.mechanics.ring import Pieces, arc_stiffness, pieces_of, ring_of
from wheelsim.mechanics.stability import ring_matrix
from wheelsim.mechanics.structure import pull_direction
from wheelsim.wheel.geometry import LAT, RAD, wheel_geometry
from wheelsim.wheel.parts import Rim, Wheel


def half_way(state: State) -> tuple[Floats, Floats]:
    """Where the rim stands in the middle of each arc between two spokes.

    Parameters
    ----------
    state : State
        Of a wheel with n spokes.

    Returns
    -------
    lateral, radial : (n,) ndarray
        Between spokes i and i + 1, measured as ``State.edge`` and ``State.radial`` are: the edge from the hub's
        middle, plus right; the section's centre from a circle through the spokes of the true wheel, plus outward. [m]

    Notes
    -----
    An arc is loaded at its ends only, so its own equations give its middle exactly to first order. At the nominal
    tensions the wheel is true at its spokes by definition; between them it bows as its pulls bend it.
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
    """(n, 6, 12): displacement of an arc's middle per displacement of its two ends."""
    known = {piece: _middle_of_ends(piece, rim) for piece in set(pieces_of(rim))}
    return np.array([known[piece] for piece in pieces_of(rim)])


def _middle_of_ends(pieces: Pieces, rim: Rim) -> Floats:
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
    # No load in the middle: the forces of the two halves on it cancel.
    return -np.linalg.solve(one[6:, 6:] + two[:6, :6], np.concatenate([one[6:, :6], two[:6, 6:]], axis=1))


@lru_cache(maxsize=64)
def _bow(wheel: Wheel) -> Floats:
    """How the middles of the arcs stand off the spokes at nominal tensions, (n, 6); shared, so don't write to it."""
    g, ring = wheel_geometry(wheel), ring_of(wheel.rim)
    load = (pull_direction(g.axis, g.lever) * g.tension[:, None]).ravel()
    # The free ring has six motions as a whole; the pulls balance, so the least-squares answer is its bent shape.
    shift = np.linalg.lstsq(ring_matrix(ring.own, ring.next), load, rcond=1e-11)[0].reshape(-1, 6)
    # The unloaded circle is wider by what the pulls take, and any unevenness at the spokes is in the rim's own shape.
    wider = -shift[:, RAD].mean()
    uneven = np.zeros((wheel.n, 3))
    uneven[:, LAT], uneven[:, RAD] = -shift[:, LAT], -shift[:, RAD] - wider
    bow = _middles(wheel.rim, shift + bent_to(ring, uneven))
    bow[:, RAD] += wider
    return bow
