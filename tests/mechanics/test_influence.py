"""What small turns do: worked figures, symmetry, and wheels that can turn freely."""

from dataclasses import replace

import numpy as np
import pytest

import wheelsim
from tests.wheels import dished, front, make_wheel, paired, side_turns, two_to_one
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import influence, point_stiffness, resting
from wheelsim.mechanics.loads import first_slack
from wheelsim.mechanics.ring import ring_of
from wheelsim.mechanics.stability import ring_matrix
from wheelsim.mechanics.structure import Unstable
from wheelsim.wheel.geometry import pull_resultants, wheel_geometry

WHEELS = {"front": front(), "dished": dished(), "2:1": two_to_one(), "paired": paired(),
          "off-centre seats": dished(seat_offset=3e-3, inset=6e-3), "staggered": dished(drilling_offset=2e-3),
          "radial": front(cross=0), "mixed": dished(cross=(3, 0))}

WORKED = {"radius": 0.301, "hole_circle": 45e-3}  # the wheel of the worked figures


def test_quarter_turn_of_the_right_side():
    """Worked figures (derived): about 0.42 mm to the right, right +92 N, left +68 N a spoke at 1000 N."""
    wheel = front(**WORKED)
    found = influence(wheel)
    turns = side_turns(wheel, right=0.25)
    # Given to two figures.
    assert (found.lateral @ turns).mean() == pytest.approx(0.42e-3, abs=0.006e-3)
    change = found.tension @ turns
    assert change[0::2].mean() == pytest.approx(92, abs=0.6)
    assert change[1::2].mean() == pytest.approx(68, abs=0.6)


def test_quarter_turn_of_one_spoke():
    """Worked figures (derived): about +85 N on itself and 0.19 mm at it."""
    found = influence(front(**WORKED))
    assert 0.25 * found.tension[0, 0] == pytest.approx(85, abs=0.6)
    assert 0.25 * found.lateral[0, 0] == pytest.approx(0.19e-3, abs=0.005e-3)


@pytest.mark.parametrize("wheel", WHEELS.values(), ids=WHEELS)
def test_tension_changes_are_symmetric(wheel):
    """Maxwell and Betti: with equal stiffness and pitch, spoke i answers nipple j as j answers i."""
    found = influence(wheel)
    stiffness = wheel_geometry(wheel).stiffness
    scaled = found.tension / stiffness[None, :]
    # Rounding of the banded solution.
    assert np.abs(scaled / stiffness[:, None] - (scaled / stiffness[:, None]).T).max() < 1e-9 * np.abs(
        scaled / stiffness[:, None]).max()


@pytest.mark.parametrize("wheel", WHEELS.values(), ids=WHEELS)
def test_influence_is_the_slope_of_equilibrium(wheel):
    """The linear answer is the limit of the exact one; half a hundredth of a turn leaves its square."""
    rng = np.random.default_rng(3)
    turns = 0.005 * rng.standard_normal(wheel.n)
    found = influence(wheel)
    up, down = equilibrium(wheel, turns), equilibrium(wheel, -turns)
    for linear, a, b in ((found.lateral, up.lateral, down.lateral), (found.radial, up.radial, down.radial),
                         (found.tension, up.tension, down.tension)):
        expected = linear @ turns
        # Central difference: the error is of third order; the ring's hoop term is left out of the tangent.
        assert np.abs((a - b) / 2 - expected).max() < 2e-3 * np.abs(expected).max()


@pytest.mark.parametrize("wheel", WHEELS.values(), ids=WHEELS)
def test_pulls_balance_after_turns(wheel):
    """Resultant force and moment of all pulls at their present seats and in their present directions are zero."""
    rng = np.random.default_rng(5)
    state = equilibrium(wheel, 0.4 * rng.standard_normal(wheel.n))
    rest = state.resultant()
    # Newton stops at 3e-9 of the largest tension for the whole; a moment counts by the rim's radius.
    assert np.abs(rest[:3]).max() < 3e-9 * state.tension.max()
    assert np.abs(rest[3:]).max() < 3e-9 * state.tension.max() * wheel.rim.section_radius


@pytest.mark.parametrize("tension", [0.0, 1000.0])
@pytest.mark.parametrize("cross", [0, 3])
def test_wheel_free_to_turn_does_not_break(cross, tension):
    wheel = front(cross=cross, tension=tension)
    found = influence(wheel)
    assert np.isfinite(found.lateral).all()
    assert found.lateral[0, 0] > 0
    turns = side_turns(wheel, right=0.25, left=0.25)
    state = equilibrium(wheel, turns)
    # Crossed spokes lean in pairs, so neighbours differ a little; radial ones don't.
    assert state.tension == pytest.approx(np.full(36, state.tension[0]), rel=1e-2 if cross else 1e-6)
    assert state.tension[0] > tension + 50


def test_missing_spoke_neither_pulls_nor_turns():
    wheel = front(missing=(7,))
    found = influence(wheel)
    assert not found.tension[6].any()
    assert not found.lateral[:, 6].any()
    state = equilibrium(wheel)
    assert state.tension[6] == 0
    assert not state.slack[6]
    # With a right spoke gone the rim goes left there, and its neighbours on the right take the pull.
    assert state.lateral[6] < -0.1e-3
    assert state.tension[4] > 1050
    assert state.tension[8] > 1050
    g = wheel_geometry(wheel)
    assert g.tension[6] == pytest.approx(1000)


