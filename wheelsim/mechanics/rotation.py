"""Finite rotations of many stations at once, by rotation vectors (n, 3). [rad]

References
----------
M. Geradin, A. Cardona, Flexible Multibody Dynamics, 2001, ch. 4 (rotation vector and its tangent map).
"""

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.structure import cross_matrix


def _series(vector: Floats) -> tuple[Floats, Floats, Floats]:
    """sin t / t, (1 - cos t) / t^2 and (t - sin t) / t^3 of the angle t, each (n, 1, 1); Taylor series near zero."""
    square = np.sum(vector**2, axis=-1)[:, None, None]
    small = square < 1e-4
    t = np.sqrt(np.where(small, 1.0, square))
    return (
        np.where(small, 1 - square / 6 * (1 - square / 20), np.sin(t) / t),
        np.where(small, 0.5 - square / 24 * (1 - square / 30), (1 - np.cos(t)) / t**2),
        np.where(small, 1 / 6 - square / 120 * (1 - square / 42), (t - np.sin(t)) / t**3),
    )


def rotation_matrix(vector: Floats) -> Floats:
    """Rotation matrices (n, 3, 3) of rotation vectors (n, 3), by Rodrigues' formula."""
    a, b, _ = _series(vector)
    spin = cross_matrix(vector)
    return np.eye(3) + a * spin + b * spin @ spin


def tangent_map(vector: Floats) -> Floats:
    """Matrices (n, 3, 3) that turn a small change of the rotation vector into the small rotation it causes."""
    _, b, c = _series(vector)
    spin = cross_matrix(vector)
    return np.eye(3) + b * spin + c * spin @ spin


def rotation_vector(matrix: Floats) -> Floats:
    """Rotation vectors (n, 3) of rotation matrices (n, 3, 3); for angles well below half a turn."""
    axial = np.stack([matrix[:, 2, 1] - matrix[:, 1, 2], matrix[:, 0, 2] - matrix[:, 2, 0],
                      matrix[:, 1, 0] - matrix[:, 0, 1]], axis=1) / 2
    sine = np.linalg.norm(axial, axis=1)
    cosine = (np.trace(matrix, axis1=1, axis2=2) - 1) / 2
    angle = np.arctan2(sine, cosine)
    return axial * np.where(sine < 1e-9, 1.0, angle / np.where(sine < 1e-9, 1.0, sine))[:, None]
