"""Static equilibrium of the wheel after any turns: Newton's method with large displacements.

Spokes are modelled exactly: current length, direction and seat, no force where they would have to push. The rim is a
linear elastic ring in a frame that moves with it (corotational formulation); the work that the hoop compression does on
moderate rotations is added (second-order theory). So the spokes' pulls balance in their current places and directions,
however far the rim has moved.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Bools, Floats, Turns
from wheelsim.mechanics.forces import energy_of, hoop_compression, residual_of, shape_load
from wheelsim.mechanics.pose import Body, Pose, PosedSpokes, body_of, moved, to_global, to_station
from wheelsim.mechanics.response import Influence, influence_of
from wheelsim.mechanics.rotation import rotation_vector
from wheelsim.mechanics.structure import Factored, Fails, Unstable, pull_direction
from wheelsim.mechanics.tangent import factor_of
from wheelsim.wheel.geometry import LAT, RAD
from wheelsim.wheel.parts import Rim, Wheel

# Largest force out of balance at a station or on the whole rim, over the largest nominal spoke force. Own choice: some
# 1e-6 N, far below anything measured, and still above the rounding of double precision.
TOLERANCE = 1e-9
# The factored tangent of the step before is kept (modified Newton method) once the residual, over that force, is below
# ``KEPT``, as long as each step leaves less than ``SLOW`` of it. That of the start always does for the first step. Own
# choice: some newton, the fastest of several.
KEPT = 1e-3
SLOW = 0.1
MOST_ITERATIONS = 40  # of Newton; own choice: usually fewer than ten, more when spokes go slack
LARGEST_STEP = 2e-3  # [m]; own choice: Newton steps are cut to this, so that few spokes turn slack or taut in one step
FURTHEST = 0.08  # [m]; own choice: a rim displaced further has folded and the model no longer holds


@dataclass(frozen=True, eq=False)
class State:
    """A wheel in static equilibrium.

    Attributes
    ----------
    wheel : Wheel
    turns : (n,) ndarray
        Turns from the true, centred, nominal wheel; plus tightens. [turn]
    own_shape : (2, n) ndarray
        Lateral and radial out-of-true of the rim itself, as given to ``equilibrium``. [m]
    lateral, radial : (n,) ndarray
        Position of the section's centre at each spoke: from the hub's middle, plus right; from the nominal wheel, plus
        outward. Includes the rim's own shape. [m]
    twist : (n,) ndarray
        Rotation of the rim's section about the tangent, right-hand rule toward rising spoke numbers: positive twist
        moves a point further out to the right. [rad]
    tension : (n,) ndarray
        Of each spoke. [N]
    slack : (n,) ndarray of bool
        Spoke present but not pulling, to within 1e-6 N.
    compression : float
        Mean hoop compression of the rim. [N]
    pose : Pose
        Displacements of the solution; a start for the next one.
    push : bool
        Whether spokes were allowed to push; their tensions are then negative.
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
        """Lateral position of the rim's edge, where dial and gauge touch, (n,); true and dish are judged there. [m]"""
        out = self.wheel.rim.edge_out
        return self.lateral + out * self.twist if out else self.lateral

    @property
    def dish(self) -> float:
        """Mean lateral position of the rim's edge from the hub's middle, plus right. [m]"""
        return float(self.edge.mean())

    @cached_property
    def influence(self) -> Influence:
        """Linear effect of small further turns; a slack spoke is taken to stay slack (unless ``push``)."""
        return influence_of(*self.factored, self.wheel.spokes.thread_pitch, self._tilted, self.wheel.rim.edge_out)

    @property
    def _tilted(self) -> Floats:
        """Rotation of each station's displacement to the hub's axes, (n, 3, 3).

        The moving frame is tilted against them, so its lateral direction has a small radial part there.
        """
        frame = body_of(self.wheel, self.own_shape).frame
        tilted: Floats = frame @ self.pose.turn @ frame.transpose(0, 2, 1)
        return tilted

    @cached_property
    def factored(self) -> tuple[Factored, Floats, Floats, Floats]:
        """The tangent stiffness, factored, in the moving frame; then direction, lever and stiffness of the spokes.

        ``equilibrium`` leaves here what it has checked the stability with.
        """
        body = body_of(self.wheel, self.own_shape)
        spokes = PosedSpokes(body, self.pose, self.turns, push=self.push)
        return factor_of(body, self.pose, spokes), spokes.axis, spokes.lever, spokes.stiffness

    @property
    def factor_at_hand(self) -> Factored | None:
        """The factored tangent stiffness, if it is worked out already."""
        factored: tuple[Factored, Floats, Floats, Floats] | None = self.__dict__.get("factored")
        return factored[0] if factored else None

    def shape_influence(self, waves: ArrayLike) -> tuple[Floats, Floats, Floats]:
        """Linear effect of small changes of the rim's own shape.

        Parameters
        ----------
        waves : (n, m) array_like
            m shapes, each by its values at the spokes.

        Returns
        -------
        edge, radial, tension : (n, 2 m) ndarray
            Change of the edge's lateral position, of the radial position and of the tension per metre of each shape:
            the m shapes applied laterally, then the m applied radially. [m/m, m/m, N/m]
        """
        n, m = np.shape(waves)
        body = body_of(self.wheel, self.own_shape)
        spokes = PosedSpokes(body, self.pose, self.turns, push=self.push)
        shape = np.zeros((n, 3, 2 * m))
        shape[:, LAT, :m] = shape[:, RAD, m:] = waves
        load, tension = shape_load(body, self.pose, spokes, shape)
        factor, _, _, stiffness = self.factored
        shift = factor.solve(load)
        pull = pull_direction(spokes.axis, spokes.lever)
        tension = tension - stiffness[:, None] * (pull[:, None, :] @ shift)[:, 0]
        edge = shape[:, LAT] + shift[:, LAT] + self.wheel.rim.edge_out * shift[:, 4]
        return edge, shape[:, RAD] + shift[:, RAD], tension

    def with_rim(self, rim: Rim) -> "State":
        """To first order, this state with a rim of nearly the same stiffness and otherwise the same, turns as they are.

        One step of Newton's method with the stiffness of this state, from the forces that the other rim leaves out of
        balance in this pose. A slack spoke is taken to stay slack. Lateral, radial, twist and tension are those with
        the other rim; all else stays that of this state, so nothing further may be derived from what is returned.
        """
        body = body_of(self.wheel, self.own_shape, rim)
        factor, axis, lever, stiffness = self.factored
        shift = factor.solve(residual_of(body, self.pose, PosedSpokes(body, self.pose, self.turns, push=self.push)))
        moved_by = np.einsum("nij,nj->ni", self._tilted, shift[:, :3])
        tension = self.tension - stiffness * np.einsum("nj,nj->n", pull_direction(axis, lever), shift)
        return replace(self, lateral=self.lateral + moved_by[:, LAT], twist=self.twist + shift[:, 4],
                       radial=self.radial + moved_by[:, RAD], tension=tension)

    def resultant(self) -> Floats:
        """Resultant force and moment about the hub's middle of all spoke pulls in their current places, (6,).

        Force then moment, axes (right, forward, up). Zero in equilibrium, to rounding. [N, N m]
        """
        body = body_of(self.wheel, self.own_shape)
        spokes = PosedSpokes(body, self.pose, self.turns)
        pull = to_global(body.frame, spokes.tension[:, None] * spokes.axis)
        at = to_global(body.frame, body.place + self.pose.shift[:, :3] + spokes.lever)
        # Positions are from the hub's middle, in the axes of the moving frame.
        moment = np.cross(at + self.pose.move @ self.pose.turn, pull).sum(axis=0)
        return np.concatenate([self.pose.turn @ pull.sum(axis=0), self.pose.turn @ moment])


