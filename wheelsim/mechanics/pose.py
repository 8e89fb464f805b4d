"""A wheel in one pose: displacements of the rim, and the spokes there.

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
from wheelsim.mechanics.rotation import Rotations, of_one, quaternions, vectors_of
from wheelsim.mechanics.structure import CROSSES, with_moment
from wheelsim.wheel.geometry import LAT, RAD, Geometry, wheel_geometry
from wheelsim.wheel.parts import Rim, Wheel

# Rigid-body motion that may be left in the stations' displacements. [m, rad] Own choice: it changes forces by less than
# 1e-6 N, and rounding is below it.
RIGID = 1e-13


@dataclass(frozen=True, eq=False)
class Pose:
    """Displacement of the rim: a rigid-body motion, and displacements of the stations within the moving frame."""

    turn: Floats  # (3, 3) rotation of the moving frame
    move: Floats  # (3,) its translation, in (right, forward, up) [m]
    shift: Floats  # (n, 6) displacement and rotation vector in station frames, free of rigid-body motion [m, rad]

    @cached_property
    def rotations(self) -> Rotations:
        """Of the stations in the moving frame."""
        return Rotations(self.shift[:, 3:])


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
    def where(self) -> Floats:
        """``place`` in (right, forward, up), (n, 3). [m]"""
        return to_global(self.frame, self.place)

    @cached_property
    def fit(self) -> Floats:
        """Matrix (6, 3 n) that fits a rigid-body motion to displacements, (right, forward, up), by least squares."""
        fit = np.linalg.solve(self.motions.T @ self.motions, self.motions.T).reshape(6, -1, 3)
        fitted: Floats = (fit.transpose(1, 0, 2) @ self.frame).transpose(1, 0, 2).reshape(6, -1)
        return fitted


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
    _, bent = true.ring.forces(bent_to(true.ring, shape))
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
    return _motions_of(frame, to_global(frame, place)).reshape(-1, 6)


def _motions_of(frame: Floats, where: Floats) -> Floats:
    """The same of stations at ``where``, in (right, forward, up): (n, 3, 6)."""
    out = np.empty((len(where), 3, 6))
    out[:, :, :3] = frame
    np.matmul(frame, (where @ -CROSSES).reshape(-1, 3, 3), out=out[:, :, 3:])
    return out


@lru_cache(maxsize=8)
def motions_at(body: Body, pose: Pose) -> tuple[Floats, Floats]:
    """Rigid-body motions of the rim as it stands in a pose, in the moving frame.

    Changes of ``shift`` (n, 6, 6) per unit of each of the six motions; and ``Body.motions`` transposed times their
    displacements, (6, 6). Residual and tangent of a pose both ask for them; shared, so don't write to them.
    """
    frame = body.frame
    out = np.zeros((len(frame), 6, 6))
    out[:, :3] = now = _motions_of(frame, to_global(frame, body.place + pose.shift[:, :3]))
    out[:, 3:, 3:] = pose.rotations.inverse_tangent_maps() @ frame
    return out, body.motions.T @ now.reshape(-1, 6)


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
    """

    def __init__(self, body: Body, pose: Pose, turns: Turns, *, push: bool = False) -> None:
        g = body.geometry
        self._firm = g.stiffness
        hub = to_station(body.frame, (body.hub - pose.move) @ pose.turn)
        self.lever = np.einsum("nij,nj->ni", pose.rotations.matrices(), g.lever)
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

    @property
    def stiffness(self) -> Floats:
        """Axial stiffness of each, 0 where it doesn't pull, (n,). [N/m]"""
        return np.where(self.pulling, self._firm, 0.0)

    def work(self) -> float:
        """Elastic energy of the spokes. [N m]"""
        return float((self.tension[self.pulling] ** 2 / self._firm[self.pulling]).sum() / 2)

    def force(self) -> Floats:
        """Force on each station and its moment about the section's centre, (n, 6). [N, N m]"""
        return with_moment(self.tension[:, None] * self.axis, self.lever)


def moved(body: Body, pose: Pose, change: Floats) -> Pose:
    """The pose after station displacements ``change`` (n, 6), with their rigid-body part moved into the frame."""
    shift = pose.shift + change
    # In (right, forward, up) of the moving frame: places of the stations, and quaternions of their rotations.
    local = np.empty((len(shift), 2, 3))
    turned = quaternions(shift[:, 3:])
    np.add(body.place, shift[:, :3], out=local[:, 0])
    local[:, 1] = turned[:, 1:]
    both = local @ body.frame
    where, turned[:, 1:] = both[:, 0], both[:, 1]
    turn, move = pose.turn, pose.move
    for _ in range(6):
        whole = body.fit @ (where - body.where).ravel()
        if max(whole.max(), -whole.min()) < RIGID:
            break
        rotate, back = of_one(*whole[3:].tolist())
        where = (where - whole[:3]) @ rotate
        turned = turned @ back
        turn, move = turn @ rotate, move + turn @ whole[:3]
    both[:, 0], both[:, 1] = where, turned[:, 1:]
    local = both @ body.frame.transpose(0, 2, 1)
    turned[:, 1:] = local[:, 1]
    return Pose(turn, move, np.concatenate([local[:, 0] - body.place, vectors_of(turned)], axis=1))
