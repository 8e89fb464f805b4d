"""Rims that are not even all round: a joint, and a shape of the rim's own."""

from dataclasses import fields, replace

import numpy as np
import pytest

from tests.mechanics.exact import ExactWheel
from tests.wheels import dished, front, paired, side_turns
from wheelsim.estimation.estimate import estimate
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import influence
from wheelsim.mechanics.ring import arc_stiffness, ring_of
from wheelsim.mechanics.stability import critical_tension, ring_matrix
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.wheel.geometry import RAD, wheel_geometry
from wheelsim.wheel.parts import Joint

STEP = 2 * np.pi / (36 * 6)  # a sixth of a gap of 36 holes
JOINTS = {
    "stiff sleeve opposite the valve": Joint(np.pi, 12 * STEP, 4.0),
    "soft joint opposite the valve": Joint(np.pi, 2 * STEP, 0.2),
    "soft across the valve": Joint(0.0, 6 * STEP, 0.3),
    "soft across the valve, off it": Joint(2 * np.pi - 3 * STEP, 12 * STEP, 0.3),
    "stiff within one gap": Joint(1.5 * np.pi, 2 * STEP, 5.0),
    "a bend over a quarter": Joint(np.pi, 54 * STEP, 0.7),
}
EACH = pytest.mark.parametrize("joint", JOINTS.values(), ids=JOINTS)


def jointed(wheel, joint):
    return replace(wheel, rim=replace(wheel.rim, joint=joint))


def free_motions(ring):
    """Eigenvalues of the ring's stiffness in even units: displacements and rotations times the radius."""
    radius = ring.circumference / (2 * np.pi)
    scale = np.tile(np.repeat([1.0, 1 / radius], 3), len(ring.own))
    return np.linalg.eigvalsh(ring_matrix(ring.own, ring.next) * np.outer(scale, scale))


@pytest.mark.parametrize("place", [0.0, 1.0, np.pi, 2 * np.pi])
@pytest.mark.parametrize("wheel", [front(), dished(), paired()], ids=["front", "dished", "paired"])
def test_joint_as_stiff_as_the_rim_changes_nothing(wheel, place):
    plain, same = ring_of(wheel.rim), ring_of(jointed(wheel, Joint(place, 0.3, 1.0)).rim)
    for part in fields(plain):
        one, other = getattr(plain, part.name), getattr(same, part.name)
        # Rounding: a matrix exponential taken whole or in pieces.
        assert np.abs(one - other).max() < 1e-11 * np.abs(one).max(), part.name


@EACH
def test_ring_with_a_joint_is_a_ring(joint):
    """Symmetric, six free motions and no more; a rigid motion stretches it nowhere."""
    ring = ring_of(jointed(front(), joint).rim)
    assert np.array_equal(ring.own, ring.own.transpose(0, 2, 1))
    assert np.array_equal(ring.own_geometric, ring.own_geometric.transpose(0, 2, 1))
    values = free_motions(ring)
    # Rounding of entries a million times the least stiffness of the free ring.
    assert np.abs(values[:6]).max() < 1e-5 * values[6]
    assert values[6] > 0
    sideways = np.tile([1.0, 0, 0, 0, 0, 0], (36, 1))
    assert abs(np.sum(ring.stretch * sideways)) < 1e-9


@EACH
def test_wheel_with_a_joint_keeps_maxwell(joint):
    """Spoke i answers nipple j as j answers i, joint or none."""
    wheel = jointed(dished(), joint)
    stiffness = wheel_geometry(wheel).stiffness
    even = influence(wheel).tension / np.outer(stiffness, stiffness)
    # Rounding of the banded solution.
    assert np.abs(even - even.T).max() < 1e-9 * np.abs(even).max()
    assert np.abs(influence(wheel).lateral - influence(dished()).lateral).max() > 1e-3 * np.abs(even * stiffness).max()


