"""The tangent stiffness beside finite differences of what is out of balance, and what is added to a factored matrix."""

import numpy as np
import pytest

from tests.wheels import dished, front
from wheelsim.mechanics import equilibrium as rest
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.forces import residual_of
from wheelsim.mechanics.pose import PosedSpokes, body_of, moved
from wheelsim.mechanics.ring import ring_of
from wheelsim.mechanics.structure import Factor, Unstable, Updated

SEATS_OUT = dished(seat_offset=3e-3, inset=6e-3)


def bent(wheel, amount):
    """Own shapes (2, n) of a rim bent to a saddle, out of round by half of it. [m]"""
    waves = np.asarray(wheel.rim.hole_angles)
    return amount * np.stack([np.cos(2 * waves), np.sin(3 * waves) / 2])


def scattered(wheel, most):
    return np.random.default_rng(1).uniform(-most, most, wheel.n)


@pytest.mark.parametrize(("wheel", "turns", "own", "within"), [
    # Without levers the tangent is whole; rounding leaves differences of some 3e-5.
    (front(), scattered(front(), 0.5), 0.0, 1e-4), (front(), scattered(front(), 2.0), 5e-3, 1e-4),
    (dished(missing=(4, 9)), scattered(dished(), 1.5), 2e-3, 1e-4),
    # Seats 6 mm off the section's centre, the rim bent by two degrees: rotation and rotation vector differ by 2 %.
    (SEATS_OUT, scattered(SEATS_OUT, 1.0), 2e-3, 0.03)], ids=["uneven", "bent and slack", "missing", "seats out"])
def test_tangent_beside_finite_differences(wheel, turns, own, within):
    """Displacements that the tangent finds for a load change what is out of balance by that load."""
    state = equilibrium(wheel, turns, bent(wheel, own))
    body = body_of(wheel, state.own_shape)

    def out_of_balance(change):
        pose = moved(body, state.pose, change)
        return residual_of(body, pose, PosedSpokes(body, pose, state.turns))

    factor, rng = state.factored[0], np.random.default_rng(0)
    for _ in range(3):
        load = rng.standard_normal((wheel.n, 6)) * (1.0, 1.0, 1.0, 0.3, 0.3, 0.3)
        change = factor.solve(load)
        small = 2e-6 / np.abs(change).max()
        difference = (out_of_balance(-small * change) - out_of_balance(small * change)) / (2 * small)
        assert difference == pytest.approx(load, abs=within * np.abs(load).max())


@pytest.mark.parametrize(("wheel", "most", "own"), [
    (front(), 2.5, 1e-2), (dished(), 1.5, 1e-2), (dished(), 2.5, 2e-3), (dished(missing=(4, 9)), 1.5, 1e-2)])
def test_far_off_few_steps_lead_to_rest(monkeypatch, wheel, most, own):
    """Newton's method with the whole tangent: a rim bent by millimetres, a spoke slack, is little slower than others.

    Without the moving frame's part of the tangent these take some twenty.
    """
    steps, newton = [], rest._newton

    def watched(*arguments):
        found = newton(*arguments)
        steps.append(len(found[2]) - 1)
        return found

    monkeypatch.setattr(rest, "_newton", watched)
    equilibrium(wheel, scattered(wheel, most), bent(wheel, own))
    assert len(steps) == 1  # not led there in eighths
    assert steps[0] <= 14


def dense(own, nxt):
    """The matrix (6 n, 6 n) given by its blocks."""
    n = len(own)
    out = np.zeros((n, 6, n, 6))
    for k in range(n):
        out[k, :, k] += own[k]
        out[k, :, (k + 1) % n] += nxt[k]
        out[(k + 1) % n, :, k] += nxt[k].T
    return out.reshape(6 * n, -1)


@pytest.mark.parametrize(("weight", "stands"), [(-0.5, True), (-1.5, False)])
def test_what_is_added_to_a_factored_matrix(weight, stands):
    """The matrix added up and solved by numpy; refused where a vector is left with no stiffness."""
    ring, rng = ring_of(front().rim), np.random.default_rng(0)
    own = ring.own + 1e5 * np.eye(6)
    n, factor = len(own), Factor(own, ring.next)
    vectors = rng.standard_normal((n, 6, 2))
    # Along the first vector the matrix's own stiffness is 1 over u' K^-1 u; the second weight makes it stiffer.
    flat = vectors.reshape(-1, 2)
    weights = np.array([weight / (flat[:, 0] @ factor.solve(vectors).reshape(-1, 2)[:, 0]), 10.0])
    if not stands:
        with pytest.raises(Unstable):
            Updated(factor, vectors, np.diag(1 / weights), 1)
        return
    load = rng.standard_normal((n, 6))
    whole = dense(own, ring.next) + flat @ np.diag(weights) @ flat.T
    expected = np.linalg.solve(whole, load.ravel())
    assert Updated(factor, vectors, np.diag(1 / weights), 1).solve(load).ravel() == pytest.approx(
        expected, rel=1e-6, abs=1e-9 * np.abs(expected).max())


@pytest.mark.parametrize("size", [0.3, 30.0])
def test_pairs_added_to_a_factored_matrix(size):
    """``-(u v' + v u')``, as the moving frame adds it: refused exactly where numpy finds a negative eigenvalue."""
    ring, rng = ring_of(front().rim), np.random.default_rng(0)
    own = ring.own + 1e5 * np.eye(6)
    vectors = size * rng.standard_normal((len(own), 6, 6)) * np.sqrt(1e3)
    flat, swapped = vectors.reshape(-1, 6), np.zeros((6, 6))
    swapped[:3, 3:] = swapped[3:, :3] = -np.eye(3)
    whole = dense(own, ring.next) + flat @ swapped @ flat.T
    if np.linalg.eigvalsh(whole)[0] < 0:
        with pytest.raises(Unstable):
            Updated(Factor(own, ring.next), vectors, swapped, 3)
        assert size > 1
        return
    assert size < 1
    load = rng.standard_normal((len(own), 6))
    expected = np.linalg.solve(whole, load.ravel())
    assert Updated(Factor(own, ring.next), vectors, swapped, 3).solve(load).ravel() == pytest.approx(
        expected, rel=1e-6, abs=1e-9 * np.abs(expected).max())
