"""The state of a wheel that explains its readings best, and how well it is known.

Least squares with priors that say how far each thing usually strays, relinearised on the nonlinear
wheel until it settles; the state returned is in equilibrium whatever was read. A nipple may be far
off: its prior is Student's t, weighed anew in each round.

References
----------
A. Tarantola, Inverse Problem Theory, 2005, ch. 3 (least squares with priors).
K. L. Lange, R. J. A. Little, J. M. G. Taylor, J. Am. Stat. Assoc. 84 (1989) 881 (weights of the t distribution).
"""

from dataclasses import dataclass, field, replace

import numpy as np

from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.problem import Problem

ROUNDS = 15
DRAWS = 400


@dataclass(frozen=True, eq=False)
class Estimate:
    """A state, what had to be assumed for it, and how well it is known.

    Attributes
    ----------
    state : State
    assumed : tuple of str
        Sentences, one for each thing not read but taken.
    lateral_root, radial_root, tension_root : (n, p) ndarray
        Roots of the covariances: each quantity's deviations are its root times p standard normals. [m, N]
    residual : tuple of (str, int or None, float)
        (kind, spoke, misfit in its own standard deviations) of each thing read.
    """

    state: State
    assumed: tuple[str, ...]
    lateral_root: np.ndarray
    radial_root: np.ndarray
    tension_root: np.ndarray
    residual: tuple = field(default=())

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
        half = np.random.default_rng(seed).standard_normal((self.lateral_root.shape[1], count // 2))
        deviation = np.hstack([half, -half])
        state = self.state
        return (state.lateral[:, None] + self.lateral_root @ deviation,
                state.radial[:, None] + self.radial_root @ deviation,
                np.maximum(state.tension[:, None] + self.tension_root @ deviation, 0.0))


def estimate(wheel, reading):
    """State of the wheel from one set of readings.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading or None
        None: the wheel is true and centred at its nominal tension, for certain.

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
    problem = Problem(wheel, reading)
    why = None
    # Slack spokes make the wheel's answer break off; where that keeps it from settling, they may push on the way.
    for push in (False, True):
        try:
            found, settled = _solve(problem, push)
        except Unstable as error:
            why = why or error
            continue
        if settled or push:
            return found
    if why is None:
        return found
    raise Unstable(f"no stable wheel explains the readings ({why}); look at their units and at the wheel file")


def _solve(problem, push):
    """The estimate, and whether it settled."""
    unknowns, settled = np.zeros(problem.size), False
    state = _at(problem, unknowns, None, push)
    cost = problem.cost(state, unknowns)
    for _ in range(ROUNDS):
        change, _ = _step(problem, state, unknowns)
        # A ten-thousandth of a turn is some hundredths of a newton.
        settled = bool(np.abs(problem.turns(change)).max() < 1e-4)
        if settled:
            break
        for share in (1.0, 0.5, 0.25, 0.1):
            try:
                there = _at(problem, unknowns + share * change, state, push)
            except Unstable:
                continue
            then = problem.cost(there, unknowns + share * change)
            if then < cost:
                state, cost, unknowns = there, then, unknowns + share * change
                break
        else:
            break
    _, root = _step(problem, state, unknowns)
    _, misfit, spread, what = problem.rows(state, unknowns)
    roots = [slope @ root for slope in problem.slopes(state)]
    if state.slack.any():
        state = _at(problem, unknowns, state, push=False)
    residual = tuple((*kind, float(short / sd)) for kind, short, sd in zip(what, misfit, spread, strict=True))
    return Estimate(replace(state, push=False), tuple(problem.assumed), *roots, residual), settled


def _at(problem, unknowns, start, push):
    return equilibrium(problem.wheel, problem.turns(unknowns), problem.shape(unknowns), start=start, push=push)


def _step(problem, state, unknowns):
    """Change of the unknowns by Gauss and Newton, and a root of their covariance: (p,), (p, p)."""
    sd = problem.prior_sd(unknowns)
    rows, misfit, spread, _ = problem.rows(state, unknowns)
    rows = rows * sd / spread[:, None]
    factor = np.linalg.cholesky(rows.T @ rows + np.eye(problem.size))
    short = rows.T @ (misfit / spread) - unknowns / sd
    root = np.linalg.inv(factor).T * sd[:, None]
    return root @ (root.T @ (short / sd)), root
