"""Where the wheel comes to rest after any turns: Newton's method on its exact equilibrium.

Spokes are followed exactly: their true length, direction and seat, slack when they would push. The
rim is a linear ring in a frame that moves with it, with the work of its compression on moderate
rotations; so the pulls balance in their current places and directions, however far the rim has moved.
"""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from wheelsim.mechanics.influence import compression, influence_of
from wheelsim.mechanics.ring import ring_of
from wheelsim.mechanics.rotation import rotation_matrix, rotation_vector, tangent_map
from wheelsim.mechanics.structure import Factor, Unstable, Updated, factor_wheel, spoke_stiffness
from wheelsim.wheel.geometry import LAT, RAD, wheel_geometry

TOLERANCE = 1e-10  # residual of a station, and of all together, over the largest nominal spoke force
MOST_ITERATIONS = 40
MEMORY = 6  # past steps that correct the tangent
LARGEST_STEP = 2e-3  # [m] a Newton step is cut to this, so that slack spokes come and go in order
FURTHEST = 0.08  # [m] beyond this the rim has folded, whatever the arithmetic says


@dataclass(frozen=True, eq=False)
class State:
    """A wheel at rest.

    Attributes
    ----------
    turns : (n,) ndarray
        Turns from the true, centred, nominal wheel; plus tightens. [turn]
    lateral, radial : (n,) ndarray
        Of the section's centre: from the hub's middle, plus right; from the nominal wheel, plus
        outward. The rim's own shape is in it. [m]
    twist : (n,) ndarray
        Rotation of the section about its tangent, by the right-hand rule toward rising numbers: a point
        further out moves right by it. [rad]
    tension : (n,) ndarray
        [N]
    slack : (n,) ndarray of bool
        Present but not pulling, to within a millionth of a newton.
    compression : float
        Mean hoop compression of the rim. [N]
    push : bool
        Whether spokes were let push; tensions are then negative where they do.
    """

    wheel: object
    turns: np.ndarray
    own_shape: np.ndarray
    lateral: np.ndarray
    radial: np.ndarray
    twist: np.ndarray
    tension: np.ndarray
    slack: np.ndarray
    compression: float
    pose: object
    push: bool = False

    @property
    def dish(self):
        """Mean lateral offset of the rim. [m]"""
        return float(self.lateral.mean())

    @cached_property
    def influence(self):
        """Influence of small further turns; slack spokes stay slack, unless they may push."""
        body = _body(self.wheel, self.own_shape)
        spokes = _Spokes(body, self.pose, self.turns, push=self.push)
        factor = _factor(body, self.pose, spokes)
        stiffness = np.where(spokes.pulling, body.geometry.stiffness, 0.0)
        return influence_of(factor, spokes.axis, spokes.lever, stiffness, self.wheel.spokes.thread_pitch)


    def resultant(self):
        """Resultant force and moment about the hub's middle of all spoke pulls where they now act: (6,).

        Axes (right, forward, up). [N, N m] Zero at rest, to rounding.
        """
        body = _body(self.wheel, self.own_shape)
        spokes = _Spokes(body, self.pose, self.turns)
        pull = _to_global(body.frame, spokes.tension[:, None] * spokes.axis)
        at = _to_global(body.frame, body.place + self.pose.shift[:, :3] + spokes.lever)
        # In the frame that moves with the rim; the hub's middle as seen from it.
        moment = np.cross(at + self.pose.move @ self.pose.turn, pull).sum(axis=0)
        return np.concatenate([self.pose.turn @ pull.sum(axis=0), self.pose.turn @ moment])


@dataclass(frozen=True, eq=False)
class _Pose:
    """Where the rim is: moved and turned as a whole, then shifted station by station.

    ``turn`` (3, 3) and ``move`` (3,) carry the reference frame; ``shift`` (n, 6) displacement and
    rotation vector in it, station frames, free of any motion as a whole.
    """

    turn: np.ndarray
    move: np.ndarray
    shift: np.ndarray


@dataclass(frozen=True, eq=False)
class _Body:
    """What stays the same while the wheel moves."""

    geometry: object
    ring: object
    frame: np.ndarray  # (n, 3, 3) rows: station axes in (right, forward, up)
    place: np.ndarray  # (n, 3) section's centre with the rim's own shape, station frame
    hub: np.ndarray  # (n, 3) hub hole in (right, forward, up)
    rest: np.ndarray  # (n,) seat to hub hole at the nominal tension
    held: np.ndarray  # (n, 6) the ring's own forces in the nominal wheel
    bent: np.ndarray  # (n, 6) geometric force per newton of compression on the rim's own shape
    compression: float
    whole: np.ndarray  # (n, 3, 6) displacements of the six motions as a whole
    pitch: float


