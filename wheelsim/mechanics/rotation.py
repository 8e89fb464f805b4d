"""Finite rotations of many stations at once, by rotation vectors (n, 3). [rad]

References
----------
M. Geradin, A. Cardona, Flexible Multibody Dynamics, 2001, ch. 4 (rotation vector and its tangent map).
"""

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.structure import UNIT, cross_matrix


def _angle(vector: Floats) -> tuple[Floats, Floats, Floats | None]:
    """t^2, where it is small, and t, each (n, 1, 1); None for t where all are small: then no series needs it."""
    square = (vector**2).sum(axis=-1)[:, None, None]
    small = square < 1e-4
    return square, small, None if small.all() else np.sqrt(np.where(small, 1.0, square))


# The series below are sound at zero; (n, 1, 1) each.


def _sine(square: Floats, small: Floats, t: Floats | None) -> Floats:
    """sin t / t."""
    series = 1 - square / 6 * (1 - square / 20)
    return series if t is None else np.where(small, series, np.sin(t) / t)


def _cosine(square: Floats, small: Floats, t: Floats | None) -> Floats:
    """(1 - cos t) / t^2."""
    series = 0.5 - square / 24 * (1 - square / 30)
    return series if t is None else np.where(small, series, (1 - np.cos(t)) / t**2)


def _less_sine(square: Floats, small: Floats, t: Floats | None) -> Floats:
    """(t - sin t) / t^3."""
    series = 1 / 6 - square / 120 * (1 - square / 42)
    return series if t is None else np.where(small, series, (t - np.sin(t)) / t**3)


def rotation_matrix(vector: Floats) -> Floats:
    """Rotation matrices (n, 3, 3) of rotation vectors (n, 3), by Rodrigues' formula."""
    angle = _angle(vector)
    spin = cross_matrix(vector)
    return UNIT + _sine(*angle) * spin + _cosine(*angle) * spin @ spin


def tangent_map(vector: Floats) -> Floats:
    """Matrices (n, 3, 3) that turn a small change of the rotation vector into the small rotation it causes."""
    angle = _angle(vector)
    spin = cross_matrix(vector)
    return UNIT + _cosine(*angle) * spin + _less_sine(*angle) * spin @ spin


def rotation_vector(matrix: Floats) -> Floats:
    """Rotation vectors (n, 3) of rotation matrices (n, 3, 3); for angles well below half a turn."""
    axial = np.empty((len(matrix), 3))
    axial[:, 0] = matrix[:, 2, 1] - matrix[:, 1, 2]
    axial[:, 1] = matrix[:, 0, 2] - matrix[:, 2, 0]
    axial[:, 2] = matrix[:, 1, 0] - matrix[:, 0, 1]
    axial /= 2
    sine = np.sqrt((axial**2).sum(axis=1))
    cosine = (matrix[:, 0, 0] + matrix[:, 1, 1] + matrix[:, 2, 2] - 1) / 2
    angle = np.arctan2(sine, cosine)
    none = sine < 1e-9
    return axial * np.where(none, 1.0, angle / np.where(none, 1.0, sine))[:, None]
