"""The state of a wheel that explains its readings best, and how well it is known.

Least squares with priors that say how far each thing usually strays, relinearised on the nonlinear
wheel until it settles; the state returned is in equilibrium whatever was read. A nipple may be far
off: its prior is Student's t, weighed anew in each round.

References
----------
A. Tarantola, Inverse Problem Theory, 2005, ch. 3 (least squares with priors).
K. L. Lange, R. J. A. Little, J. M. G. Taylor, J. Am. Stat. Assoc. 84 (1989) 881 (weights of the t distribution).
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from typing import Self, TypeAlias

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.estimation.assumed import AsNominal, Assumed
from wheelsim.estimation.course import Course, Learnt, Moves, States
from wheelsim.estimation.problem import Thing
from wheelsim.job.visits import Visit
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.errors import ToolErrors
from wheelsim.readings.reading import Reading
from wheelsim.threads import one_thread
from wheelsim.wheel.parts import Wheel

ROUNDS = 25  # of Gauss-Newton, at most
SETTLED = 3e-4  # converged when a step turns no nipple by more: some tenth of a newton [turn]
ENOUGH = 1e-2  # or when a step lowers the cost (minus twice the log posterior) by less
DRAWS = 400

Residual: TypeAlias = tuple[str, int | None, float]  # kind, spoke, misfit in its own standard deviations


@dataclass(frozen=True, eq=False)
class Estimate:
    """A state, what had to be assumed for it, and how well it is known.

    Attributes
    ----------
    state : State
    assumed : tuple of Assumed
        One for each thing not read but taken.
    lateral_root, radial_root, tension_root : (n, k) ndarray
        Roots of the covariances: each quantity's deviations are its root times k independent errors,
        first those of what is usual, then those of the things read. [m, N]
    shown_root : (n, k) ndarray
        Likewise of what the meter would show at each spoke, its scatter apart. [N]
    residual : tuple of (str, int or None, float)
        (kind, spoke, misfit in its own standard deviations) of each thing read.
    spread : (m,) ndarray
        Standard deviation of each thing read. [m, N]
    explains : (m, p) ndarray
        Change of each thing read, in its own standard deviations, per usual deviation of each unknown.
    feet : (int, (k,) ndarray) or None
        The gauge's error among those of the roots, and what the feet's places on the untrue rim make of
        it, in shares of its standard deviation: bounded, where the others are normal.
    learnt : tuple of Learnt
        What passes between readings taught of the rim, the thread and the meter; ``state`` has it in its wheel.
    gain : float
        What a turn really gives, as a share of the thread's pitch.
    moves : tuple of Moves
        What was turned between the readings.
    """

    state: State
    assumed: tuple[Assumed, ...]
    lateral_root: Floats
    radial_root: Floats
    tension_root: Floats
    shown_root: Floats
    explains: Floats
    residual: tuple[Residual, ...] = ()
    spread: Floats = field(default_factory=lambda: np.zeros(0))
    feet: tuple[int, Floats] | None = None
    learnt: tuple[Learnt, ...] = ()
    gain: float = 1.0
    moves: tuple[Moves, ...] = ()

    @classmethod
    def certain(cls, state: State, assumed: tuple[Assumed, ...] = ()) -> Self:
        """A state that is known exactly."""
        none = np.zeros((state.wheel.n, 1))
        return cls(state=state, assumed=assumed, lateral_root=none, radial_root=none, tension_root=none,
                   shown_root=none, explains=np.zeros((0, 0)))

    @property
    def lateral_sd(self) -> Floats:
        """(n,) [m]"""
        return row_norms(self.lateral_root)

    @property
    def radial_sd(self) -> Floats:
        """(n,) [m]"""
        return row_norms(self.radial_root)

    @property
    def tension_sd(self) -> Floats:
        """(n,) [N]"""
        return row_norms(self.tension_root)

    @property
    def dish_sd(self) -> float:
        """[m]"""
        return float(np.linalg.norm(self.lateral_root.mean(axis=0)))

    def draw(self, count: int = DRAWS, seed: int = 0) -> tuple[Floats, Floats, Floats]:
        """Wheels that the readings allow: lateral, radial [m] and tension [N], each (n, count).

        Every deviation comes with its mirror image, so that the mean is the estimate.
        """
        rng = np.random.default_rng(seed)
        half = rng.standard_normal((self.lateral_root.shape[1], count // 2))
        if self.feet is not None:
            error, shares = self.feet
            normal = np.sqrt(max(1 - float(np.mean(shares**2)), 0.0))
            half[error] = half[error] * normal + rng.choice(shares, count // 2)
        deviation = np.hstack([half, -half])
        state = self.state
        return (state.edge[:, None] + self.lateral_root @ deviation,
                state.radial[:, None] + self.radial_root @ deviation,
                np.maximum(state.tension[:, None] + self.tension_root @ deviation, 0.0))


def row_norms(root: Floats) -> Floats:
    """Standard deviation of each row's quantity from a root of the covariance, (n,)."""
    norms: Floats = np.linalg.norm(root, axis=1)
    return norms


