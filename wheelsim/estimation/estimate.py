"""The state of a wheel that explains its readings best, and how well it is known.

Least squares with priors that say how far each thing usually strays, relinearised on the nonlinear
wheel until it settles; the state returned is in equilibrium whatever was read. A nipple may be far
off: its prior is Student's t, weighed anew in each round.

References
----------
A. Tarantola, Inverse Problem Theory, 2005, ch. 3 (least squares with priors).
K. L. Lange, R. J. A. Little, J. M. G. Taylor, J. Am. Stat. Assoc. 84 (1989) 881 (weights of the t distribution).
"""

from dataclasses import dataclass, field

import numpy as np

from wheelsim.estimation.problem import Problem
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.threads import one_thread

ROUNDS = 25
SETTLED = 3e-4  # a step of less, some tenth of a newton, is none [turn]
ENOUGH = 1e-2  # nor one that lowers the cost by less
DRAWS = 400


@dataclass(frozen=True, eq=False)
class Estimate:
    """A state, what had to be assumed for it, and how well it is known.

    Attributes
    ----------
    state : State
    assumed : tuple of str
        Sentences, one for each thing not read but taken.
    lateral_root, radial_root, tension_root : (n, k) ndarray
        Roots of the covariances: each quantity's deviations are its root times k independent errors,
        first those of what is usual, then those of the things read. [m, N]
    shown_root : (n, k) ndarray or None
        Likewise of what the meter would show at each spoke, its scatter apart. [N]
    residual : tuple of (str, int or None, float)
        (kind, spoke, misfit in its own standard deviations) of each thing read.
    explains : (m, p) ndarray
        Change of each thing read, in its own standard deviations, per usual deviation of each unknown.
    feet : (int, (k,) ndarray) or None
        The gauge's error among those of the roots, and what the feet's places on the untrue rim make of
        it, in shares of its standard deviation: bounded, where the others are normal.
    """

    state: State
    assumed: tuple[str, ...]
    lateral_root: np.ndarray
    radial_root: np.ndarray
    tension_root: np.ndarray
    residual: tuple = field(default=())
    explains: np.ndarray | None = None
    feet: tuple | None = None
    shown_root: np.ndarray | None = None

    @property
    def lateral_sd(self):
        """(n,) [m]"""
        return np.linalg.norm(self.lateral_root, axis=1)

    @property
    def radial_sd(self):
        """(n,) [m]"""
        return np.linalg.norm(self.radial_root, axis=1)

    @property
    def tension_sd(self):
        """(n,) [N]"""
        return np.linalg.norm(self.tension_root, axis=1)

    @property
    def dish_sd(self):
        """[m]"""
        return float(np.linalg.norm(self.lateral_root.mean(axis=0)))

    def draw(self, count=DRAWS, seed=0):
        """Wheels that the readings allow: lateral, radial [m] and tension [N], each (n, count).

        Every deviation comes with its mirror image, so that the mean is the estimate.
        """
        rng = np.random.default_rng(seed)
        half = rng.standard_normal((self.lateral_root.shape[1], count // 2))
        if self.feet is not None:
            error, shares = self.feet
            half[error] = half[error] * np.sqrt(max(1 - np.mean(shares**2), 0.0)) + rng.choice(shares, count // 2)
        deviation = np.hstack([half, -half])
        state = self.state
        return (state.lateral[:, None] + self.lateral_root @ deviation,
                state.radial[:, None] + self.radial_root @ deviation,
                np.maximum(state.tension[:, None] + self.tension_root @ deviation, 0.0))


@one_thread
def estimate(wheel, reading, errors=None):
    """State of the wheel from one set of readings.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading or None
        None: the wheel is true and centred at its nominal tension, for certain.
    errors : ToolErrors, optional
        Of the meter and of the hub's measures; those usual in a shop by default.

    Returns
    -------
    Estimate

    Raises
    ------
    Unstable
        When no stable wheel explains the readings.
    """
    if reading is None:
        none = np.zeros((wheel.n, 1))
        return Estimate(equilibrium(wheel), ("the wheel is true and centred at its nominal tension",), none, none, none)
    problem = Problem(wheel, reading, errors)
    found = None
    # Slack spokes make the wheel's answer break off; where that keeps it from settling, they may push on the way.
    for push in (False, True):
        try:
            one, settled = _solve(problem, push)
        except Unstable as error:
            why = error
            continue
        if settled:
            return one
        found = found or one
    if found is None:
        raise Unstable(f"no stable wheel explains the readings ({why}); look at their units and at the wheel file")
    return found


def _solve(problem, push):
    """The estimate, and whether it settled."""
    unknowns, settled = np.zeros(problem.size), False
    state = _at(problem, unknowns, None, push)
    for _ in range(ROUNDS):
        problem.weigh(state, unknowns)
        cost = problem.cost(state, unknowns)
        change = _step(problem, state, unknowns)
        for share in (1.0, 0.5, 0.25, 0.1):
            try:
                there = _at(problem, unknowns + share * change, state, push)
            except Unstable:
                continue
            then = problem.cost(there, unknowns + share * change)
            if then < cost:
                state, unknowns = there, unknowns + share * change
                break
        else:
            # No way down: at rest, unless a step of some newtons is still asked for.
            settled = bool(np.abs(problem.turns(change)).max() < 20 * SETTLED)
            break
        settled = share == 1.0 and (np.abs(problem.turns(change)).max() < SETTLED or cost - then < ENOUGH)
        if settled:
            break
    explains, misfit, what = _whitened(problem, state, unknowns)
    prior = problem.prior_sd(unknowns)
    # Error of the estimate: what is usual, as far as the readings leave it, and what their own errors bring in.
    gain = np.linalg.solve(explains.T @ explains + np.eye(problem.size), explains.T)
    errors = prior[:, None] * np.hstack([np.eye(problem.size) - gain @ explains, gain])
    feet = next(((problem.size + k, problem.feet_shares())
                 for k, (kind, _) in enumerate(what) if kind == "gauge"), None)
    if state.slack.any() and push:
        state = _at(problem, unknowns, state, push=False)
    roots = [slope @ errors for slope in problem.slopes(state)]
    shown = problem.shown_slopes(state, unknowns) @ errors
    residual = tuple((*kind, float(short)) for kind, short in zip(what, misfit, strict=True))
    return Estimate(state, tuple(problem.assumed), *roots, residual, explains, feet, shown), settled


def _at(problem, unknowns, start, push):
    return equilibrium(problem.wheel, problem.turns(unknowns), problem.shape(unknowns), start=start, push=push)


def _whitened(problem, state, unknowns):
    """Rows per usual deviation of each unknown (m, p) and misfits (m,), both in each row's own deviations; what."""
    rows, misfit, spread, what = problem.rows(state, unknowns)
    return rows * problem.prior_sd(unknowns) / spread[:, None], misfit / spread, what


def _step(problem, state, unknowns):
    """Change of the unknowns by Gauss and Newton, (p,)."""
    rows, misfit, _ = _whitened(problem, state, unknowns)
    sd = problem.prior_sd(unknowns)
    short = rows.T @ misfit - unknowns / sd
    return sd * np.linalg.solve(rows.T @ rows + np.eye(problem.size), short)