def of_short_arcs(rim, most):
    """Elastic and geometric ring matrices from arcs cut at the joint's edges and to ``most`` radians, condensed.

    Each short arc has one stiffness; assembled station by station, and the stations without a hole eliminated.
    Third comes the mean hoop strain per displacement: the tangential shifts cancel once round, the radial add up.
    """
    joint, holes = rim.joint, np.asarray(rim.hole_angles)
    edges = (joint.angle + joint.arc / 2 * np.array([-1, 1])) % (2 * np.pi)
    even = np.arange(0.0, 2 * np.pi, most) + 0.123 * most
    cuts = np.sort(np.concatenate([even, edges]))
    cuts = cuts[np.abs(cuts[:, None] - holes).min(axis=1) > 1e-6]
    at = np.sort(np.concatenate([holes, cuts]))
    elastic, geometric = np.zeros((2, 6 * len(at), 6 * len(at)))
    for i, start in enumerate(at):
        arc = (at[(i + 1) % len(at)] - start) % (2 * np.pi)
        away = (start + arc / 2 - joint.angle + np.pi) % (2 * np.pi) - np.pi
        share = joint.stiffness if abs(away) < joint.arc / 2 else 1.0
        parts = arc_stiffness(arc, rim.section_radius, *(share * value for value in (
            rim.radial_bending, rim.lateral_bending, rim.torsion, rim.stretch)))
        where = np.concatenate([6 * i + np.arange(6), 6 * ((i + 1) % len(at)) + np.arange(6)])
        for whole, part in zip((elastic, geometric), parts, strict=True):
            whole[np.ix_(where, where)] += part
    kept = (6 * np.searchsorted(at, holes)[:, None] + np.arange(6)).ravel()
    rest = np.setdiff1d(np.arange(6 * len(at)), kept)
    follow = np.zeros((6 * len(at), len(kept)))
    follow[kept] = np.eye(len(kept))
    follow[rest] = -np.linalg.solve(elastic[np.ix_(rest, rest)], elastic[np.ix_(rest, kept)])
    arcs = np.diff(at, append=at[0] + 2 * np.pi)
    outward = np.zeros(6 * len(at))
    outward[RAD::6] = (arcs + np.roll(arcs, 1)) / 2
    # To first order in the compression, stations without load follow as they do without it.
    return (follow.T @ elastic @ follow, follow.T @ geometric @ follow,
            outward @ follow / (2 * np.pi * rim.section_radius))


@EACH
@pytest.mark.parametrize("wheel", [front(), paired()], ids=["front", "paired"])
def test_joint_against_many_short_arcs(wheel, joint):
    """The same ring from some 250 arcs, each of one stiffness, holes or not: the product's closed form."""
    rim = jointed(wheel, joint).rim
    ring = ring_of(rim)
    elastic, geometric, strain = of_short_arcs(rim, 0.03)
    for ours, theirs in ((ring_matrix(ring.own, ring.next), elastic),
                         (ring_matrix(ring.own_geometric, ring.next_geometric), geometric)):
        # Rounding of the condensation of some 1300 unknowns.
        assert np.abs(ours - theirs).max() < 1e-8 * np.abs(theirs).max()
    # The radial shift is added up by trapezia of 0.03 radians: 1e-3; the joints change it by up to a tenth.
    scale = np.tile(np.repeat([1.0, rim.section_radius], 3), wheel.n)
    assert np.abs((ring.stretch.ravel() - strain) / scale).max() < 2e-3 * np.abs(strain / scale).max()
    soft = 1 + joint.arc / (2 * np.pi) * (1 / joint.stiffness - 1)
    # Arcs one after the other give each its own; angles are rounded to 12 digits.
    assert ring.rigidity == pytest.approx(rim.stretch / soft, rel=1e-9)


@EACH
@pytest.mark.parametrize("turns", [np.eye(36)[0], np.eye(36)[18], side_turns(front(), right=1.0)],
                         ids=["spoke 1", "spoke 19", "right side"])
def test_joint_against_the_exact_wheel(joint, turns):
    """One turn, followed exactly by straight members of their own stiffness each: tensions and shifts."""
    wheel = jointed(front(), joint)
    lateral, radial, tension = ExactWheel(wheel, 6).rest(turns)
    state = equilibrium(wheel, turns)
    change = np.abs(tension - 1000.0).max()
    # 216 straight members for the circle and an even hoop force; the joints move these by up to 16 %.
    assert np.abs(state.tension - tension).max() < 0.005 * change
    shift = np.abs(np.stack([state.lateral - lateral, state.radial - radial])).max()
    assert shift < 0.005 * max(np.abs(lateral).max(), np.abs(radial).max())


def test_joint_may_lie_anywhere():
    """Radial spokes by turns: a joint moved round by two holes moves every answer round with it, past the valve too."""
    wheel, gap = front(cross=0), 2 * np.pi / 36
    first = influence(jointed(wheel, Joint(gap, 0.25, 0.4)))
    for places in (2, 18, 34):
        angle = (gap + places * gap) % (2 * np.pi)
        there = influence(jointed(wheel, Joint(angle, 0.25, 0.4)))
        for name in ("lateral", "radial", "tension"):
            moved = np.roll(getattr(first, name), (places, places), axis=(0, 1))
            # Rounding, also of the angles.
            assert np.abs(moved - getattr(there, name)).max() < 1e-8 * np.abs(moved).max()


