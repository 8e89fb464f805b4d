"""A wheel in one pose: displacements of the rim, spoke forces there, energy, residual and tangent stiffness.

Corotational formulation: the rim's rigid-body motion is carried by a moving frame. The displacements left within that
frame are small, and the ring is linear in them except for the work of its hoop force on moderate rotations.
"""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.mechanics.bent import bent_to
from wheelsim.mechanics.response import compression
from wheelsim.mechanics.ring import Ring, ring_of
from wheelsim.mechanics.rotation import Rotations, rotation_vector
from wheelsim.mechanics.structure import (
    Factored,
    Unstable,
    Updated,
    factor_wheel,
    spoke_stiffness,
    with_moment,
)
from wheelsim.wheel.geometry import LAT, RAD, Geometry, wheel_geometry
from wheelsim.wheel.parts import Rim, Wheel

# Of 0, x, y, z, -x, -y, -z: the matrix (3, 3) whose columns are each axis x (x, y, z).
TURNING = np.array([[0, 3, 5], [6, 0, 1], [2, 4, 0]])


@dataclass(frozen=True, eq=False)
class Pose:
    """Displacement of the rim: a rigid-body motion, and displacements of the stations within the moving frame."""

    turn: Floats  # (3, 3) rotation of the moving frame
    move: Floats  # (3,) its translation, in (right, forward, up) [m]
    shift: Floats  # (n, 6) displacement and rotation vector in station frames, free of rigid-body motion [m, rad]


@dataclass(frozen=True, eq=False)
class Body:
    """The constants of one wheel with one own shape of its rim."""

    geometry: Geometry
    ring: Ring
    frame: Floats  # (n, 3, 3) rows: station axes in (right, forward, up)
    place: Floats  # (n, 3) section's centre with the rim's own shape, station frame [m]
    hub: Floats  # (n, 3) hub hole in (right, forward, up) [m]
    rest: Floats  # (n,) distance from seat to hub hole at the nominal tension [m]
    held: Floats  # (n, 6) forces of the ring on its stations in the nominal wheel [N, N m]
    bent: Floats  # (n, 6) force on the stations per newton of compression, from the rim's own shape [1, m]
    compression: float  # hoop compression in the nominal wheel [N]
    motions: Floats  # (3 n, 6) displacements, station after station, per unit of the six rigid-body motions
    pitch: float  # of the spokes' thread [m/turn]

    @cached_property
    def fit(self) -> Floats:
        """Matrix (6, 3 n) that fits a rigid-body motion to displacements of the stations, by least squares."""
        return np.asarray(np.linalg.solve(self.motions.T @ self.motions, self.motions.T), dtype=float)


def body_of(wheel: Wheel, own_shape: Floats | None = None, rim: Rim | None = None) -> Body:
    """The constants of a wheel whose rim has this own shape (2, n), lateral and radial. [m]

    With ``rim``, which differs from the wheel's in its stiffness only, those of the wheel with that rim.
    """
    if own_shape is None or not np.any(own_shape):
        return _true_body(wheel, rim)
    return _bent_body(wheel, own_shape.tobytes(), rim)


@lru_cache(maxsize=64)
def _bent_body(wheel: Wheel, own_shape: bytes, rim: Rim | None) -> Body:
    """The same, the own shape as the bytes of its numbers: a state asks for it again for each of its derivatives."""
    true = _true_body(wheel, rim)
    g = true.geometry
    shape = np.zeros((wheel.n, 3))
    shape[:, LAT], shape[:, RAD] = np.frombuffer(own_shape).reshape(2, wheel.n)
    place = true.place + shape
    run = g.hub - g.lever - shape
    rest = np.linalg.norm(run, axis=1)
    bent = _around(true.ring.own_geometric, true.ring.next_geometric, bent_to(true.ring, shape))
    # The own shape is defined as the deviation that remains at the nominal tensions. So the ring's forces there are
    # those that balance the nominal pulls in their slightly changed directions and the compression of the bent rim.
    pull = g.tension[:, None] * run / rest[:, None]
    held = with_moment(pull, g.lever) + true.compression * bent
    return replace(true, place=place, rest=rest, held=held, bent=bent, motions=_motions(true.frame, place))


@lru_cache(maxsize=64)
def _true_body(wheel: Wheel, rim: Rim | None) -> Body:
    """The constants of a wheel whose rim has no out-of-true of its own."""
    if rim is not None:
        return replace(_true_body(wheel, None), ring=ring_of(rim))
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
    """Axes (lateral, tangential, radial) of stations at angles [rad], in (right, forward, up): (n, 3, 3) by rows."""
    frame = np.zeros((len(angle), 3, 3))
    s, c = np.sin(angle), np.cos(angle)
    frame[:, LAT, 0] = 1.0
    frame[:, 1, 1], frame[:, 1, 2] = c, -s
    frame[:, RAD, 1], frame[:, RAD, 2] = s, c
    return frame