def spokes_put_in(state: State) -> State:
    """The wheel with its missing spokes replaced by new ones, each tightened until it just does not pull yet.

    Parameters
    ----------
    state : State
        Equilibrium with spokes missing.

    Returns
    -------
    State
        Equilibrium of the complete wheel; ``turns`` of the new spokes say where their nipples stand.
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


def _size(body: Body, residual: Floats) -> float:
    """Largest force out of balance at a station or on the whole rim; moments divided by the rim's radius. [N]"""
    radius = body.place[0, RAD]
    whole = np.abs(residual[:, :3].ravel() @ body.motions)
    whole[3:] /= radius
    here = float(np.abs(residual[:, :3]).max() + np.abs(residual[:, 3:]).max() / radius)
    return max(here, float(whole.max()) / 3)


def _newton(body: Body, pose: Pose, turns: Turns,
            push: bool = False, factor: Factored | None = None) -> tuple[Pose, PosedSpokes, list[float], Factored]:
    """Equilibrium after these turns, from a nearby pose; ``factor`` is a tangent stiffness near it, factored.

    Returns the pose, its spokes, the energy after each step [N m] and the tangent stiffness, factored.
    """
    scale = max(float(body.geometry.tension.max()), float(body.geometry.stiffness.max()) * body.pitch * 0.1)
    # Floor of the tolerance: rounding of a station's position times the ring's stiffness.
    noise = 8 * np.finfo(float).eps * float(np.abs(body.ring.own[:, :3, :3]).max()) * body.place[0, RAD]
    tolerance = max(TOLERANCE * scale, noise)
    sizes = []
    spokes = PosedSpokes(body, pose, turns, push=push)
    energies = [energy_of(body, pose, spokes)]
    for _ in range(MOST_ITERATIONS):
        residual = residual_of(body, pose, spokes)
        sizes.append(_size(body, residual))
        # Also accepted: no progress in four steps, close to the tolerance; that is rounding. Own choice of the factors.
        stalled = len(sizes) > 8 and min(sizes[-4:]) > 0.5 * min(sizes[:-4]) and sizes[-1] < 30 * tolerance
        if sizes[-1] < tolerance or stalled:
            factor = factor_of(body, pose, spokes)  # raises Unstable if this equilibrium is not stable
            return pose, spokes, energies, factor
        if factor is None or (len(sizes) > 1 and sizes[-1] > min(KEPT * scale, SLOW * sizes[-2])):
            factor = factor_of(body, pose, spokes, at_rest=False)
        change = factor.solve(residual)
        change *= min(1.0, LARGEST_STEP / np.abs(change[:, :3]).max())
        gain = float(np.vdot(change, residual))
        step = 1.0
        while True:
            tried = moved(body, pose, step * change)
            now = PosedSpokes(body, tried, turns, push=push)
            energy = energy_of(body, tried, now)
            # Backtracking line search (Armijo). Near equilibrium the change of energy is only rounding, so a full step
            # is taken and the residual decides.
            if energy <= energies[-1] - 1e-4 * step * gain or gain < 1e-9 * abs(energy) or step < 1e-3:
                break
            step /= 2
        pose, spokes = tried, now
        energies.append(energy)
        if np.abs(pose.shift[:, :3]).max() > FURTHEST:
            raise Unstable(Fails.FOLDS)
    raise Unstable(Fails.NO_REST)


