"""Estimate of a wheel's state from its readings: maximum a posteriori by Gauss-Newton, with Laplace approximation.

Regularised least squares: readings with normal errors and normal priors on all unknowns, except Student's t on nipples
and on the rim's own shape (one may be far off), which is handled by reweighting in each iteration. Each iteration
solves the nonlinear equilibrium, so the state returned is in equilibrium whatever was read. Uncertainties come from the
linearisation at the optimum.

References
----------
A. Tarantola, Inverse Problem Theory, 2005, ch. 3 (least squares with priors).
K. L. Lange, R. J. A. Little, J. M. G. Taylor, J. Am. Stat. Assoc. 84 (1989) 881 (weights of the t distribution).
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from typing import Self, TypeAlias

import numpy as np
from scipy.special import ndtr, ndtri

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
from wheelsim.wheel.rules import PartError

ROUNDS = 25  # Gauss-Newton iterations at most; own choice
SETTLED = 3e-4  # converged if a step turns no nipple by more; own choice: that is some tenth of a newton [turn]
ENOUGH = 1e-2  # or if a step lowers the cost by less; own choice: the posterior density changes by half a per cent
# A cost asked for is given up if so many times the gain of the next step wouldn't reach it. Own choice: with half of it
# wheels with odd spokes, far from linear, were given up that got there.
HOPELESS = 4.0
POOR = 2.0  # cost for each reading from which on a fit is poor; about 1 is expected. Own choice
DRAWS = 400  # wheels drawn if no number is given; own choice: shares to some two per cent, for plans and spreads

Residual: TypeAlias = tuple[str, int | None, float]  # kind, spoke, misfit over its standard deviation


@dataclass(frozen=True, eq=False)
class Estimate:
    """The estimated state, the assumptions behind it, and its uncertainty.

    Attributes
    ----------
    state : State
        Best estimate of the wheel now; its wheel has the learnt stiffness and thread.
    assumed : tuple of Assumed
        What was not read and therefore assumed.
    lateral_root, radial_root, tension_root : (n, k) ndarray
        Square roots of the posterior covariances: deviations are the root times k independent errors of variance 1.
        The first p errors belong to the priors, the other m to the readings. Lateral at the rim's edge. [m, m, N]
    shown_root : (n, k) ndarray
        The same for what the meter would show at each spoke, without its scatter. [N]
    residual : tuple of (str, int or None, float)
        (kind, spoke, misfit over its standard deviation) of each reading.
    spread : (m,) ndarray
        Standard deviation of each reading. [m, N]
    explains : (m, p) ndarray
        Change of each reading, in its standard deviations, per prior standard deviation of each unknown.
    feet : (int, (k,) ndarray) or None
        Index of the gauge's error among those of the roots, and values that the feet's unknown places on an untrue rim
        add to it, as shares of its standard deviation. That part is bounded; all other errors are normal.
    learnt : tuple of Learnt
        What readings before and after passes taught of rim, thread and meter.
    learnt_root : (j, k) ndarray
        As ``tension_root``, of the logarithms of what was learnt, in its order.
    gain : float
        Movement of a nipple per turn, as a share of the thread's pitch.
    moves : tuple of Moves
        The intervals between visits.
    cost : float
        Minus twice the logarithm of the posterior there, up to a constant of the same readings.
    before : tuple of State
        The states at the visits before, in their order.
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
    learnt_root: Floats = field(default_factory=lambda: np.zeros((0, 1)))
    gain: float = 1.0
    moves: tuple[Moves, ...] = ()
    cost: float = 0.0
    before: tuple[State, ...] = ()

    @classmethod
    def certain(cls, state: State, assumed: tuple[Assumed, ...] = ()) -> Self:
        """An estimate without any uncertainty."""
        none = np.zeros((state.wheel.n, 1))
        return cls(state=state, assumed=assumed, lateral_root=none, radial_root=none, tension_root=none,
                   shown_root=none, explains=np.zeros((0, 0)))

    @property
    def lateral_sd(self) -> Floats:
        """Standard deviation of the edge's lateral position at each spoke, (n,). [m]"""
        return row_norms(self.lateral_root)

    @property
    def radial_sd(self) -> Floats:
        """Standard deviation of the radial position at each spoke, (n,). [m]"""
        return row_norms(self.radial_root)

    @property
    def tension_sd(self) -> Floats:
        """Standard deviation of each tension, (n,). [N]"""
        return row_norms(self.tension_root)

    @property
    def dish_sd(self) -> float:
        """Standard deviation of the dish. [m]"""
        return float(np.linalg.norm(self.lateral_root.mean(axis=0)))

    def draw(self, count: int = DRAWS, seed: int = 0) -> tuple[Floats, Floats, Floats]:
        """Draw wheels from the posterior.

        Parameters
        ----------
        count : int
            Even.
        seed : int
            The same seed gives the same wheels.

        Returns
        -------
        lateral, radial, tension : (n, count) ndarray
            Lateral at the rim's edge. Negative tensions are set to zero. [m, m, N]
        """
        state, (lateral, radial, tension, _) = self.state, self.deviations(count, seed)
        return (state.edge[:, None] + lateral, state.radial[:, None] + radial,
                np.maximum(state.tension[:, None] + tension, 0.0))

    def deviations(self, count: int = DRAWS, seed: int = 0) -> tuple[Floats, Floats, Floats, Floats]:
        """How far wheels drawn from the posterior lie from the estimate; parameters as of ``draw``.

        Returns
        -------
        lateral, radial, tension : (n, count) ndarray
            [m, m, N]
        learnt : (j, count) ndarray
            Of the logarithms of what was learnt, in its order.

        Notes
        -----
        Antithetic: each deviation is used with both signs, so that the mean is the estimate. Where what a turn gives
        was learnt, that holds only before the condition that it gives no more than the pitch, or than the estimate
        where that is more: the component along its root is taken from the truncated normal distribution, at the same
        quantile. (The feet's part of it is bounded, not normal; it is small.)
        """
        rng = np.random.default_rng(seed)
        half = rng.standard_normal((self.lateral_root.shape[1], count // 2))
        if self.feet is not None:
            error, shares = self.feet
            normal = np.sqrt(max(1 - float(np.mean(shares**2)), 0.0))
            half[error] = half[error] * normal + rng.choice(shares, count // 2)
        roots = (self.lateral_root, self.radial_root, self.tension_root, self.learnt_root)
        parts = [_either_way(root @ half) for root in roots]
        along = next((k for k, one in enumerate(self.learnt) if one.name == "gain_per_turn"), None)
        if along is not None:
            of_gain = self.learnt_root[along]
            sd = max(float(np.linalg.norm(of_gain)), 1e-12)
            drawn = parts[3][along] / sd
            below_pitch = ndtri(ndtr(drawn) * ndtr(max(-np.log(self.gain), 0.0) / sd))
            parts = [part + np.outer(root @ of_gain / sd, below_pitch - drawn)
                     for part, root in zip(parts, roots, strict=True)]
        lateral, radial, tension, learnt = parts
        return lateral, radial, tension, learnt


def _either_way(deviation: Floats) -> Floats:
    """Each deviation (n, k), then each with the other sign: (n, 2 k)."""
    return np.hstack([deviation, -deviation])


def row_norms(root: Floats) -> Floats:
    """Standard deviations (n,) from a root (n, k) of a covariance."""
    norms: Floats = np.linalg.norm(root, axis=1)
    return norms


LEAST_GAIN = 0.05  # of the thread's pitch; no step of the fit may end below it: own choice


@one_thread
def estimate(wheel: Wheel, reading: Reading | None, errors: ToolErrors | None = None,
             earlier: Sequence[Visit] = (), freed: Collection[tuple[int, int]] = (),
             moved: Collection[int] = ()) -> Estimate:
    """Estimate the wheel at its last reading.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading or None
        None: the wheel is taken, without uncertainty, as true and centred at its nominal tension.
    errors : ToolErrors, optional
        Standard deviations of meter and calliper; by default those usual in a shop.
    earlier : sequence of Visit
        Earlier readings and what was turned after each.
    freed, moved
        Logged turns not to be trusted; as in ``Course``.

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
    found = _minimum(Course(wheel, (*earlier, Visit(reading)), errors, freed, moved), np.inf)
    assert found is not None  # no cost is above infinity
    return found


@one_thread
def estimate_below(cost: float, wheel: Wheel, reading: Reading, errors: ToolErrors | None, earlier: Sequence[Visit],
                   moved: Collection[int] = ()) -> Estimate | None:
    """``estimate``, or None as soon as its cost looks like staying above ``cost``; raises Unstable as that."""
    return _minimum(Course(wheel, (*earlier, Visit(reading)), errors, (), moved), cost)


def _minimum(problem: Course, limit: float) -> Estimate | None:
    """The estimate, None if its cost looks like staying above the limit; raises Unstable.

    A minimum above the limit, or one that fits poorly, may be one of several: it is then tried again too, and the
    lowest taken.
    """
    found: Estimate | None = None
    failed: Unstable | None = None
    # Where spokes go slack the equilibrium has a kink, and Gauss-Newton may fail to converge. Then it is tried again
    # with spokes that may push; at the end they may not, and go slack.
    for push in (False, True):
        try:
            one, settled = _solve(problem, push, limit)
        except Unstable as error:
            failed = error
            continue
        if one is None:
            continue
        if settled and one.cost < min(limit, POOR * len(one.residual)):
            return one
        if found is None or one.cost < found.cost:
            found = one
    if found is None and failed is not None:
        raise Unstable(failed.because.fails, readings=True)
    return found


def _solve(problem: Course, push: bool, limit: float) -> tuple[Estimate | None, bool]:
    """Gauss-Newton with a line search: the estimate, and whether it converged.

    None, and not converged, once the limit on the cost lies further off than ``HOPELESS`` times what the next step
    gains in the linear model.
    """
    unknowns, settled = np.zeros(problem.size), False
    states = problem.states(unknowns, None, push)
    for _ in range(ROUNDS):
        problem.weigh(states, unknowns)
        cost = problem.cost(states, unknowns)
        change, gained = _step(problem, states, unknowns)
        if cost - HOPELESS * gained > limit:
            return None, False
        for share in (1.0, 0.5, 0.25, 0.1):
            # Too long a step: it makes the gain nearly zero, the rim's stiffness inadmissible, or has no equilibrium.
            if problem.gain(unknowns + share * change) < LEAST_GAIN:
                continue
            try:
                there = problem.states(unknowns + share * change, states, push)
            except (Unstable, PartError):
                continue
            then = problem.cost(there, unknowns + share * change)
            if then < cost:
                states, unknowns = there, unknowns + share * change
                break
        else:
            # No step length lowers the cost: converged, unless the step is still large (some newtons).
            settled = bool(np.abs(problem.turns(change)).max() < 20 * SETTLED)
            break
        settled = share == 1.0 and (np.abs(problem.turns(change)).max() < SETTLED or cost - then < ENOUGH)
        if settled:
            break
    prior = problem.prior_sd(unknowns, settled=True)
    cost = problem.cost(states, unknowns)
    explains, misfit, spread, what = _whitened(problem, states, unknowns, prior)
    # Root of the posterior covariance: the error of the estimate as a linear map of the prior's deviations (I - K A)
    # and of the readings' errors (K), K being the Kalman gain.
    kalman = np.linalg.solve(explains.T @ explains + np.eye(problem.size), explains.T)
    errors = prior[:, None] * np.hstack([np.eye(problem.size) - kalman @ explains, kalman])
    gauge = problem.now.reading.gauge
    feet = None if gauge is None else (problem.size + what.index(("gauge", None)), problem.now.feet_shares(gauge))
    if push and any(state.slack.any() for state in states):
        states = problem.states(unknowns, states, push=False)
    lateral, radial, tension = problem.slopes(states, unknowns)
    shown = problem.shown_slopes(states, unknowns) @ errors
    state = _as_turned(states[-1], problem.gain(unknowns))
    learnt, learnt_root = problem.learnt(unknowns, errors)
    residual = tuple((*kind, float(short)) for kind, short in zip(what, misfit, strict=True))
    return Estimate(state=state, assumed=tuple(problem.assumed), lateral_root=lateral @ errors,
                    radial_root=radial @ errors, tension_root=tension @ errors, shown_root=shown,
                    explains=explains, residual=residual, spread=spread, feet=feet,
                    learnt=learnt, learnt_root=learnt_root, gain=problem.gain(unknowns),
                    moves=problem.moves(states, unknowns, explains, prior), cost=cost, before=states[:-1]), settled


def _as_turned(state: State, gain: float) -> State:
    """The same equilibrium, written with the effective thread pitch ``gain`` times the nominal one."""
    if gain == 1.0:
        return state
    spokes = replace(state.wheel.spokes, thread_pitch=state.wheel.spokes.thread_pitch * gain)
    return equilibrium(replace(state.wheel, spokes=spokes), state.turns / gain, state.own_shape, start=state)


def _whitened(problem: Course, states: States, unknowns: Floats,
              prior: Floats) -> tuple[Floats, Floats, Floats, list[Thing]]:
    """Rows (m, p) per prior standard deviation (p,) and misfits (m,), both over the readings' standard deviations.

    Third come those standard deviations (m,), fourth what was read.
    """
    rows, misfit, spread, what = problem.rows(states, unknowns)
    return rows * prior / spread[:, None], misfit / spread, spread, what


def _step(problem: Course, states: States, unknowns: Floats) -> tuple[Floats, float]:
    """Gauss-Newton step of the unknowns, (p,), and by how much it lowers the cost of the linear model."""
    sd = problem.prior_sd(unknowns)
    rows, misfit, _, _ = _whitened(problem, states, unknowns, sd)
    short = rows.T @ misfit - unknowns / sd
    step = np.linalg.solve(rows.T @ rows + np.eye(problem.size), short)
    return sd * step, float(short @ step)