def test_softer_where_the_joint_is_soft():
    """A turn beside a soft joint moves the rim more there, and takes less of it further off; buckling comes sooner."""
    soft, stiff = (jointed(front(), Joint(np.pi, 0.3, share)) for share in (0.3, 3.0))
    at = 17  # spoke 18, next to the joint
    plain = influence(front()).radial[at, at]
    assert influence(soft).radial[at, at] < 1.1 * plain < plain < influence(stiff).radial[at, at]
    assert critical_tension(soft) < critical_tension(front()) < critical_tension(stiff)


# --- the rim's own shape

WHEELS = pytest.mark.parametrize("wheel", [front(), dished(), dished(seat_offset=3e-3, inset=8e-3)],
                                 ids=["front", "dished", "off-centre seats"])


def bend(angle, waves=2, lateral=0.5e-3, radial=0.3e-3):
    """A shape of two waves sideways and three in its plane, as a rim comes from a fall: (2, m) at angles (m,). [m]"""
    return np.stack([lateral * np.cos(waves * angle), radial * np.sin((waves + 1) * angle)])


def bent(wheel, waves=2):
    return bend(wheel_geometry(wheel).angle, waves)


@WHEELS
@pytest.mark.parametrize("waves", [2, 3, 5])
def test_own_shape_stands_with_nominal_tensions(wheel, waves):
    """No turn, so nominal tensions, and the rim out of true by its own shape: no turn is blamed for it."""
    shape = bent(wheel, waves)
    state = equilibrium(wheel, None, shape)
    # The shape leans the spokes by a thousandth; only their resultant, of second order, is left to settle.
    assert np.abs(state.lateral - shape[0]).max() < 0.01 * 0.5e-3
    assert np.abs(state.radial - shape[1]).max() < 0.01 * 0.5e-3
    assert state.tension == pytest.approx(wheel_geometry(wheel).tension, rel=1e-3)


@WHEELS
@pytest.mark.parametrize("sides", [{"left": 0.5}, {"right": -0.75}], ids=["left tighter", "right looser"])
def test_turns_of_a_bent_rim_followed(wheel, sides):
    """The exact wheel, its members bent to the same shape: what turns do, and how tension bends the rim further."""
    turns = side_turns(wheel, **sides)
    lateral, radial, tension = ExactWheel(wheel, 4, bend).rest(turns)
    state, before = equilibrium(wheel, turns, bent(wheel)), equilibrium(wheel, None, bent(wheel))
    # 128 to 144 straight members for the circle, and an even hoop force.
    shift = np.abs(np.stack([lateral, radial]) - bent(wheel)).max()
    assert np.abs(np.stack([state.lateral - lateral, state.radial - radial])).max() < 0.01 * shift
    change = np.abs(tension - before.tension).max()
    assert np.abs(state.tension - tension).max() < 0.01 * change
    # The shape shows: more tension presses the rim further out of true, less lets it come back.
    true = equilibrium(wheel, turns).lateral - equilibrium(wheel).lateral
    waved = (state.lateral - before.lateral - true) @ bent(wheel)[0] / (bent(wheel)[0] @ bent(wheel)[0])
    assert 0.02 < waved * np.sign(sum(sides.values())) < 0.2


@WHEELS
def test_turns_that_do_nothing_leave_the_shape(wheel):
    shape, turns = bent(wheel), side_turns(wheel, right=0.5, left=-0.25)
    before = equilibrium(wheel, None, shape)
    there = equilibrium(wheel, turns, shape, start=before)
    back = equilibrium(wheel, np.zeros(wheel.n), shape, start=there)
    # Both stop within 1e-9 of the largest tension of balance.
    assert np.abs(back.lateral - before.lateral).max() < 1e-9
    assert np.abs(back.tension - before.tension).max() < 1e-5


def test_dial_with_even_tensions_blames_the_rim():
    """Two waves on the dial, all tensions even: the estimate finds the rim bent, not its nipples turned."""
    wheel = front()
    shape = 0.3e-3 * np.cos(2 * wheel_geometry(wheel).angle)
    found = estimate(wheel, Reading(
        gauge=Gauge("right", "hub", 0.0, 0.0), lateral=tuple(enumerate(shape, 1)),
        radial=tuple((i, 0.0) for i in range(1, 37)), tension=tuple((i, 1000.0) for i in range(1, 37)))).state
    # A dial of 0.05 mm tells more than a meter of 5 %, so some hundredths of a turn and some newtons stay in doubt.
    assert np.abs(found.lateral - shape).max() < 0.05e-3
    assert np.ptp(found.own_shape[0]) > 0.5 * np.ptp(shape)
    assert np.abs(found.turns).max() < 0.05
    assert found.tension == pytest.approx(np.full(36, 1000.0), rel=0.011)
