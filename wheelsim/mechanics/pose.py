"""A wheel in one pose: where the rim is, how the spokes pull there, what is out of balance.

The rim's motion as a whole is kept apart in a moving frame; what is left is small, and the ring
linear in it, but for the work of its hoop force on moderate rotations.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.mechanics.response import compression
from wheelsim.mechanics.ring import Ring, ring_of
from wheelsim.mechanics.rotation import rotation_matrix, rotation_vector, tangent_map
from wheelsim.mechanics.structure import (
    Factor,
    Factored,
    Unstable,
    Updated,
    factor_wheel,
    spoke_stiffness,
    with_moment,
)
from wheelsim.wheel.geometry import LAT, RAD, Geometry, wheel_geometry
from wheelsim.wheel.parts import Wheel


@dataclass(frozen=True, eq=False)
class Pose:
    """Where the rim is: moved and turned as a whole, then shifted station by station.

    ``turn`` (3, 3) and ``move`` (3,) carry the reference frame; ``shift`` (n, 6) displacement and
    rotation vector in it, station frames, free of any motion as a whole.
    """

    turn: Floats
    move: Floats
    shift: Floats


@dataclass(frozen=True, eq=False)
class Body:
    """What stays the same while the wheel moves."""

    geometry: Geometry
    ring: Ring
    frame: Floats  # (n, 3, 3) rows: station axes in (right, forward, up)
    place: Floats  # (n, 3) section's centre with the rim's own shape, station frame
    hub: Floats  # (n, 3) hub hole in (right, forward, up)
    rest: Floats  # (n,) seat to hub hole at the nominal tension
    held: Floats  # (n, 6) the ring's own forces in the nominal wheel
    bent: Floats  # (n, 6) geometric force per newton of compression on the rim's own shape
    compression: float
    whole: Floats  # (n, 3, 6) displacements of the six motions as a whole
    pitch: float


def body_of(wheel: Wheel, own_shape: Floats | None = None) -> Body:
    if own_shape is None or not np.any(own_shape):
        return _true_body(wheel)
    true = _true_body(wheel)
    g = true.geometry
    shape = np.zeros((wheel.n, 3))
    shape[:, LAT], shape[:, RAD] = own_shape
    place = true.place + shape
    run = g.hub - g.lever - shape
    rest = np.linalg.norm(run, axis=1)
    bent = _around(true.ring.own_geometric, true.ring.next_geometric, bent_to(true.ring, shape))
    # By its definition the shape stands still at the nominal tensions: the ring's own forces there
    # hold the pulls as they then run, and the compression on the bent rim.
    pull = g.tension[:, None] * run / rest[:, None]
    held = with_moment(pull, g.lever) + true.compression * bent
    return replace(true, place=place, rest=rest, held=held, bent=bent, whole=_motions(true.frame, place))


def bent_to(ring: Ring, shape: Floats) -> Floats:
    """Displacements and rotations (n, 6) of the ring bent with least work to a shape (n, 3), or many (n, 3, m). [m]"""
    own = ring.own.copy()
    firm = 1e6 * np.abs(own).max()
    load = np.zeros((len(own), 6, *shape.shape[2:]))
    for axis in (LAT, RAD):
        own[:, axis, axis] += firm
        load[:, axis] = firm * shape[:, axis]
    own[:, 1, 1] += 1e-9 * np.abs(ring.own).max()
    return Factor(own, ring.next).solve(load)


@lru_cache(maxsize=64)
def _true_body(wheel: Wheel) -> Body:
    g = wheel_geometry(wheel)
    n, radius = wheel.n, wheel.rim.section_radius
    frame = station_frames(g.angle)
    place = np.zeros((n, 3))
    place[:, RAD] = radius
    pull = g.tension[:, None] * g.axis
    held = with_moment(pull, g.lever)
    return Body(g, ring_of(wheel.rim), frame, place, to_global(frame, g.hub + place), g.length, held,
                 np.zeros_like(held), compression(g.tension, g.axis), _motions(frame, place), wheel.spokes.thread_pitch)


def station_frames(angle: Floats) -> Floats:
    """Axes (lateral, tangential, radial) of stations at these angles, in (right, forward, up): (n, 3, 3) by rows."""
    frame = np.zeros((len(angle), 3, 3))
    s, c = np.sin(angle), np.cos(angle)
    frame[:, LAT, 0] = 1.0
    frame[:, 1, 1], frame[:, 1, 2] = c, -s
    frame[:, RAD, 1], frame[:, RAD, 2] = s, c
    return frame


def to_global(frame: Floats, vector: Floats) -> Floats:
    rotated: Floats = np.einsum("nij,ni->nj", frame, vector)
    return rotated


def to_station(frame: Floats, vector: Floats) -> Floats:
    rotated: Floats = np.einsum("nij,nj->ni", frame, vector)
    return rotated


def _motions(frame: Floats, place: Floats) -> Floats:
    """Displacement of each station, its frame, per unit of the six motions as a whole: (n, 3, 6)."""
    where = to_global(frame, place)
    # Column by column, each axis x where.
    turning = np.zeros((*where.shape, 3))
    x, y, z = where.T
    turning[:, 1, 0], turning[:, 2, 0] = -z, y
    turning[:, 0, 1], turning[:, 2, 1] = z, -x
    turning[:, 0, 2], turning[:, 1, 2] = -y, x
    return np.concatenate([frame, frame @ turning], axis=2)


class PosedSpokes:
    """The spokes in one pose: directions, levers and tensions now."""

    def __init__(self, body: Body, pose: Pose, turns: Turns, *, push: bool = False) -> None:
        g = body.geometry
        hub = to_station(body.frame, (body.hub - pose.move) @ pose.turn)
        self.lever = np.einsum("nij,nj->ni", rotation_matrix(pose.shift[:, 3:]), g.lever)
        run = hub - body.place - pose.shift[:, :3] - self.lever
        self.length = np.sqrt((run**2).sum(axis=1))
        self.axis = run / self.length[:, None]
        raw = np.where(g.present, g.tension + g.stiffness * (self.length - body.rest + body.pitch * turns), 0.0)
        if push:
            self.pulling, self.tension = g.present, raw
            return
        # Zero tension counts as pulling: otherwise a wheel built to no tension would be all slack, and singular.
        self.pulling = g.present & (raw >= -1e-9 * g.stiffness * body.pitch)
        self.tension = np.where(self.pulling, np.maximum(raw, 0.0), 0.0)

    def work(self, stiffness: Floats) -> float:
        return float((self.tension[self.pulling] ** 2 / stiffness[self.pulling]).sum() / 2)

    def force(self) -> Floats:
        """Pull on each station and its moment about the section's centre, (n, 6)."""
        return with_moment(self.tension[:, None] * self.axis, self.lever)