def to_global(frame: Floats, vector: Floats) -> Floats:
    """Vectors (n, 3) from station frames (n, 3, 3) to axes (right, forward, up)."""
    rotated: Floats = np.einsum("nij,ni->nj", frame, vector)
    return rotated


def to_station(frame: Floats, vector: Floats) -> Floats:
    """Vectors (n, 3) from axes (right, forward, up) to station frames (n, 3, 3)."""
    rotated: Floats = np.einsum("nij,nj->ni", frame, vector)
    return rotated


def _motions(frame: Floats, place: Floats) -> Floats:
    """Displacements in station frames, station after station, per unit of the six rigid-body motions: (3 n, 6)."""
    where = to_global(frame, place)
    # Column by column, each axis x where.
    signed = np.zeros((len(where), 7))
    signed[:, 1:4] = where
    np.negative(where, out=signed[:, 4:])
    moved_by: Floats = np.concatenate([frame, frame @ signed.take(TURNING, axis=1)], axis=2).reshape(-1, 6)
    return moved_by


class PosedSpokes:
    """The spokes in one pose.

    Attributes
    ----------
    lever, axis : (n, 3) ndarray
        From the section's centre to the seat [m]; unit vector from seat to hub hole. Station frames.
    length, tension : (n,) ndarray
        Seat to hub hole [m]; 0 where slack or missing [N].
    pulling : (n,) ndarray of bool
        False where slack or missing; with ``push`` False only where missing.
    rotations : Rotations
        Of the stations in the moving frame.
    """

    def __init__(self, body: Body, pose: Pose, turns: Turns, *, push: bool = False) -> None:
        g = body.geometry
        hub = to_station(body.frame, (body.hub - pose.move) @ pose.turn)
        self.rotations = Rotations(pose.shift[:, 3:])
        self.lever = np.einsum("nij,nj->ni", self.rotations.matrices(), g.lever)
        run = hub - body.place - pose.shift[:, :3] - self.lever
        self.length = np.sqrt((run**2).sum(axis=1))
        self.axis = run / self.length[:, None]
        raw = np.where(g.present, g.tension + g.stiffness * (self.length - body.rest + body.pitch * turns), 0.0)
        if push:
            self.pulling, self.tension = g.present, raw
            return
        # Zero tension (to rounding) counts as pulling: otherwise a wheel at no tension would have no spoke stiffness at
        # all, and a singular matrix.
        self.pulling = g.present & (raw >= -1e-9 * g.stiffness * body.pitch)
        self.tension = np.where(self.pulling, np.maximum(raw, 0.0), 0.0)

    def work(self, stiffness: Floats) -> float:
        """Elastic energy of the spokes, from their stiffnesses (n,) [N/m]. [N m]"""
        return float((self.tension[self.pulling] ** 2 / stiffness[self.pulling]).sum() / 2)

    def force(self) -> Floats:
        """Force on each station and its moment about the section's centre, (n, 6). [N, N m]"""
        return with_moment(self.tension[:, None] * self.axis, self.lever)


def _around(own: Floats, nxt: Floats, shift: Floats) -> Floats:
    """The ring's matrix, given by its blocks, times station displacements (n, 6) or (n, 6, m)."""
    after = np.concatenate([shift[1:], shift[:1]])
    from_before = np.einsum("nij,ni...->nj...", nxt, shift)
    force: Floats = (np.einsum("nij,nj...->ni...", own, shift) + np.einsum("nij,nj...->ni...", nxt, after)
                     + np.concatenate([from_before[-1:], from_before[:-1]]))
    return force


@lru_cache(maxsize=8)
def _ring_terms_of(body: Body, pose: Pose) -> tuple[Floats, Floats, float, float]:
    """Elastic force and geometric force per newton of compression, (n, 6); first- and second-order mean hoop strain.

    Energy, residual and factor of a pose all ask for them; shared, so don't write to them.
    """
    ring, shift = body.ring, pose.shift
    own, after, before = ring.both
    round_it = np.concatenate([shift[-1:], shift, shift[:1]])
    both = (np.einsum("nij,nj->ni", own, shift) + np.einsum("nij,nj->ni", after, round_it[2:])
            + np.einsum("nij,ni->nj", before, round_it[:-2]))
    elastic, geometric = both[:, :6], both[:, 6:]
    second = float((shift * geometric).sum()) / 2 + float((shift * body.bent).sum())
    return elastic, geometric + body.bent, float((ring.stretch * shift).sum()), second / ring.circumference


def hoop_compression(body: Body, pose: Pose) -> float:
    """Hoop compression of the rim in a pose. [N]"""
    _, _, first, second = _ring_terms_of(body, pose)
    return body.compression - body.ring.rigidity * (first + second)