def _body(wheel, own_shape=None):
    if own_shape is None or not np.any(own_shape):
        return _true_body(wheel)
    true = _true_body(wheel)
    g = true.geometry
    shape = np.zeros((wheel.n, 3))
    shape[:, LAT], shape[:, RAD] = own_shape
    place = true.place + shape
    run = g.hub - g.lever - shape
    rest = np.linalg.norm(run, axis=1)
    bent = _around(true.ring.own_geometric, true.ring.next_geometric, _bent_to(true.ring, shape))
    # By its definition the shape stands still at the nominal tensions: the ring's own forces there
    # hold the pulls as they then run, and the compression on the bent rim.
    pull = g.tension[:, None] * run / rest[:, None]
    held = np.concatenate([pull, np.cross(g.lever, pull)], axis=1) + true.compression * bent
    return replace(true, place=place, rest=rest, held=held, bent=bent, whole=_motions(true.frame, place))


def _bent_to(ring, shape):
    """Displacements and rotations (n, 6) of the ring bent, with least work, to a shape (n, 3). [m]"""
    own = ring.own.copy()
    firm = 1e6 * np.abs(own).max()
    load = np.zeros((len(own), 6))
    for axis in (LAT, RAD):
        own[:, axis, axis] += firm
        load[:, axis] = firm * shape[:, axis]
    own[:, 1, 1] += 1e-9 * np.abs(ring.own).max()
    return Factor(own, ring.next).solve(load)


@lru_cache(maxsize=64)
def _true_body(wheel):
    g = wheel_geometry(wheel)
    n, radius = wheel.n, wheel.rim.section_radius
    frame = np.zeros((n, 3, 3))
    s, c = np.sin(g.angle), np.cos(g.angle)
    frame[:, LAT, 0] = 1.0
    frame[:, 1, 1], frame[:, 1, 2] = c, -s
    frame[:, RAD, 1], frame[:, RAD, 2] = s, c
    place = np.zeros((n, 3))
    place[:, RAD] = radius
    pull = g.tension[:, None] * g.axis
    held = np.concatenate([pull, np.cross(g.lever, pull)], axis=1)
    return _Body(g, ring_of(wheel.rim), frame, place, _to_global(frame, g.hub + place), g.length, held,
                 np.zeros_like(held), compression(g.tension, g.axis), _motions(frame, place), wheel.spokes.thread_pitch)


def _to_global(frame, vector):
    return np.einsum("nij,ni->nj", frame, vector)


def _to_station(frame, vector):
    return np.einsum("nij,nj->ni", frame, vector)


def _motions(frame, place):
    """Displacement of each station, its frame, per unit of the six motions as a whole: (n, 3, 6)."""
    where = _to_global(frame, place)
    turning = np.stack([np.cross(axis, where) for axis in np.eye(3)], axis=2)
    return np.concatenate([frame, frame @ turning], axis=2)


class _Spokes:
    """The spokes in one pose: directions, levers and tensions now."""

    def __init__(self, body, pose, turns, *, push=False):
        g = body.geometry
        hub = _to_station(body.frame, (body.hub - pose.move) @ pose.turn)
        self.lever = np.einsum("nij,nj->ni", rotation_matrix(pose.shift[:, 3:]), g.lever)
        run = hub - body.place - pose.shift[:, :3] - self.lever
        self.length = np.linalg.norm(run, axis=1)
        self.axis = run / self.length[:, None]
        raw = np.where(g.present, g.tension + g.stiffness * (self.length - body.rest + body.pitch * turns), 0.0)
        if push:
            self.pulling, self.tension = g.present, raw
            return
        # On the edge counts as pulling: a wheel built to no tension is not a heap of slack spokes.
        self.pulling = g.present & (raw >= -1e-9 * g.stiffness * body.pitch)
        self.tension = np.where(self.pulling, np.maximum(raw, 0.0), 0.0)

    def energy(self, stiffness):
        return float(np.sum(self.tension[self.pulling] ** 2 / stiffness[self.pulling]) / 2)

    def force(self):
        """Pull on each station and its moment about the section's centre, (n, 6)."""
        pull = self.tension[:, None] * self.axis
        return np.concatenate([pull, np.cross(self.lever, pull)], axis=1)


