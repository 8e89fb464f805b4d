"""Where the wheel comes to rest after any turns: Newton's method on its exact equilibrium.

Spokes are followed exactly: their true length, direction and seat, slack when they would push. The
rim is a linear ring in a frame that moves with it, with the work of its compression on moderate
rotations; so the pulls balance in their current places and directions, however far the rim has moved.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Bools, Floats, Turns
from wheelsim.mechanics.pose import (
    Body,
    Pose,
    PosedSpokes,
    body_of,
    energy_of,
    factor_of,
    hoop_compression,
    moved,
    residual_of,
    shape_load,
    to_global,
    to_station,
)
from wheelsim.mechanics.response import Influence, influence_of
from wheelsim.mechanics.rotation import rotation_vector
from wheelsim.mechanics.structure import Factored, Unstable, pull_direction
from wheelsim.wheel.geometry import LAT, RAD
from wheelsim.wheel.parts import Wheel

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

    wheel: Wheel
    turns: Turns
    own_shape: Floats
    lateral: Floats
    radial: Floats
    twist: Floats
    tension: Floats
    slack: Bools
    compression: float
    pose: Pose
    push: bool = False

    @cached_property
    def edge(self) -> Floats:
        """Lateral place of the rim's edge, where dial and gauge touch, (n,): what is judged. [m]"""
        out = self.wheel.rim.edge_out
        return self.lateral + out * self.twist if out else self.lateral

    @property
    def dish(self) -> float:
        """Mean lateral offset of the rim where the gauge touches. [m]"""
        return float(self.edge.mean())

    @cached_property
    def influence(self) -> Influence:
        """Influence of small further turns; slack spokes stay slack, unless they may push."""
        frame = body_of(self.wheel, self.own_shape).frame
        # The rim's frame is tilted by what the turns did: sideways in it is a little up or down for the hub.
        tilted: Floats = frame @ self.pose.turn @ frame.transpose(0, 2, 1)
        return influence_of(*self.factored, self.wheel.spokes.thread_pitch, tilted, self.wheel.rim.edge_out)

    @cached_property
    def factored(self) -> tuple[Factored, Floats, Floats, Floats]:
        """The stiffness as it stands, factored, in the rim's frame; direction, lever and stiffness of the spokes."""
        body = body_of(self.wheel, self.own_shape)
        spokes = PosedSpokes(body, self.pose, self.turns, push=self.push)
        stiffness = np.where(spokes.pulling, body.geometry.stiffness, 0.0)
        return factor_of(body, self.pose, spokes), spokes.axis, spokes.lever, stiffness

    def shape_influence(self, waves: ArrayLike) -> tuple[Floats, Floats, Floats]:
        """Influence of a little more of the rim's own shape.

        Parameters
        ----------
        waves : (n, m) array_like
            Shapes at the stations.

        Returns
        -------
        edge, radial, tension : (n, 2 m) ndarray
            Change per unit of each shape, lateral first, then radial; lateral at the rim's edge. [m/m, N/m]
        """
        n, m = np.shape(waves)
        body = body_of(self.wheel, self.own_shape)
        spokes = PosedSpokes(body, self.pose, self.turns, push=self.push)
        shape = np.zeros((n, 3, 2 * m))
        shape[:, LAT, :m] = shape[:, RAD, m:] = waves
        load, tension = shape_load(body, self.pose, spokes, shape)
        shift = factor_of(body, self.pose, spokes).solve(load)
        stiffness = np.where(spokes.pulling, body.geometry.stiffness, 0.0)
        pull = pull_direction(spokes.axis, spokes.lever)
        tension = tension - stiffness[:, None] * (pull[:, None, :] @ shift)[:, 0]
        edge = shape[:, LAT] + shift[:, LAT] + self.wheel.rim.edge_out * shift[:, 4]
        return edge, shape[:, RAD] + shift[:, RAD], tension

    def resultant(self) -> Floats:
        """Resultant force and moment about the hub's middle of all spoke pulls where they now act: (6,).

        Axes (right, forward, up). [N, N m] Zero at rest, to rounding.
        """
        body = body_of(self.wheel, self.own_shape)
        spokes = PosedSpokes(body, self.pose, self.turns)
        pull = to_global(body.frame, spokes.tension[:, None] * spokes.axis)
        at = to_global(body.frame, body.place + self.pose.shift[:, :3] + spokes.lever)
        # In the frame that moves with the rim; the hub's middle as seen from it.
        moment = np.cross(at + self.pose.move @ self.pose.turn, pull).sum(axis=0)
        return np.concatenate([self.pose.turn @ pull.sum(axis=0), self.pose.turn @ moment])


def spokes_put_in(state: State) -> State:
    """The state with its missing spokes replaced by new ones, drawn up just short of pulling.

    Parameters
    ----------
    state : State

    Returns
    -------
    State
        Of the complete wheel.
    """
    old = state.wheel
    wheel = replace(old, spokes=replace(old.spokes, missing=frozenset()))
    body = body_of(wheel, state.own_shape)
    g = body.geometry
    length = PosedSpokes(body, state.pose, state.turns).length
    turns = state.turns.copy()
    for spoke in old.spokes.missing:
        k = spoke - 1
        turns[k] = -(g.tension[k] / g.stiffness[k] + length[k] - body.rest[k]) / body.pitch
    return equilibrium(wheel, turns, state.own_shape, start=replace(state, wheel=wheel, turns=turns))


