"""Finite rotations of many stations at once, by rotation vectors (n, 3). [rad]

References
----------
M. Geradin, A. Cardona, Flexible Multibody Dynamics, 2001, ch. 4 (rotation vector and its tangent map).
"""

from math import cos, sin, sqrt

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.structure import CROSSES, FLAT_UNIT

TINY = 1e-300  # added to a square, so that sin t / t is sound where t is 0 [rad^2]


class Rotations:
    """Rotations given by vectors (n, 3); what their matrices have in common is worked out once."""

    def __init__(self, vector: Floats) -> None:
        self._square = np.add.reduce(vector**2, axis=-1)[:, None]  # t^2, (n, 1)
        self._small = self._square < 1e-4
        # Where all are small no series needs t.
        self._t = None if self._small.all() else np.sqrt(np.where(self._small, 1.0, self._square))
        self._flat = vector @ CROSSES  # (n, 9): broadcasting over rows of nine is faster than over matrices
        self._spin = self._flat.reshape(-1, 3, 3)
        self._part = self._cosine() * self._flat

    # The series below are sound at zero; (n, 1) each.

    def _sine(self) -> Floats:
        """sin t / t."""
        square, t = self._square, self._t
        series: Floats = 1 - square / 6 * (1 - square / 20)
        return series if t is None else np.where(self._small, series, np.sin(t) / t)

    def _cosine(self) -> Floats:
        """(1 - cos t) / t^2."""
        square, t = self._square, self._t
        series: Floats = 0.5 - square / 24 * (1 - square / 30)
        return series if t is None else np.where(self._small, series, (1 - np.cos(t)) / t**2)

    def _less_sine(self) -> Floats:
        """(t - sin t) / t^3."""
        square, t = self._square, self._t
        series: Floats = 1 / 6 - square / 120 * (1 - square / 42)
        return series if t is None else np.where(self._small, series, (t - np.sin(t)) / t**3)

    def _less_cotangent(self) -> Floats:
        """(1 - t/2 cot(t/2)) / t^2."""
        square, t = self._square, self._t
        series: Floats = 1 / 12 + square / 720 * (1 + square / 42)
        return series if t is None else np.where(self._small, series, (1 - t / 2 / np.tan(t / 2)) / t**2)

    def matrices(self) -> Floats:
        """Rotation matrices (n, 3, 3), by Rodrigues' formula."""
        return self._sum(self._sine() * self._flat, self._part)

    def tangent_maps(self) -> Floats:
        """Matrices (n, 3, 3) that turn a small change of a rotation vector into the small rotation it causes."""
        return self._sum(self._part, self._less_sine() * self._flat)

    def inverse_tangent_maps(self) -> Floats:
        """The inverses (n, 3, 3) of ``tangent_maps``."""
        return self._sum(-self._flat / 2, self._less_cotangent() * self._flat)

    def _sum(self, first: Floats, second: Floats) -> Floats:
        """Unit matrices and terms in the first and the second power of the spin, the second over one spin, (n, 9)."""
        first = FLAT_UNIT + first
        out: Floats = first.reshape(-1, 3, 3)
        out += second.reshape(-1, 3, 3) @ self._spin
        return out


def quaternions(vector: Floats) -> Floats:
    """Unit quaternions (n, 4), scalar first, of rotation vectors (n, 3)."""
    angle = np.sqrt(np.einsum("ij,ij->i", vector, vector) + TINY)
    half = angle / 2
    out = np.empty((len(vector), 4))
    np.cos(half, out=out[:, 0])
    np.multiply(vector, (np.sin(half) / angle)[:, None], out=out[:, 1:])
    return out


def vectors_of(quaternion: Floats) -> Floats:
    """Rotation vectors (n, 3) of unit quaternions (n, 4) with a positive scalar."""
    part = quaternion[:, 1:]
    sine = np.sqrt(np.einsum("ij,ij->i", part, part) + TINY)
    vectors: Floats = part * (2 * np.arctan2(sine, quaternion[:, 0]) / sine)[:, None]
    return vectors


def of_one(x: float, y: float, z: float) -> tuple[Floats, Floats]:
    """Of one rotation vector: its matrix (3, 3), and the matrix (4, 4) that takes it off quaternions (n, 4).

    Taken off quaternions q, one a row, it leaves ``q @ matrix``: conj(r) q, r being its own quaternion. What is left
    comes first, then this rotation.
    """
    angle = sqrt(x * x + y * y + z * z)
    part = sin(angle / 2) / angle if angle else 0.5
    w, x, y, z = cos(angle / 2), part * x, part * y, part * z
    matrix = np.array([[1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
                       [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
                       [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)]])
    back = np.array([[w, -x, -y, -z], [x, w, -z, y], [y, z, w, -x], [z, -y, x, w]])
    return matrix, back


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
