"""Stiffness matrix of ring and spokes: contribution of one spoke, assembly, banded Cholesky factorisation.

A station is coupled only to its neighbours round the ring. Numbered in the order 0, n-1, 1, n-2, ... the matrix of the
closed ring is banded (two blocks above the diagonal), so a solution costs in proportion to the number of spokes.
"""

from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from scipy.linalg.lapack import dpbtrf, dpbtrs

from wheelsim.arrays import Floats, Ints
from wheelsim.mechanics.ring import Ring

UNIT = np.eye(3)
FLAT_UNIT = UNIT.reshape(9)
# The matrices of ``axis x ...``, one a row: a sum of them is exact, each entry being one coordinate or its negative.
CROSSES = np.array([[0.0, 0, 0, 0, 0, -1, 0, 1, 0], [0, 0, 1, 0, 0, 0, -1, 0, 0], [0, -1, 0, 1, 0, 0, 0, 0, 0]])
BAND = 17  # superdiagonals: in that order neighbours are at most two blocks of six apart


class Fails(Enum):
    """What keeps a wheel from standing still."""

    STIFFNESS = "stiffness not positive"
    FOLDS = "folds"
    NO_REST = "no equilibrium"


@dataclass(frozen=True)
class NoStableState:
    """Why a wheel has no stable state; ``readings`` where it is sought to explain what was read."""

    fails: Fails
    readings: bool = False


class Unstable(ArithmeticError):
    """There is no stable equilibrium: the stiffness matrix is not positive definite, or the iteration failed."""

    def __init__(self, fails: Fails, *, readings: bool = False) -> None:
        super().__init__(fails)
        self.because = NoStableState(fails, readings)