def _around(own: Floats, nxt: Floats, shift: Floats) -> Floats:
    """Ring blocks times station displacements."""
    after = np.concatenate([shift[1:], shift[:1]])
    from_before = np.einsum("nij,ni...->nj...", nxt, shift)
    force: Floats = (np.einsum("nij,nj...->ni...", own, shift) + np.einsum("nij,nj...->ni...", nxt, after)
                     + np.concatenate([from_before[-1:], from_before[:-1]]))
    return force


def _ring_terms(body: Body, shift: Floats) -> tuple[Floats, Floats, float, float]:
    """Elastic force, geometric force per newton, linear and second-order mean hoop strain."""
    ring = body.ring
    elastic = _around(ring.own, ring.next, shift)
    geometric = _around(ring.own_geometric, ring.next_geometric, shift)
    second = float((shift * geometric).sum()) / 2 + float((shift * body.bent).sum())
    return elastic, geometric + body.bent, float((ring.stretch * shift).sum()), second / ring.circumference


@lru_cache(maxsize=8)
def _ring_terms_of(body: Body, pose: Pose) -> tuple[Floats, Floats, float, float]:
    """The same of a pose, whose energy, residual and factor all ask for it; shared, so don't write to it."""
    return _ring_terms(body, pose.shift)


def hoop_compression(body: Body, shift: Floats) -> float:
    _, _, first, second = _ring_terms(body, shift)
    return body.compression - body.ring.rigidity * (first + second)


def energy_of(body: Body, pose: Pose, spokes: PosedSpokes) -> float:
    elastic, _, first, second = _ring_terms_of(body, pose)
    ring = body.ring
    length = ring.circumference
    return (float((pose.shift * elastic).sum()) / 2 + float((pose.shift * body.held).sum())
            - body.compression * second * length
            + ring.rigidity * length * (first + second / 2) * second
            + spokes.work(body.geometry.stiffness))


