"""Rotations by vectors beside a general-purpose library, scipy.spatial.transform.Rotation, and finite differences."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from wheelsim.mechanics.rotation import Rotations, of_one, quaternions, rotation_vector, vectors_of

# Of no angle, of one where the series stand for sine and cosine, beside where they end, and of large ones. [rad]
ANGLES = (0.0, 1e-3, 9e-3, 1.1e-2, 0.3, 2.0)


@pytest.fixture
def vectors():
    rng = np.random.default_rng(0)
    axes = rng.normal(size=(len(ANGLES), 3))
    return axes / np.linalg.norm(axes, axis=1)[:, None] * np.array(ANGLES)[:, None]


@pytest.mark.parametrize("largest", [1e-2, 3.0])
def test_matrices(vectors, largest):
    """All small, where the series alone are worked out, and mixed with large ones."""
    some = vectors[np.array(ANGLES) < largest]
    # Series cut off at the sixth power of 0.01: far below the rounding of a few products.
    assert Rotations(some).matrices() == pytest.approx(Rotation.from_rotvec(some).as_matrix(), abs=1e-14)


def test_the_vector_comes_back(vectors):
    assert rotation_vector(Rotations(vectors).matrices()) == pytest.approx(vectors, abs=1e-12)


def test_quaternions_there_and_back(vectors):
    scalar_last = Rotation.from_rotvec(vectors).as_quat()
    # A sine, a cosine and a root: rounding.
    assert quaternions(vectors) == pytest.approx(np.roll(scalar_last, 1, axis=1), abs=1e-15)
    assert vectors_of(quaternions(vectors)) == pytest.approx(vectors, abs=1e-14)


@pytest.mark.parametrize("size", [0.0, 1e-9, 0.3])
def test_one_rotation_taken_off(vectors, size):
    one = size * np.array([0.6, -0.48, 0.64])
    matrix, back = of_one(*one)
    there = Rotation.from_rotvec(one)
    assert matrix == pytest.approx(there.as_matrix(), abs=1e-15)
    left = there.inv() * Rotation.from_rotvec(vectors)
    # Products of two quaternions: rounding.
    assert vectors_of(quaternions(vectors) @ back) == pytest.approx(left.as_rotvec(), abs=1e-14)


def test_tangent_maps(vectors):
    """A small change of the vector, against the rotation that it causes after the old one."""
    step = 1e-6
    maps, before = Rotations(vectors).tangent_maps(), Rotation.from_rotvec(vectors)
    for k, way in enumerate(np.eye(3)):
        ends = [Rotation.from_rotvec(vectors + sign * step * way) * before.inv() for sign in (1.0, -1.0)]
        slope = (ends[0].as_rotvec() - ends[1].as_rotvec()) / (2 * step)
        # Central differences: 1e-12 of the step's square, and rounding over the step.
        assert maps[:, :, k] == pytest.approx(slope, abs=1e-9)
    # A product of two matrices near the unit matrix.
    assert maps @ Rotations(vectors).inverse_tangent_maps() == pytest.approx(np.tile(np.eye(3), (len(ANGLES), 1, 1)),
                                                                              abs=1e-13)