@one_thread
def estimate(wheel: Wheel, reading: Reading | None, errors: ToolErrors | None = None,
             earlier: Sequence[Visit] = (), freed: Collection[tuple[int, int]] = (),
             moved: Collection[int] = ()) -> Estimate:
    """State of the wheel from one set of readings.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading or None
        None: the wheel is true and centred at its nominal tension, for certain.
    errors : ToolErrors, optional
        Of the meter and of the hub's measures; those usual in a shop by default.
    earlier : sequence of Visit
        Readings before this one, and what was turned after each.
    freed : collection of (int, int)
        Intervals between readings, from nought, and spokes whose nipples did not do there what was logged.
    moved : collection of int
        Intervals in which whole sides did not do what was logged.

    Returns
    -------
    Estimate

    Raises
    ------
    Unstable
        When no stable wheel explains the readings.
    """
    if reading is None:
        return Estimate.certain(equilibrium(wheel), (AsNominal(),))
    problem = Course(wheel, (*earlier, Visit(reading)), errors, freed, moved)
    found: Estimate | None = None
    # Where spokes go slack the equilibrium is not smooth. If Gauss-Newton then fails to converge, it is tried again
    # with spokes that may push, and the slack ones are let go at the end.
    for push in (False, True):
        try:
            one, settled = _solve(problem, push)
        except Unstable as error:
            why = error.because.fails
            continue
        if settled:
            return one
        found = found or one
    if found is None:
        raise Unstable(why, readings=True)
    return found


def _solve(problem: Course, push: bool) -> tuple[Estimate, bool]:
    """The estimate, and whether it settled."""
    unknowns, settled = np.zeros(problem.size), False
    states = problem.states(unknowns, None, push)
    for _ in range(ROUNDS):
        problem.weigh(states, unknowns)
        cost = problem.cost(states, unknowns)
        change = _step(problem, states, unknowns)
        for share in (1.0, 0.5, 0.25, 0.1):
            try:
                there = problem.states(unknowns + share * change, states, push)
            except Unstable:
                continue
            then = problem.cost(there, unknowns + share * change)
            if then < cost:
                states, unknowns = there, unknowns + share * change
                break
        else:
            # The line search found no lower cost: converged, unless the step still asks for some newtons.
            settled = bool(np.abs(problem.turns(change)).max() < 20 * SETTLED)
            break
        settled = share == 1.0 and (np.abs(problem.turns(change)).max() < SETTLED or cost - then < ENOUGH)
        if settled:
            break
    explains, misfit, spread, what = _whitened(problem, states, unknowns)
    prior = problem.prior_sd(unknowns)
    # Posterior errors as a root of their covariance: what the readings leave of the prior, and the readings' errors.
    gain = np.linalg.solve(explains.T @ explains + np.eye(problem.size), explains.T)
    errors = prior[:, None] * np.hstack([np.eye(problem.size) - gain @ explains, gain])
    gauge = problem.now.reading.gauge
    feet = None if gauge is None else (problem.size + what.index(("gauge", None)), problem.now.feet_shares(gauge))
    if push and any(state.slack.any() for state in states):
        states = problem.states(unknowns, states, push=False)
    lateral, radial, tension = problem.slopes(states, unknowns)
    shown = problem.shown_slopes(states, unknowns) @ errors
    state = _as_turned(states[-1], problem.gain(unknowns))
    residual = tuple((*kind, float(short)) for kind, short in zip(what, misfit, strict=True))
    return Estimate(state=state, assumed=tuple(problem.assumed), lateral_root=lateral @ errors,
                    radial_root=radial @ errors, tension_root=tension @ errors, shown_root=shown,
                    explains=explains, residual=residual, spread=spread, feet=feet,
                    learnt=problem.learnt(unknowns, errors), gain=problem.gain(unknowns),
                    moves=problem.moves(states, unknowns, explains, prior)), settled


def _as_turned(state: State, gain: float) -> State:
    """The same wheel at rest, with a thread on which a turn gives what it was seen to give."""
    if gain == 1.0:
        return state
    spokes = replace(state.wheel.spokes, thread_pitch=state.wheel.spokes.thread_pitch * gain)
    return equilibrium(replace(state.wheel, spokes=spokes), state.turns / gain, state.own_shape, start=state)


def _whitened(problem: Course, states: States, unknowns: Floats) -> tuple[Floats, Floats, Floats, list[Thing]]:
    """Rows per usual deviation of each unknown (m, p) and misfits (m,), both in each row's own deviations (m,); what.
    """
    rows, misfit, spread, what = problem.rows(states, unknowns)
    return rows * problem.prior_sd(unknowns) / spread[:, None], misfit / spread, spread, what


def _step(problem: Course, states: States, unknowns: Floats) -> Floats:
    """Change of the unknowns by Gauss and Newton, (p,)."""
    rows, misfit, _, _ = _whitened(problem, states, unknowns)
    sd = problem.prior_sd(unknowns)
    short = rows.T @ misfit - unknowns / sd
    change: Floats = sd * np.linalg.solve(rows.T @ rows + np.eye(problem.size), short)
    return change
