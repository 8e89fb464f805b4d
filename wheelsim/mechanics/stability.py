"""Tension at which a wheel buckles: linear eigenvalue problem."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from scipy.linalg import eigh

from wheelsim.arrays import Floats
from wheelsim.mechanics.response import compression
from wheelsim.mechanics.ring import ring_of
from wheelsim.mechanics.structure import spoke_stiffness
from wheelsim.wheel.geometry import LAT, wheel_geometry
from wheelsim.wheel.parts import Wheel

# Of the critical tension: a wheel goes out of true well before it buckles, and about half is the practical ceiling
# (M. Ford, PhD dissertation, Northwestern University, 2018).
PRACTICAL_SHARE = 0.5


@dataclass(frozen=True, eq=False)
class Buckling:
    """The lowest buckling mode of a wheel.

    Attributes
    ----------
    tension : float
        Mean tension of the right side at buckling. [N]
    mode : (n,) ndarray
        Lateral displacement at the spokes, scaled so that the largest is 1.
    waves : int
        Number of full waves round the rim of the mode's strongest Fourier component.
    """

    tension: float
    mode: Floats
    waves: int


def ring_matrix(own: Floats, nxt: Floats) -> Floats:
    """Blocks (n, 6, 6) of a closed ring, as in ``Ring``, assembled to one (6 n, 6 n) matrix."""
    n = len(own)
    full = np.zeros((n, 6, n, 6))
    i = np.arange(n)
    after = (i + 1) % n
    full[i, :, i] += own
    full[i, :, after] += nxt
    full[after, :, i] += nxt.transpose(0, 2, 1)
    return full.reshape(6 * n, 6 * n)


@lru_cache(maxsize=64)
def buckling(wheel: Wheel) -> Buckling:
    """Lowest tension at which the stiffness stops being positive definite, all tensions raised in proportion.

    Parameters
    ----------
    wheel : Wheel
        Its nominal tension doesn't matter; the ratio of the sides follows from its geometry.

    Returns
    -------
    Buckling

    Notes
    -----
    Generalised eigenvalue problem: elastic stiffness against geometric stiffness (rim compression softens, spoke
    tension stiffens). Assumes a true rim and no slack spoke; a real wheel goes out of true well before.
    """
    at = 1000.0  # any tension will do, the eigenvalue is relative to it [N]
    g = wheel_geometry(replace(wheel, tension=at))
    ring = ring_of(wheel.rim)
    tension = np.where(g.present, g.tension, 0.0)
    still = np.zeros_like(tension)
    elastic = spoke_stiffness(g.axis, g.lever, g.length, g.stiffness, still)
    elastic[:, 1, 1] += 1e-9 * elastic.max()  # against free rotation about the axle, as in factor_wheel
    string = spoke_stiffness(g.axis, g.lever, g.length, still, tension)
    pressed = compression(tension, g.axis)
    softening = ring_matrix(pressed * ring.own_geometric - string, pressed * ring.next_geometric)
    size = 6 * wheel.n
    share, shape = eigh(softening, ring_matrix(ring.own + elastic, ring.next), subset_by_index=[size - 1, size - 1])
    right = np.array(wheel.on_side("right"))
    mode = shape.reshape(wheel.n, 6)[:, LAT]
    mode = mode / mode[np.abs(mode).argmax()]
    waves = int(np.abs(np.exp(-1j * np.outer(np.arange(wheel.n // 2 + 1), g.angle)) @ mode).argmax())
    return Buckling(float(g.tension[right].mean() / share[0]), mode, waves)


def critical_tension(wheel: Wheel) -> float:
    """Mean tension of the right side at which the wheel buckles. [N]

    See ``buckling`` for the mode and the assumptions.
    """
    return buckling(wheel).tension