def test_ring_moves_freely_as_a_whole():
    ring = ring_of(front().rim)
    values = np.linalg.eigvalsh(ring_matrix(ring.own, ring.next))
    assert np.abs(values[:6]).max() < 1e-6 * values[6]
    assert values[6] > 0


def test_point_stiffness_of_every_right_spoke_is_the_same():
    wheel = front()
    lateral, radial = point_stiffness(wheel, 1)
    assert point_stiffness(wheel, 5) == pytest.approx((lateral, radial), rel=1e-9)
    assert radial > 20 * lateral
    with pytest.raises(ValueError, match="expected 1 to 36"):
        point_stiffness(wheel, 37)


def test_past_buckling_there_is_no_answer():
    wheel = front()
    critical = wheelsim.critical_tension(wheel)
    assert influence(replace(wheel, tension=0.99 * critical)).lateral[0, 0] > 0
    with pytest.raises(Unstable):
        influence(replace(wheel, tension=1.01 * critical))


def test_lever_moves_the_rim():
    """Seats inside the section's centre, crossed holes: the lever shows in the answer, not only in geometry."""
    plain, inset = influence(dished()), influence(dished(inset=10e-3))
    assert np.abs(inset.lateral - plain.lateral).max() > 0.01 * np.abs(plain.lateral).max()


def test_resultants_of_one_pull_by_hand():
    """A pull of 1 N to the right at the top: force right, moment about the forward axis of one radius."""
    out = pull_resultants(np.zeros(1), 0.3, np.zeros((1, 3)), np.array([[1.0, 0.0, 0.0]]))
    assert out[:, 0] == pytest.approx([1, 0, 0, 0, 0.3, 0])


def test_slack_spokes_pull_nothing():
    wheel = make_wheel(36)
    state = equilibrium(wheel, -3.0 * (np.arange(36) == 4))
    assert state.slack[4]
    assert state.tension[4] == 0
    assert (state.tension >= 0).all()
    assert state.slack.sum() == 1


def test_all_loose_is_no_wheel():
    with pytest.raises(Unstable):
        equilibrium(front(), np.full(36, -8.0))


@pytest.mark.parametrize("gone", [(), (7,), (4, 5)])
def test_influence_is_the_slope_of_the_state(gone):
    """Central differences of the followed wheel, at rest with spokes missing and nipples turned: rim and spokes."""
    wheel = front()
    wheel = replace(wheel, spokes=replace(wheel.spokes, missing=frozenset(gone)))
    there = ~np.isin(np.arange(wheel.n) + 1, gone)
    state = equilibrium(wheel, 0.2 * np.random.default_rng(0).standard_normal(wheel.n) * there)
    step = 1e-3 * (np.arange(wheel.n) == 10)
    low, high = (equilibrium(wheel, state.turns + sign * step, start=state) for sign in (-1, 1))
    for name in ("lateral", "radial", "tension"):
        slope = (getattr(high, name) - getattr(low, name)) / 2e-3
        # The rim's frame was held for the one and moves for the other: second order.
        assert np.abs(getattr(state.influence, name)[:, 10] - slope).max() < 2e-3 * np.abs(slope).max(), name


def test_missing_spokes_are_felt_where_the_wheel_rests_without_them():
    """``influence``, a load and the tyre's squeeze: of the wheel as it stands, not of the complete one."""
    wheel = front()
    wheel = replace(wheel, spokes=replace(wheel.spokes, missing=frozenset({7})))
    state, step = equilibrium(wheel), 1e-3 * (np.arange(wheel.n) == 8)
    low, high = (equilibrium(wheel, sign * step, start=state) for sign in (-1, 1))
    felt = influence(wheel)
    for name in ("lateral", "tension"):
        slope = (getattr(high, name) - getattr(low, name)) / 2e-3
        assert np.abs(getattr(felt, name)[:, 8] - slope).max() < 2e-3 * np.abs(slope).max()
    neighbour = state.tension[8] / equilibrium(front()).tension[8]
    assert neighbour > 1.05  # it carries some of what the missing one did
    rest = resting(wheel)
    assert rest.tension == pytest.approx(state.tension)
    assert rest.tension[6] == 0.0
    # What goes slack first under a load is asked of these tensions.
    assert first_slack(wheel, "radial")[0] == pytest.approx(first_slack(wheel, "radial", state.tension)[0])


@pytest.mark.parametrize("wheel", [front(), dished()], ids=["front", "dished"])
def test_what_a_rim_half_as_stiff_again_sideways_changes(wheel):
    """The figures of README's limits: dish not at all, a nipple's shift some 5 %, its neighbour's tension 15 %."""
    stiffer = replace(wheel, rim=replace(wheel.rim, lateral_bending=1.5 * wheel.rim.lateral_bending))
    usual, other = influence(wheel), influence(stiffer)
    right = np.zeros(wheel.n)
    right[wheel.on_side("right")] = 1.0
    # A whole side bends nothing on an evenly laced wheel; crossed lacing leaves a trace.
    assert (other.lateral @ right).mean() == pytest.approx((usual.lateral @ right).mean(), rel=1e-3)
    assert np.ptp(other.lateral[:, 5]) / np.ptp(usual.lateral[:, 5]) == pytest.approx(0.95, abs=0.01)
    assert other.tension[6, 5] / usual.tension[6, 5] == pytest.approx(1.15, abs=0.025)
