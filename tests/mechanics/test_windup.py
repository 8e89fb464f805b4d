"""Wind-up of a spoke: torque of a screw, twist of a round bar."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import make_wheel
from wheelsim.mechanics.windup import screw_torque, wind_up
from wheelsim.wheel.geometry import wheel_geometry


def test_power_screw():
    """Shigley's Mechanical Engineering Design, 8th ed., example 8-1 (value from memory).

    A square thread of 32 mm with a double start of 4 mm, friction 0.08, 6.4 kN: 15.94 N m to raise the load and
    -0.466 N m to lower it, without the collar.
    """
    # The last digit as printed.
    assert screw_torque(6400, 0.030, 0.008, 0.08) == pytest.approx(15.94, abs=5e-3)
    assert screw_torque(6400, 0.030, 0.008, 0.08, against=False) == pytest.approx(-0.466, abs=5e-4)


def test_without_friction_work_is_kept():
    """A frictionless thread: torque times one turn is load times lead."""
    assert 2 * np.pi * screw_torque(1000, 2e-3, 25.4e-3 / 56, 0.0) == pytest.approx(1000 * 25.4e-3 / 56, rel=1e-12)


def test_usual_size():
    """Common practice, no source: some ten to sixty degrees for thin spokes near 1000 N, less when loosened."""
    wheel = make_wheel(32)
    for diameter, low, high in ((2.0e-3, 10, 40), (1.8e-3, 20, 60)):
        thin = _with_spokes(wheel, ((diameter, 1.0),))
        degrees = 360 * wind_up(thin, np.full(32, 1000.0))
        assert (degrees > low).all()
        assert (degrees < high).all()
        assert (wind_up(thin, np.full(32, 1000.0), tighten=False) < wind_up(thin, np.full(32, 1000.0)) / 2).all()


def test_grows_with_tension_and_thinness():
    """In proportion to the tension; a plain shaft of half the stiffness twists twice as far."""
    wheel = _with_spokes(make_wheel(32), ((2e-3, 1.0),))
    once = wind_up(wheel, np.full(32, 500.0))
    assert wind_up(wheel, np.full(32, 1000.0)) == pytest.approx(2 * once, rel=1e-12)
    # Half of the length at the fourth root of a half of the thickness has twice the compliance there: 1.5 in all.
    butted = _with_spokes(wheel, ((2e-3, 1.0), (2e-3 * 0.5**0.25, 1.0)))
    assert wind_up(butted, np.full(32, 500.0)) == pytest.approx(1.5 * once, rel=1e-12)


def test_by_hand():
    """One spoke worked out step by step from the length the geometry gives it."""
    wheel = _with_spokes(make_wheel(32), ((2e-3, 1.0),))
    length = wheel_geometry(wheel).length[0]
    torque = screw_torque(1000, 2e-3, wheel.spokes.thread_pitch, 0.12, np.pi / 6)
    shear = wheel.spokes.modulus / 2.6
    assert wind_up(wheel, np.full(32, 1000.0))[0] == pytest.approx(
        torque * length / (shear * np.pi * (2e-3) ** 4 / 32) / (2 * np.pi), rel=1e-9)


def test_slack_and_missing_do_not_twist():
    wheel = make_wheel(32)
    wheel = replace(wheel, spokes=replace(wheel.spokes, missing=frozenset({5})))
    tension = np.full(32, 800.0)
    tension[9] = -3.0
    twisted = wind_up(wheel, tension)
    assert not twisted[[4, 9]].any()
    assert (np.delete(twisted, [4, 9]) > 0).all()


def _with_spokes(wheel, segments):
    spokes = wheel.spokes
    return replace(wheel, spokes=replace(spokes, left=replace(spokes.left, segments=segments),
                                         right=replace(spokes.right, segments=segments)))