def _around(own, nxt, shift):
    """Ring blocks times station displacements."""
    after = np.concatenate([shift[1:], shift[:1]])
    from_before = np.einsum("nij,ni->nj", nxt, shift)
    return (np.einsum("nij,nj->ni", own, shift) + np.einsum("nij,nj->ni", nxt, after)
            + np.concatenate([from_before[-1:], from_before[:-1]]))


def _ring_terms(body, shift):
    """Elastic force, geometric force per newton, linear and second-order mean hoop strain."""
    ring = body.ring
    elastic = _around(ring.own, ring.next, shift)
    geometric = _around(ring.own_geometric, ring.next_geometric, shift)
    second = float(np.sum(shift * geometric)) / 2 + float(np.sum(shift * body.bent))
    return elastic, geometric + body.bent, float(np.sum(ring.stretch * shift)), second / ring.circumference


def _compression(body, shift):
    _, _, first, second = _ring_terms(body, shift)
    return body.compression - body.ring.rigidity * (first + second)


def _energy(body, pose, spokes):
    elastic, _, first, second = _ring_terms(body, pose.shift)
    ring = body.ring
    length = ring.circumference
    return (float(np.sum(pose.shift * elastic)) / 2 + float(np.sum(pose.shift * body.held))
            - body.compression * second * length
            + ring.rigidity * length * (first + second / 2) * second
            + spokes.energy(body.geometry.stiffness))


def _residual(body, pose, spokes):
    """Force and moment out of balance on every station, (n, 6)."""
    shift, ring = pose.shift, body.ring
    elastic, geometric, first, second = _ring_terms(body, shift)
    pressed = body.compression - ring.rigidity * (first + second)
    inner = elastic + body.held - pressed * geometric + ring.rigidity * ring.circumference * second * ring.stretch
    # The ring's forces are those of its deformation; what the moving frame takes up keeps them
    # free of any resultant in the present places of the stations.
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


def _factor(body, pose, spokes, *, at_rest=True):
    """Factor of the wheel in a pose.

    On the way to rest the rim may still be pressed harder than the spokes now pull; the lesser of
    the two keeps the step downhill and is the same once at rest.
    """
    ring, shift = body.ring, pose.shift
    _, geometric, first, second = _ring_terms(body, shift)
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


def _moved(body, pose, change):
    """The pose after station changes, its motion as a whole handed to the frame."""
    shift = pose.shift + change
    turn, move = pose.turn, pose.move
    square = np.einsum("nij,nik->jk", body.whole, body.whole)
    for _ in range(4):
        whole = np.linalg.solve(square, np.einsum("nij,ni->j", body.whole, shift[:, :3]))
        rotate = rotation_matrix(whole[None, 3:])[0]
        where = _to_global(body.frame, body.place + shift[:, :3])
        back = _to_station(body.frame, (where - whole[:3]) @ rotate) - body.place
        local = body.frame @ rotate.T @ body.frame.transpose(0, 2, 1)
        spins = rotation_vector(local @ rotation_matrix(shift[:, 3:]))
        shift = np.concatenate([back, spins], axis=1)
        turn, move = turn @ rotate, move + turn @ whole[:3]
        if np.abs(whole).max() < 1e-9:
            break
    return _Pose(turn, move, shift)


def _secant(factor, memory, residual):
    """Newton's step, corrected by what the last steps showed the tangent to leave out.

    The tangent leaves out how the moving frame's share of the inner forces changes; that matters
    when the rim is far from its place.

    References
    ----------
    J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., 2006, algorithm 7.4 (two-loop recursion).
    """
    kept = [(s, y, float(np.sum(s * y))) for s, y in memory if np.sum(s * y) > 0]
    shares = []
    for s, y, along in reversed(kept):
        share = float(np.sum(s * residual)) / along
        residual = residual - share * y
        shares.append(share)
    change = factor.solve(residual)
    for (s, y, along), share in zip(kept, reversed(shares), strict=True):
        change = change + (share - float(np.sum(y * change)) / along) * s
    return change


def _size(body, residual):
    """Largest force out of balance at a station or over the whole rim, moments by the rim's radius. [N]"""
    radius = body.place[0, RAD]
    whole = np.abs(np.einsum("nij,ni->j", body.whole, residual[:, :3])) / np.repeat([1.0, radius], 3)
    return max(np.abs(residual[:, :3]).max() + np.abs(residual[:, 3:]).max() / radius, float(whole.max()) / 3)


