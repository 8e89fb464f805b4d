"""The rim alone, from the product's own ring, with supports a laboratory would give it."""

import numpy as np
from scipy.linalg import eigh

from tests.published.wheels import RADIUS, RIM
from wheelsim.mechanics.ring import ring_of
from wheelsim.mechanics.stability import ring_matrix
from wheelsim.wheel.geometry import LAT, RAD, TAN
from wheelsim.wheel.parts import Rim

IN_PLANE = (TAN, RAD, 3)  # 3 is the rotation about the axle's direction
OUT_OF_PLANE = (LAT, 4, 5)


def rim(n=144, radius=RADIUS, stiffness=RIM):
    return Rim(tuple(2 * np.pi * i / n for i in range(n)), radius, radius, **stiffness)


def angles(rim):
    return np.asarray(rim.hole_angles)


def _matrix(rim):
    ring = ring_of(rim)
    return ring_matrix(ring.own, ring.next)


def shift(rim, load):
    """Shifts (n, 6) of the ring held, laterally and tangentially, at three corners of a square.

    A load that balances itself doesn't feel the supports; they only set from where shifts are counted.
    """
    corners = rim.holes // 4 * np.array([1, 2, 3])
    free = np.setdiff1d(np.arange(6 * rim.holes), np.concatenate([6 * corners + LAT, 6 * corners + TAN]))
    out = np.zeros(6 * rim.holes)
    out[free] = np.linalg.solve(_matrix(rim)[np.ix_(free, free)], load.ravel()[free])
    return out.reshape(-1, 6)


def mode_stiffness(rim, direction, m):
    """Stiffness against a load cos m.theta per unit amplitude of its shift: no assumed shape. [N/m]"""
    wave = np.cos(m * angles(rim))
    load = np.zeros((rim.holes, 6))
    load[:, direction] = wave
    amplitude = wave @ shift(rim, load)[:, direction] * 2 / rim.holes
    return (wave @ wave) / amplitude


def _part(rim, freedom):
    return (6 * np.arange(rim.holes)[:, None] + np.array(freedom)).ravel()


def buckling_pull(rim, freedom, *, to_centre):
    """Least radial pull per length at which the ring alone buckles. [N/m]

    Loads keep their direction, or, ``to_centre``, point to the centre as spokes of length R would.
    """
    ring, n, radius = ring_of(rim), rim.holes, rim.section_radius
    own = ring.own_geometric.copy()
    if to_centre:
        # One newton of compression is a pull of 2 pi / n at each station, over the length R.
        own[:, LAT, LAT] -= 2 * np.pi / n / radius
        own[:, TAN, TAN] -= 2 * np.pi / n / radius
    part = np.ix_(_part(rim, freedom), _part(rim, freedom))
    stiffness = _matrix(rim)[part]
    # A ring under dead loads topples as a whole; that is no buckling, so rigid motions are held.
    values, motions = eigh(stiffness)
    stiffness += values[-1] * motions[:, :3] @ motions[:, :3].T
    return 1 / eigh(ring_matrix(own, ring.next_geometric)[part], stiffness, eigvals_only=True)[-1] / radius


def free_tones(rim, mass, freedom, count):
    """The lowest tones of the ring hung free, its mass lumped at the stations without rotary inertia. [Hz]"""
    part = _part(rim, freedom)
    moving = np.where(part % 6 < 3, mass / rim.holes, 0.0)
    stiffness = _matrix(rim)[np.ix_(part, part)]
    stiffness += 1e-4 * np.eye(len(part))  # the string it hangs on
    square = eigh(np.diag(moving), stiffness, eigvals_only=True)[::-1]
    return 1 / np.sqrt(square[3:3 + 2 * count:2]) / (2 * np.pi)  # three rigid motions, then waves in pairs