@lru_cache(maxsize=32)
def _band_map(n: int) -> tuple[Ints, Ints, Ints]:
    """Indices that copy the entries of own and next blocks into band storage: (source, target, order of unknowns)."""
    order = np.empty(n, dtype=int)
    order[0::2] = np.arange((n + 1) // 2)
    order[1::2] = n - 1 - np.arange(n // 2)
    place = np.empty(n, dtype=int)
    place[order] = np.arange(n)
    i, a, b = np.meshgrid(np.arange(n), np.arange(6), np.arange(6), indexing="ij")
    own = np.stack([6 * place[i] + a, 6 * place[i] + b])
    nxt = np.stack([6 * place[i] + a, 6 * place[(i + 1) % n] + b])
    source = np.arange(72 * n)
    rows, cols = np.concatenate([own.reshape(2, -1), nxt.reshape(2, -1)], axis=1)
    keep = (rows <= cols) | (source >= 36 * n)  # of own blocks the upper half, of next blocks everything
    rows, cols = np.minimum(rows, cols)[keep], np.maximum(rows, cols)[keep]
    dof_order = (6 * order[:, None] + np.arange(6)).ravel()
    # Fortran order, as LAPACK wants it: column by column of BAND + 1 entries.
    return source[keep], cols * (BAND + 1) + BAND + rows - cols, dof_order


class Factor:
    """Banded Cholesky factor of a wheel's stiffness, given as blocks (n, 6, 6) like those of ``Ring``.

    Raises
    ------
    Unstable
        If the stiffness is not positive definite.
    """

    def __init__(self, own: Floats, nxt: Floats) -> None:
        n = len(own)
        source, target, self._order = _band_map(n)
        band = np.zeros((BAND + 1) * 6 * n)
        band[target] = np.concatenate([own.ravel(), nxt.ravel()])[source]
        self._factor, info = dpbtrf(band.reshape(6 * n, BAND + 1).T, lower=0, overwrite_ab=1)
        if info:
            raise Unstable(Fails.STIFFNESS)

    def solve(self, load: Floats) -> Floats:
        """Displacements (n, 6) or (n, 6, m) under loads of the same shape. [m, rad from N, N m]"""
        flat = load.reshape(len(self._order), -1)
        answer = np.empty_like(flat)
        answer[self._order] = dpbtrs(self._factor, flat[self._order], lower=0)[0]
        return answer.reshape(load.shape)


class Updated:
    """A factored stiffness with a low-rank matrix added, ``K + U W U'``, by the Woodbury formula.

    Parameters
    ----------
    factor : Factor
        Of K.
    vectors : (n, 6, m) ndarray
        The columns of U.
    inverse : (m, m) ndarray
        The inverse of W, symmetric.
    negative : int
        How many eigenvalues of W are negative.

    Raises
    ------
    Unstable
        If the sum is not positive definite.

    References
    ----------
    G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed., 2013, sec. 2.1.4 (Sherman, Morrison, Woodbury).
    E. V. Haynsworth, Determination of the inertia of a partitioned Hermitian matrix, Linear Algebra Appl. 1, 73-81,
    1968 (from memory).
    """

    def __init__(self, factor: Factor, vectors: Floats, inverse: Floats, negative: int) -> None:
        self._factor, self._flat = factor, vectors.reshape(-1, len(inverse))
        self._answers = factor.solve(vectors).reshape(self._flat.shape)
        small = inverse + self._flat.T @ self._answers
        # With K positive definite, the number of negative eigenvalues of K + U W U' is that of W less that of
        # W^-1 + U' K^-1 U (additivity of inertia).
        if np.count_nonzero(np.linalg.eigvalsh(small) < 0) < negative:
            raise Unstable(Fails.STIFFNESS)
        self._inverse = np.linalg.inv(small)

    def solve(self, load: Floats) -> Floats:
        """As ``Factor.solve``."""
        first = self._factor.solve(load)
        flat = first.reshape(len(self._flat), -1)
        return (flat - self._answers @ (self._inverse @ (self._flat.T @ flat))).reshape(load.shape)


Factored: TypeAlias = Factor | Updated


def cross_matrix(vector: Floats) -> Floats:
    """Matrices (n, 3, 3) of the cross product with (n, 3) vectors, ``vector x ...``."""
    matrices: Floats = (vector @ CROSSES).reshape(-1, 3, 3)
    return matrices


def with_moment(force: Floats, lever: Floats) -> Floats:
    """Forces (n, 3) that act at levers (n, 3), and their moments about the stations: (n, 6)."""
    out = np.empty((len(force), 6))
    out[:, :3] = force
    # Written out: numpy's cross costs more than all the rest of an influence's arithmetic.
    out[:, 3] = lever[:, 1] * force[:, 2] - lever[:, 2] * force[:, 1]
    out[:, 4] = lever[:, 2] * force[:, 0] - lever[:, 0] * force[:, 2]
    out[:, 5] = lever[:, 0] * force[:, 1] - lever[:, 1] * force[:, 0]
    return out


def pull_direction(axis: Floats, lever: Floats) -> Floats:
    """Force and moment on the station per newton of spoke tension, (n, 6). [1, m]"""
    return with_moment(axis, lever)


def spoke_stiffness(axis: Floats, lever: Floats, length: Floats, stiffness: Floats, tension: Floats) -> Floats:
    """Stiffness that prestressed spokes add at their stations.

    Parameters
    ----------
    axis : (n, 3) ndarray
        Unit vectors from seat to hub hole.
    lever : (n, 3) ndarray
        From the section's centre to the seat. [m]
    length, stiffness, tension : (n,) ndarray
        Seat to hub hole, EA over length, pull. [m, N/m, N]

    Returns
    -------
    (n, 6, 6) ndarray
        [N/m, N, N m]

    Notes
    -----
    At the seat ``K n n' + T/l (I - n n')`` with axis n: elastic along the spoke, string stiffness across it. This is
    transformed to the section's centre by the lever o. When the section rotates the seat moves on an arc; the second-
    order part of its path adds ``H = (f.o) I - (f o' + o f')/2`` on the rotations, f the pull.

    References
    ----------
    M. Ford, PhD dissertation, Northwestern University, 2018 (stiffness at the seat).
    """
    n = len(axis)
    # In rows of nine where entries are taken one by one: broadcasting is faster than over matrices.
    along = (axis[:, :, None] * axis[:, None, :]).reshape(n, 9)
    string = (tension / length)[:, None]
    seat = (string * (FLAT_UNIT - along) + stiffness[:, None] * along).reshape(n, 3, 3)
    arm = cross_matrix(lever)
    force = tension[:, None] * axis
    out = np.empty((n, 6, 6))
    out[:, :3, :3] = seat
    out[:, 3:, :3] = moved = arm @ seat
    np.negative(seat @ arm, out=out[:, :3, 3:])
    mixed = force[:, :, None] * lever[:, None, :]
    within = (force * lever).sum(axis=1)[:, None] * FLAT_UNIT
    turning = within - (mixed + mixed.transpose(0, 2, 1)).reshape(n, 9) / 2
    np.subtract(turning.reshape(n, 3, 3), moved @ arm, out=out[:, 3:, 3:])
    return out


def factor_wheel(ring: Ring, spokes: Floats, compression: float) -> Factor:
    """Factored stiffness of ring and spokes under a hoop compression of the rim.

    Parameters
    ----------
    ring : Ring
    spokes : (n, 6, 6) ndarray
        From ``spoke_stiffness``.
    compression : float
        [N]

    Raises
    ------
    Unstable
        If the stiffness is not positive definite.

    Notes
    -----
    A radially laced rim with no tension can rotate freely about its axle, which would make the matrix singular. A
    tangential spring of 1e-9 of the spokes' stiffness prevents that; it carries no load, because balanced spoke pulls
    have no moment about the axle.
    """
    own = ring.own - compression * ring.own_geometric + spokes
    own[:, 1, 1] += 1e-9 * np.abs(spokes[:, :3, :3]).max()
    return Factor(own, ring.next - compression * ring.next_geometric)