def equilibrium(wheel: Wheel, turns: ArrayLike | None = None, own_shape: ArrayLike | None = None,
                start: State | None = None, *, push: bool = False) -> State:
    """Equilibrium of the wheel after turns from its true, centred, nominal state.

    Parameters
    ----------
    wheel : Wheel
    turns : (n,) array_like, optional
        Plus tightens. [turn]
    own_shape : (2, n) array_like, optional
        Lateral and radial out-of-true of the rim itself: the deviation that remains at the nominal tensions. [m]
    start : State, optional
        A nearby state of the same wheel, to start the iteration from.
    push : bool
        Let spokes push. That is no real wheel, but it equals the real one wherever all spokes pull, and without
        the kink at zero tension the iteration converges more easily.

    Returns
    -------
    State

    Raises
    ------
    Unstable
        When no stable equilibrium was found: tension past buckling, or spokes too slack to hold the rim.

    Notes
    -----
    Within its moving frame the rim bends linearly, so rotations there must stay moderate (a few degrees). Its hoop
    force is taken as the same all round.
    """
    n = wheel.n
    turns = np.zeros(n) if turns is None else np.asarray(turns, dtype=float)
    shape = np.zeros((2, n)) if own_shape is None else np.asarray(own_shape, dtype=float)
    body = body_of(wheel, shape)
    factor: Factored | None = None
    begin, done = (start.pose, start.turns) if start is not None else (
        Pose(np.eye(3), np.zeros(3), np.zeros((n, 6))), np.zeros(n))
    try:
        pose, spokes, _, factor = _newton(body, begin, turns, push, None if start is None else start.factor_at_hand)
    except Unstable:
        # Newton failed: apply the turns in eighths (continuation) before giving up.
        pose = begin
        for part in np.linspace(0, 1, 9)[0 if start is None else 1:]:
            pose, spokes, _, factor = _newton(body, pose, done + part * (turns - done), push, factor)
    where = to_global(body.frame, body.place + pose.shift[:, :3]) @ pose.turn.T + pose.move
    at = to_station(body.frame, where)
    tension = np.where(np.abs(spokes.tension) < 1e-6, 0.0, spokes.tension)
    state = State(
        wheel=wheel, turns=turns, own_shape=shape,
        lateral=at[:, LAT], radial=at[:, RAD] - wheel.rim.section_radius,
        twist=pose.shift[:, 4] + (body.frame @ rotation_vector(pose.turn[None])[0])[:, 1], tension=tension,
        slack=body.geometry.present & (tension <= 0), compression=hoop_compression(body, pose), pose=pose, push=push)
    if factor is not None:
        state.__dict__["factored"] = factor, spokes.axis, spokes.lever, spokes.stiffness
    return state
