"""The pulls balance where they now act: added up anew, from where the state says that the rim is."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.wheels import dished, side_turns
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.wheel.geometry import wheel_geometry

WHEELS = {"dished": dished(), "off-centre seats": dished(seat_offset=-3e-3, inset=2.5e-3)}


def resultant(wheel, state):
    """Largest resultant force, or moment over the radius, of all pulls as the spokes now lie. [N]

    Only the pose is taken from the state; lengths, directions and tensions are worked out here.
    """
    g, pose, radius = wheel_geometry(wheel), state.pose, wheel.rim.section_radius
    s, c, one, zero = np.sin(g.angle), np.cos(g.angle), np.ones(wheel.n), np.zeros(wheel.n)
    axes = np.array([[one, zero, zero], [zero, c, -s], [zero, s, c]])  # lateral, tangential, radial in space
    centre = np.array([0.0, 0.0, radius])
    lever = Rotation.from_rotvec(pose.shift[:, 3:]).apply(g.lever.copy())
    seat = np.einsum("ni,ijn->nj", centre + pose.shift[:, :3] + lever, axes) @ pose.turn.T + pose.move
    run = np.einsum("ni,ijn->nj", centre + g.hub, axes) - seat
    length = np.linalg.norm(run, axis=1)
    tension = g.tension + g.stiffness * (length - g.length + wheel.spokes.thread_pitch * state.turns)
    pull = tension[:, None] * run / length[:, None]
    return max(np.abs(pull.sum(axis=0)).max(), np.abs(np.cross(seat, pull).sum(axis=0)).max() / radius)


@pytest.mark.parametrize("wheel", WHEELS.values(), ids=WHEELS)
@pytest.mark.parametrize("turns", [side_turns(dished(), left=1.0), np.random.default_rng(36).uniform(-0.5, 0.5, 32)],
                         ids=["left side one turn", "every nipple at random"])
def test_pulls_added_up_anew_balance(wheel, turns):
    """Resultant force and moment after large turns, none slack."""
    state = equilibrium(wheel, turns)
    assert not state.slack.any()
    # Newton's method stops at 1e-9 of the tension at a station, and at thrice that of the whole.
    assert resultant(wheel, state) < 3e-9 * state.tension.max()
