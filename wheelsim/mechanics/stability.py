"""The tension at which a wheel buckles."""

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

PRACTICAL_SHARE = 0.5  # of the critical tension; a wheel is untrue well before buckling (Ford, 2018)


@dataclass(frozen=True, eq=False)
class Buckling:
    """Where a wheel buckles.

    Attributes
    ----------
    tension : float
        Mean of the right side at buckling. [N]
    mode : (n,) ndarray
        Lateral shape, largest 1.
    waves : int
        Full waves round the rim that make up most of it.
    """

    tension: float
    mode: Floats
    waves: int


def ring_matrix(own: Floats, nxt: Floats) -> Floats:
    """Blocks of a closed ring as one (6 n, 6 n) matrix."""
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
    """Least tension at which the wheel's stiffness is no longer positive, all tensions in proportion.

    Parameters
    ----------
    wheel : Wheel
        Its own nominal tension doesn't matter, only its shape and the balance of its sides.

    Returns
    -------
    Buckling

    Notes
    -----
    Eigenvalue of the linear problem: elastic stiffness against what tension adds and takes off. No
    spoke slack, rim true; a real wheel goes out of true well before.
    """
    at = 1000.0
    g = wheel_geometry(replace(wheel, tension=at))
    ring = ring_of(wheel.rim)
    tension = np.where(g.present, g.tension, 0.0)
    still = np.zeros_like(tension)
    elastic = spoke_stiffness(g.axis, g.lever, g.length, g.stiffness, still)
    elastic[:, 1, 1] += 1e-9 * elastic.max()  # turning about the axle, as in factor_wheel
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

    See ``buckling`` for the mode and what the number rests on.
    """
    return buckling(wheel).tension