def _secant(factor: Factored, memory: list[tuple[Floats, Floats]], residual: Floats) -> Floats:
    """Newton's step, corrected by what the last steps showed the tangent to leave out.

    The tangent leaves out how the moving frame's share of the inner forces changes; that matters
    when the rim is far from its place.

    References
    ----------
    J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., 2006, algorithm 7.4 (two-loop recursion).
    """
    kept = [(s, y, along) for s, y in memory if (along := float((s * y).sum())) > 0]
    shares = []
    for s, y, along in reversed(kept):
        share = float((s * residual).sum()) / along
        residual = residual - share * y
        shares.append(share)
    change = factor.solve(residual)
    for (s, y, along), share in zip(kept, reversed(shares), strict=True):
        change = change + (share - float((y * change).sum()) / along) * s
    return change


def _size(body: Body, residual: Floats) -> float:
    """Largest force out of balance at a station or over the whole rim, moments by the rim's radius. [N]"""
    radius = body.place[0, RAD]
    whole = np.abs(np.einsum("nij,ni->j", body.whole, residual[:, :3])) / np.repeat([1.0, radius], 3)
    here = float(np.abs(residual[:, :3]).max() + np.abs(residual[:, 3:]).max() / radius)
    return max(here, float(whole.max()) / 3)


def _newton(body: Body, pose: Pose, turns: Turns, push: bool = False) -> tuple[Pose, PosedSpokes, list[float]]:
    """The pose at rest after these turns, starting from a near one; energies of the way beside it."""
    scale = max(float(body.geometry.tension.max()), float(body.geometry.stiffness.max()) * body.pitch * 0.1)
    # Rounding of a station's place, times the ring's stiffness, is the smallest residual there can be.
    noise = 8 * np.finfo(float).eps * float(np.abs(body.ring.own[:, :3, :3]).max()) * body.place[0, RAD]
    tolerance = max(TOLERANCE * scale, noise)
    sizes = []
    spokes = PosedSpokes(body, pose, turns, push=push)
    energies = [energy_of(body, pose, spokes)]
    memory: list[tuple[Floats, Floats]] = []  # steps, and how far each brought the residual down
    last: tuple[Floats, Floats] | None = None  # the last step, and the residual before it
    for _ in range(MOST_ITERATIONS):
        residual = residual_of(body, pose, spokes)
        sizes.append(_size(body, residual))
        stalled = len(sizes) > 8 and min(sizes[-4:]) > 0.5 * min(sizes[:-4]) and sizes[-1] < 30 * tolerance
        if sizes[-1] < tolerance or stalled:
            factor_of(body, pose, spokes)  # at rest, and stable
            return pose, spokes, energies
        if last is not None:
            memory = [*memory[-MEMORY:], (last[0], last[1] - residual)]
        change = _secant(factor_of(body, pose, spokes, at_rest=False), memory, residual)
        change *= min(1.0, LARGEST_STEP / np.abs(change[:, :3]).max())
        gain = float((change * residual).sum())
        step = 1.0
        while True:
            tried = moved(body, pose, step * change)
            now = PosedSpokes(body, tried, turns, push=push)
            energy = energy_of(body, tried, now)
            # Near rest the change of energy is rounding, and only the residual tells whether it converges.
            if energy <= energies[-1] - 1e-4 * step * gain or gain < 1e-9 * abs(energy) or step < 1e-3:
                break
            step /= 2
        pose, spokes, last = tried, now, (step * change, residual)
        energies.append(energy)
        if np.abs(pose.shift[:, :3]).max() > FURTHEST:
            raise Unstable("the rim folds")
    raise Unstable("no equilibrium found")


def equilibrium(wheel: Wheel, turns: ArrayLike | None = None, own_shape: ArrayLike | None = None,
                start: State | None = None, *, push: bool = False) -> State:
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
    body = body_of(wheel, shape)
    if start is None:
        begin, done = Pose(np.eye(3), np.zeros(3), np.zeros((n, 6))), np.zeros(n)
    else:
        begin, done = start.pose, start.turns
    try:
        pose, spokes, _ = _newton(body, begin, turns, push)
    except Unstable:
        # Newton failed: follow the wheel in eighths of the turns (continuation) before giving up.
        pose = begin
        for part in np.linspace(0, 1, 9)[0 if start is None else 1:]:
            pose, spokes, _ = _newton(body, pose, done + part * (turns - done), push)
    where = to_global(body.frame, body.place + pose.shift[:, :3]) @ pose.turn.T + pose.move
    at = to_station(body.frame, where)
    tension = np.where(np.abs(spokes.tension) < 1e-6, 0.0, spokes.tension)
    return State(
        wheel=wheel, turns=turns, own_shape=shape,
        lateral=at[:, LAT], radial=at[:, RAD] - wheel.rim.section_radius,
        twist=pose.shift[:, 4] + (body.frame @ rotation_vector(pose.turn[None])[0])[:, 1], tension=tension,
        slack=body.geometry.present & (tension <= 0),
        compression=hoop_compression(body, pose.shift), pose=pose, push=push,
    )