def _newton(body, pose, turns, push=False):
    """The pose at rest after these turns, starting from a near one; energies of the way beside it."""
    scale = max(float(body.geometry.tension.max()), float(body.geometry.stiffness.max()) * body.pitch * 0.1)
    # A station's place is known to its last binary digit only; times the ring's stiffness that is a force.
    noise = 8 * np.finfo(float).eps * float(np.abs(body.ring.own[:, :3, :3]).max()) * body.place[0, RAD]
    tolerance = max(TOLERANCE * scale, noise)
    sizes = []
    spokes = _Spokes(body, pose, turns, push=push)
    energies, memory, last = [_energy(body, pose, spokes)], [], None
    for _ in range(MOST_ITERATIONS):
        residual = _residual(body, pose, spokes)
        sizes.append(_size(body, residual))
        stalled = len(sizes) > 8 and min(sizes[-4:]) > 0.5 * min(sizes[:-4]) and sizes[-1] < 30 * tolerance
        if sizes[-1] < tolerance or stalled:
            _factor(body, pose, spokes)  # at rest, and stable
            return pose, spokes, energies
        if last is not None:
            memory = [*memory[-MEMORY:], (last[0], last[1] - residual)]
        change = _secant(_factor(body, pose, spokes, at_rest=False), memory, residual)
        change *= min(1.0, LARGEST_STEP / np.abs(change[:, :3]).max())
        gain = float(np.sum(change * residual))
        step = 1.0
        while True:
            tried = _moved(body, pose, step * change)
            now = _Spokes(body, tried, turns, push=push)
            energy = _energy(body, tried, now)
            # Near rest the energy is all rounding; the residual alone tells.
            if energy <= energies[-1] - 1e-4 * step * gain or gain < 1e-9 * abs(energy) or step < 1e-3:
                break
            step /= 2
        pose, spokes, last = tried, now, (step * change, residual)
        energies.append(energy)
        if np.abs(pose.shift[:, :3]).max() > FURTHEST:
            raise Unstable("the rim folds")
    raise Unstable("no equilibrium found")


def equilibrium(wheel, turns=None, own_shape=None, start=None, *, push=False):
    """The wheel at rest after turns from its true, centred, nominal state.

    Parameters
    ----------
    wheel : Wheel
    turns : (n,) array_like, optional
        Plus tightens. [turn]
    own_shape : (2, n) array_like, optional
        Lateral and radial out-of-true of the rim itself, as it would stand with nominal tensions. [m]
    start : State, optional
        A state of the same wheel and shape, near, to start from.
    push : bool
        Spokes may push: not a wheel that can be, but the same as the real one wherever all spokes
        pull, and smooth on the way there from slack ones.

    Returns
    -------
    State

    Raises
    ------
    Unstable
        When no stable equilibrium exists: tension past buckling, or spokes too slack to hold the rim.

    Notes
    -----
    The rim bends linearly within its moving frame; rotations within it must stay moderate (a few
    degrees). Its hoop force is the same all round.
    """
    n = wheel.n
    turns = np.zeros(n) if turns is None else np.asarray(turns, dtype=float)
    shape = np.zeros((2, n)) if own_shape is None else np.asarray(own_shape, dtype=float)
    body = _body(wheel, shape)
    if start is None:
        begin, done = _Pose(np.eye(3), np.zeros(3), np.zeros((n, 6))), np.zeros(n)
    else:
        begin, done = start.pose, start.turns
    try:
        pose, spokes, _ = _newton(body, begin, turns, push)
    except Unstable:
        # Too far for one go: follow the wheel in eighths of the way before giving up.
        pose = begin
        for part in np.linspace(0, 1, 9)[0 if start is None else 1:]:
            pose, spokes, _ = _newton(body, pose, done + part * (turns - done), push)
    where = _to_global(body.frame, body.place + pose.shift[:, :3]) @ pose.turn.T + pose.move
    at = _to_station(body.frame, where)
    tension = np.where(np.abs(spokes.tension) < 1e-6, 0.0, spokes.tension)
    return State(
        wheel=wheel, turns=turns, own_shape=shape,
        lateral=at[:, LAT], radial=at[:, RAD] - wheel.rim.section_radius,
        twist=pose.shift[:, 4] + (body.frame @ rotation_vector(pose.turn[None])[0])[:, 1], tension=tension,
        slack=body.geometry.present & (tension <= 0),
        compression=_compression(body, pose.shift), pose=pose, push=push,
    )