def residual_of(body: Body, pose: Pose, spokes: PosedSpokes) -> Floats:
    """Force and moment out of balance on every station, (n, 6)."""
    shift, ring = pose.shift, body.ring
    elastic, geometric, first, second = _ring_terms_of(body, pose)
    pressed = body.compression - ring.rigidity * (first + second)
    inner = elastic + body.held - pressed * geometric + ring.rigidity * ring.circumference * second * ring.stretch
    # The ring's forces come from its deformation in the moving frame. Subtracting their resultant makes them
    # self-balanced in the present places of the stations.
    to_spin = tangent_map(shift[:, 3:])
    spin = np.linalg.inv(to_spin) @ body.frame
    now = np.concatenate([_motions(body.frame, body.place + shift[:, :3]),
                          np.concatenate([np.zeros_like(spin), spin], axis=2)], axis=1)
    resultant = np.einsum("nij,ni->j", now, inner)
    carry = np.linalg.solve(np.einsum("nij,nik->jk", now[:, :3], body.whole), resultant)
    inner[:, :3] -= body.whole @ carry
    outer = spokes.force()
    outer[:, 3:] = np.einsum("nij,ni->nj", to_spin, outer[:, 3:])
    return outer - inner


def factor_of(body: Body, pose: Pose, spokes: PosedSpokes, *, at_rest: bool = True) -> Factored:
    """Factor of the wheel in a pose.

    On the way to rest the rim may still be pressed harder than the spokes now pull; the lesser of
    the two keeps the step downhill and is the same once at rest.
    """
    ring = body.ring
    _, geometric, first, second = _ring_terms_of(body, pose)
    pressed = body.compression - ring.rigidity * (first + second)
    if not at_rest:
        pressed = min(pressed, compression(spokes.tension, spokes.axis))
    stiffness = np.where(spokes.pulling, body.geometry.stiffness, 0.0)
    blocks = spoke_stiffness(spokes.axis, spokes.lever, spokes.length, stiffness, spokes.tension)
    factor = factor_wheel(ring, blocks, pressed)
    bent = geometric / ring.circumference
    if not np.any(bent):
        return factor
    # The hoop force follows the rim's shape: (s + b)(s + b)' - s s' of its mean strain s and b.
    hoop = ring.rigidity * ring.circumference
    try:
        return Updated(factor, np.stack([ring.stretch + bent, ring.stretch], axis=2), (hoop, -hoop))
    except Unstable:
        if at_rest:
            raise
        return factor


def shape_load(body: Body, pose: Pose, spokes: PosedSpokes, shape: Floats) -> tuple[Floats, Floats]:
    """What a little more of the rim's own shape (n, 3, m) puts out of balance: forces (n, 6, m), tensions (n, m).

    By its definition a shape stands still at the nominal tensions; what the pulls, along their lines
    now, and the compression exceed those works on it. So does the hoop force that the shifted rim takes up by it.
    """
    g, ring = body.geometry, body.ring
    bent = _around(body.ring.own_geometric, body.ring.next_geometric, bent_to(body.ring, shape))

    def turned(tension: Floats, axis: Floats, length: Floats) -> Floats:
        across = shape - axis[:, :, None] * np.einsum("ni,nim->nm", axis, shape)[:, None]
        pull: Floats = -(tension / length)[:, None, None] * across
        return pull

    tension = np.where(spokes.pulling, g.stiffness, 0.0)[:, None] * np.einsum("ni,nim->nm", g.axis - spokes.axis, shape)
    pull = (turned(spokes.tension, spokes.axis, spokes.length) - turned(g.tension, g.axis, body.rest)
            + spokes.axis[:, :, None] * tension[:, None])
    moment = np.cross(g.lever[:, None], pull.transpose(0, 2, 1)).transpose(0, 2, 1)
    _, geometric, first, second = _ring_terms_of(body, pose)
    longer = np.einsum("nj,njm->m", pose.shift, bent) / ring.circumference
    hoop = -ring.rigidity * (geometric[:, :, None] + ring.circumference * ring.stretch[:, :, None]) * longer
    pressed = -ring.rigidity * (first + second)
    return np.concatenate([pull, moment], axis=1) + pressed * bent + hoop, tension


def moved(body: Body, pose: Pose, change: Floats) -> Pose:
    """The pose after station changes, its motion as a whole handed to the frame."""
    shift = pose.shift + change
    turn, move = pose.turn, pose.move
    square = np.einsum("nij,nik->jk", body.whole, body.whole)
    for _ in range(4):
        whole = np.linalg.solve(square, np.einsum("nij,ni->j", body.whole, shift[:, :3]))
        rotate = rotation_matrix(whole[None, 3:])[0]
        where = to_global(body.frame, body.place + shift[:, :3])
        back = to_station(body.frame, (where - whole[:3]) @ rotate) - body.place
        local = body.frame @ rotate.T @ body.frame.transpose(0, 2, 1)
        spins = rotation_vector(local @ rotation_matrix(shift[:, 3:]))
        shift = np.concatenate([back, spins], axis=1)
        turn, move = turn @ rotate, move + turn @ whole[:3]
        if np.abs(whole).max() < 1e-9:
            break
    return Pose(turn, move, shift)
