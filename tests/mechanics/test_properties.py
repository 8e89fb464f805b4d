"""Properties that hold for every wheel, whatever the turns."""

from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.wheels import make_wheel
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import influence, nominal_factor
from wheelsim.mechanics.stability import critical_tension

QUICK = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True)


@st.composite
def wheels(draw):
    n = draw(st.sampled_from([16, 20, 24, 28, 32, 36]))
    near = draw(st.floats(0.017, 0.035))
    wheel = make_wheel(
        n, cross=draw(st.integers(0, min(3, n // 8))), right=near, left=draw(st.floats(near, 0.038)),
        tension=draw(st.floats(500.0, 1100.0)), inset=draw(st.sampled_from([0.0, 6e-3])),
        drilling_offset=draw(st.sampled_from([0.0, 1.5e-3])),
    )
    # Well below buckling, as any wheel on a bench.
    return replace(wheel, tension=min(wheel.tension, 0.45 * critical_tension(wheel)))


@st.composite
def turned(draw, most=0.5):
    wheel = draw(wheels())
    seed = draw(st.integers(0, 2**32 - 1))
    return wheel, most * np.random.default_rng(seed).uniform(-1, 1, wheel.n)


def mirrored(wheel):
    """Seen in a mirror across the rim's plane: right and left change places, the valve's hole stays."""
    swap = {"R": "L", "L": "R"}
    spokes = replace(wheel.spokes, sides="".join(swap[s] for s in wheel.spokes.sides), left=wheel.spokes.right,
                     right=wheel.spokes.left)
    hub = replace(wheel.hub, left=wheel.hub.right, right=wheel.hub.left)
    side = "left" if wheel.tension_side == "right" else "right"
    return replace(wheel, spokes=spokes, hub=hub, tension_side=side)


@QUICK
@given(turned())
def test_mirror(case):
    """Mirror the wheel and everything mirrors."""
    wheel, turns = case
    here, there = equilibrium(wheel, turns), equilibrium(mirrored(wheel), turns)
    # Both stop within 2e-11 of equilibrium.
    assert np.abs(here.lateral + there.lateral).max() < 1e-9
    assert np.abs(here.radial - there.radial).max() < 1e-9
    assert np.abs(here.tension - there.tension).max() < 1e-5


@QUICK
@given(turned(), st.integers(1, 8))
def test_rotate(case, places):
    """Rotate the numbering by whole periods of the lacing and everything rotates."""
    wheel, turns = case
    if wheel.n % 4:
        return
    places = 4 * places
    here, there = equilibrium(wheel, turns), equilibrium(wheel, np.roll(turns, places))
    for name in ("lateral", "radial"):
        assert np.abs(np.roll(getattr(here, name), places) - getattr(there, name)).max() < 1e-9
    assert np.abs(np.roll(here.tension, places) - there.tension).max() < 1e-5


@QUICK
@given(turned(most=1.0))
def test_there_and_back(case):
    """Turns and their reverse return the wheel, by way of where they took it."""
    wheel, turns = case
    there = equilibrium(wheel, turns)
    back = equilibrium(wheel, there.turns - turns, start=there)
    rest = equilibrium(wheel)
    assert np.abs(back.lateral - rest.lateral).max() < 1e-9
    assert np.abs(back.tension - rest.tension).max() < 1e-5


@QUICK
@given(turned(most=1.0))
def test_pulls_balance(case):
    """Resultant force and moment of all pulls in their present directions: 1e-9 of the largest tension."""
    wheel, turns = case
    state = equilibrium(wheel, turns)
    rest = state.resultant()
    assert np.abs(rest[:3]).max() < 1e-9 * state.tension.max()
    assert np.abs(rest[3:]).max() < 1e-9 * state.tension.max() * wheel.rim.section_radius


@QUICK
@given(turned())
def test_spokes_only_pull(case):
    """No compressive spoke ever; slack ones pull nothing."""
    wheel, turns = case
    loose = turns.copy()
    loose[3] -= 20.0
    state = equilibrium(wheel, loose)
    assert (state.tension >= 0).all()
    assert state.slack[3]
    assert not state.tension[state.slack].any()


@QUICK
@given(turned(most=0.01))
def test_small_turns_add(case):
    """Superposition: the answers to small turns add up, to the square of them."""
    wheel, turns = case
    one, other = np.where(np.arange(wheel.n) < wheel.n // 2, turns, 0.0), np.where(
        np.arange(wheel.n) < wheel.n // 2, 0.0, turns)
    rest = equilibrium(wheel)
    both, first, second = (equilibrium(wheel, t) for t in (turns, one, other))
    for name in ("lateral", "tension"):
        r = getattr(rest, name)
        added = getattr(first, name) - r + getattr(second, name) - r
        # A hundredth of a turn is some thousandth of what makes a wheel nonlinear.
        assert np.abs(getattr(both, name) - r - added).max() < 3e-3 * np.abs(added).max()


@QUICK
@given(wheels())
def test_stiffness_is_symmetric_and_positive_below_buckling(wheel):
    factor, _ = nominal_factor(wheel)
    load = np.eye(6 * wheel.n).reshape(wheel.n, 6, -1)
    flexibility = factor.solve(load).reshape(6 * wheel.n, -1)
    assert np.abs(flexibility - flexibility.T).max() < 1e-8 * np.abs(flexibility).max()
    assert np.linalg.eigvalsh((flexibility + flexibility.T) / 2).min() > 0
    assert (np.diag(influence(wheel).tension) > 0).all()