def energy_of(body: Body, pose: Pose, spokes: PosedSpokes) -> float:
    """Potential energy of ring and spokes, from that of the nominal ring; the line search lowers it. [N m]"""
    elastic, _, first, second = _ring_terms_of(body, pose)
    ring = body.ring
    length = ring.circumference
    return (float((pose.shift * elastic).sum()) / 2 + float((pose.shift * body.held).sum())
            - body.compression * second * length
            + ring.rigidity * length * (first + second / 2) * second
            + spokes.work(body.geometry.stiffness))


def residual_of(body: Body, pose: Pose, spokes: PosedSpokes) -> Floats:
    """Residual: force and moment out of balance on every station, (n, 6). [N, N m]"""
    shift, ring = pose.shift, body.ring
    elastic, geometric, first, second = _ring_terms_of(body, pose)
    pressed = body.compression - ring.rigidity * (first + second)
    inner = elastic + body.held - pressed * geometric + ring.rigidity * ring.circumference * second * ring.stretch
    # The ring's forces follow from its deformation in the moving frame, where they balance in the undeformed places of
    # the stations. Subtracting their resultant makes them balance in the present places.
    to_spin = spokes.rotations.tangent_maps()
    now = np.zeros((len(shift), 6, 6))
    motions = _motions(body.frame, body.place + shift[:, :3])
    now[:, :3] = motions.reshape(-1, 3, 6)
    now[:, 3:, 3:] = spokes.rotations.inverse_tangent_maps() @ body.frame
    resultant = inner.ravel() @ now.reshape(-1, 6)
    carry = np.linalg.solve(motions.T @ body.motions, resultant)
    inner[:, :3] -= (body.motions @ carry).reshape(-1, 3)
    outer = spokes.force()
    outer[:, 3:] = np.einsum("nij,ni->nj", to_spin, outer[:, 3:])
    return outer - inner


def factor_of(body: Body, pose: Pose, spokes: PosedSpokes, *, at_rest: bool = True) -> Factored:
    """Factored tangent stiffness of the wheel in a pose.

    Before equilibrium is reached (``at_rest`` False) the rim's compression may exceed what the spokes' pulls account
    for. The smaller of the two is then used, so that the matrix stays positive definite and the step lowers the energy;
    in equilibrium they are equal.

    Raises
    ------
    Unstable
        If the stiffness is not positive definite.
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
    # The hoop force depends on first- and second-order mean strain, with gradients s and b. Of its rank-one stiffness
    # (s + b)(s + b)' the ring's elastic matrix already has s s'; the rest is added by a low-rank update.
    hoop = ring.rigidity * ring.circumference
    try:
        return Updated(factor, np.stack([ring.stretch + bent, ring.stretch], axis=2), (hoop, -hoop))
    except Unstable:
        if at_rest:
            raise
        return factor


@lru_cache(maxsize=16)
def _geometric_of(ring: Ring, shape: bytes, count: int) -> Floats:
    """Geometric force (n, 6, m) per newton of compression on the ring bent to ``count`` shapes (n, 3, m), as bytes.

    An estimate asks for those of the same waves in each of its steps; shared, so don't write to them.
    """
    bent = bent_to(ring, np.frombuffer(shape).reshape(-1, 3, count))
    return _around(ring.own_geometric, ring.next_geometric, bent)


def shape_load(body: Body, pose: Pose, spokes: PosedSpokes, shape: Floats) -> tuple[Floats, Floats]:
    """Derivative of the residual (n, 6, m) and of the tensions (n, m) by m own shapes (n, 3, m), displacements held.

    An own shape causes no residual at the nominal tensions, by definition. So what counts is the difference between the
    present and the nominal pulls and compression, and the hoop force that arises because the displaced rim is longer or
    shorter by the shape. [N/m, N; N/m]
    """
    g, ring = body.geometry, body.ring
    bent = _geometric_of(ring, shape.tobytes(), shape.shape[2])

    def turned(tension: Floats, axis: Floats, length: Floats) -> Floats:
        """Change of pulls (n, 3, m) because the shape moves the seats across the spokes and so turns them."""
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
    """The pose after station displacements ``change`` (n, 6), with their rigid-body part moved into the frame."""
    shift = pose.shift + change
    turn, move = pose.turn, pose.move
    for _ in range(4):
        whole = body.fit @ shift[:, :3].ravel()
        turned = Rotations(np.concatenate([whole[None, 3:], shift[:, 3:]])).matrices()
        rotate = turned[0]
        where = to_global(body.frame, body.place + shift[:, :3])
        back = to_station(body.frame, (where - whole[:3]) @ rotate) - body.place
        local = body.frame @ rotate.T @ body.frame.transpose(0, 2, 1)
        spins = rotation_vector(local @ turned[1:])
        shift = np.concatenate([back, spins], axis=1)
        turn, move = turn @ rotate, move + turn @ whole[:3]
        if np.abs(whole).max() < 1e-8:
            break
    return Pose(turn, move, shift)
