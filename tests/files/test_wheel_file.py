"""A sound wheel file becomes the wheel it says."""

import math
from dataclasses import astuple

import pytest

from wheelsim.files import examine, read_job, read_wheel
from wheelsim.wheel.kinds import KINDS
from wheelsim.wheel.parts import Limits


@pytest.fixture
def wheel(write, wheel_text):
    return read_wheel(write("wheel.toml", wheel_text))


def test_hub(wheel):
    assert wheel.name == "invented"
    assert wheel.hub.contact_width == pytest.approx(0.135)
    assert wheel.hub.left.offset == pytest.approx(0.0325)
    assert wheel.hub.right.offset == pytest.approx(0.0225)
    assert wheel.hub.right.hole_circle == pytest.approx(0.047)


def test_rim(wheel):
    """The valve lies midway between the last hole and the first."""
    rim = wheel.rim
    assert rim.holes == 36
    assert rim.hole_angles[0] == pytest.approx(math.radians(5))
    assert rim.hole_angles[35] == pytest.approx(math.radians(355))
    assert (rim.seat_radius, rim.section_radius) == (pytest.approx(0.3055), pytest.approx(0.3085))
    assert (rim.seat_offset, rim.drilling_offset) == (pytest.approx(0.001), pytest.approx(-0.0005))
    kind = KINDS["box alloy"]
    assert rim.kind == "box alloy"
    assert (rim.radial_bending, rim.lateral_bending) == (kind.radial_bending, kind.lateral_bending)
    assert (rim.torsion, rim.stretch) == (kind.torsion, kind.stretch)


def test_spokes(wheel):
    """A side's own segments beat the common diameter; the other side takes the common one."""
    spokes = wheel.spokes
    assert spokes.sides == "RL" * 18
    assert (spokes.left.cross, spokes.left.starts, spokes.left.spoke_line) == (3, "leading", (0, 0))
    assert (spokes.right.cross, spokes.right.starts) == (2, "trailing")
    assert spokes.right.spoke_line == pytest.approx((0.0015, -0.0015))
    assert [row[0] for row in spokes.left.segments] == pytest.approx([0.002, 0.0018, 0.002])
    assert [row[1] for row in spokes.left.segments] == pytest.approx([0.012, 0.268, 0.014])
    assert len(spokes.right.segments) == 1
    assert spokes.right.segments[0][0] == pytest.approx(0.002)
    assert spokes.modulus == pytest.approx(193e9)
    assert spokes.thread_pitch == pytest.approx(25.4e-3 / 50)
    assert spokes.missing == {7}


def test_tension_limits_and_aims(wheel):
    """Aims that are not written are those that follow from the limits."""
    assert (wheel.tension_side, wheel.tension) == ("right", 1000)
    assert astuple(wheel.limits)[:2] == astuple(wheel.aims)[:2] == (1100, "from load")
    assert astuple(wheel.limits)[2:6] == pytest.approx((0.0008, 0.0006, 0.0007, 0.15))
    assert astuple(wheel.aims)[2:6] == pytest.approx((0.0002, 0.0003, 0.00035, 0.075))
    # Common practice, no source: a side's mean within 15 per cent of what is usual; no limit on it unless written.
    assert (wheel.limits.off_usual, wheel.aims.off_usual) == (math.inf, 0.15)


def test_what_is_not_written_takes_its_default(write):
    path = write("plain.toml", """
[hub]
contact_width_mm = 100
left = { face_to_flange_mm = 15, hole_circle_mm = 47 }
right = { face_to_flange_mm = 15, hole_circle_mm = 47 }
[rim]
holes = 36
nipple_seat_diameter_mm = 611
radial_bending_Nm2 = 110
lateral_bending_Nm2 = 200
torsion_Nm2 = 25
stretch_N = 7e6
[spokes]
first = "left"
left = { cross = 0, diameter_mm = 1.8 }
right = { angle_deg = 45, diameter_mm = 2, spoke_line_mm = 2 }
[tension]
left_N = 900
""")
    wheel = read_wheel(path)
    assert wheel.name == "plain"
    assert wheel.hub.left.offset == pytest.approx(0.035)
    assert wheel.rim.section_radius == wheel.rim.seat_radius
    assert (wheel.rim.kind, wheel.rim.torsion, wheel.rim.stretch) == (None, 25, 7e6)
    assert wheel.spokes.sides == "LR" * 18
    assert (wheel.spokes.right.cross, wheel.spokes.right.angle) == (None, pytest.approx(math.pi / 4))
    assert wheel.spokes.right.spoke_line == pytest.approx((0.002, 0.002))
    assert wheel.spokes.left.segments[0][0] == pytest.approx(0.0018)
    assert wheel.spokes.modulus == pytest.approx(200e9)
    assert wheel.spokes.thread_pitch == pytest.approx(25.4e-3 / 56)
    assert (wheel.tension_side, wheel.tension) == ("left", 900)
    assert wheel.limits == Limits()
    assert wheel.aims is None


def test_uneven_holes_and_sides(write, wheel_text):
    angles = [10.0 * i + (4.0 if i % 2 else 5.0) for i in range(36)]
    text = wheel_text.replace("holes = 36", f"hole_angles_deg = {angles}")
    text = text.replace('first = "right"', f'sides = "{"LR" * 18}"')
    wheel = read_wheel(write("wheel.toml", text))
    assert wheel.rim.hole_angles == pytest.approx([math.radians(angle) for angle in angles])
    assert wheel.spokes.sides == "LR" * 18


def test_first_may_stand_beside_sides_that_agree(write, wheel_text):
    text = wheel_text.replace('first = "right"', f'first = "right"\nsides = "{"RL" * 18}"')
    assert read_wheel(write("wheel.toml", text)).spokes.sides == "RL" * 18


def test_wheel_as_a_job(write, wheel_text):
    """A wheel file is a job without readings, named for its path, given as text or as a Path."""
    path = write("wheel.toml", wheel_text)
    job = read_job(str(path))
    assert job.wheel == read_wheel(path)
    assert (job.readings, job.passes, job.last) == ((), (), None)
    assert job.source == str(path)


def test_byte_order_mark(write, wheel_text):
    assert read_wheel(write("wheel.toml", b"\xef\xbb\xbf" + wheel_text.encode())).name == "invented"


def test_warnings_do_not_stop_the_reading(write, wheel_text):
    """They come under the keys of the file, through ``examine`` alone."""
    path = write("wheel.toml", wheel_text.replace("[1.8, 268]", "[1.8, 220]"))
    job, warnings = examine(path)
    assert job.wheel == read_wheel(path)
    assert [(fault.key, fault.level) for fault in warnings] == [("spokes.left.segments_mm", "warning")]
    assert "scaled to it" in str(warnings[0])


def test_sound_file_has_no_warnings(write, wheel_text):
    assert examine(write("wheel.toml", wheel_text))[1] == ()
