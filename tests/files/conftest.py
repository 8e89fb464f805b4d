"""A whole invented wheel file and job file, and what every test here does with them."""

import pytest

from wheelsim.files import FileError, read_job

WHEEL = """\
format = 1
name = "invented"

[hub]
contact_width_mm = 135.0
left = { flange_mm = 32.5, hole_circle_mm = 47.0 }
right = { flange_mm = 22.5, hole_circle_mm = 47 }

[rim]
holes = 36
nipple_seat_diameter_mm = 611.0
section_radius_mm = 308.5
seat_offset_mm = 1.0
drilling_offset_mm = -0.5
kind = "box alloy"

[spokes]
first = "right"
left = { cross = 3, starts = "leading", segments_mm = [[2.0, 12], [1.8, 268], [2.0, 14]] }
right = { cross = 2, spoke_line_mm = [1.5, -1.5] }
diameter_mm = 2.0
modulus_GPa = 193.0
threads_per_inch = 50
missing = [7]

[tension]
right_N = 1000.0

[limits]
max_tension_N = 1100.0
min_tension_N = "from load"
gap_mm = 0.8
lateral_runout_mm = 0.6
radial_runout_mm = 0.7
side_spread_percent = 15

[aims]
gap_mm = 0.2

[load]
radial_N = 700
lateral_N = 100

[tyre]
pressure_bar = 6
width_mm = 28
"""

JOB = """\
wheel = "wheel.toml"

[[reading]]
label = "as received"
gauge = { set_on = "right", gap_mm = 3.0, gap_at = "hub" }
lateral_mm = { 7 = 0.6, 2 = -0.1 }
tension_N = { 2 = 510, 1 = 980 }

[[reading]]
label = "after a pass"
radial_high = { spoke = 3, mm = 0.4 }
radial_low = { spoke = 20, mm = -0.2 }
tyre = "inflated"

[work]
step_turns = "1/8"
stuck = [7, 21]
leave = [3]
margin = 2
target_dish_mm = -1.5
max_turns_per_nipple = 2
sides = "left"
direction = "loosen"
time_s = 10

[[pass]]
number = 1
turns = { 9 = "-1/4", 2 = 0.5 }
planned = true

[[pass]]
number = 2
turns = { 4 = 0.25 }
planned = { 4 = 0.5 }
"""


@pytest.fixture
def wheel_text():
    return WHEEL


@pytest.fixture
def job_text():
    return JOB


@pytest.fixture
def write(tmp_path):
    """Write a file into the test's folder."""

    def write(name, content):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


@pytest.fixture
def lines():
    """The lines of the FileError that reading a file raises, without the name of the folder."""

    def lines(path):
        with pytest.raises(FileError) as caught:
            read_job(path)
        found = caught.value.lines()
        assert all("\n" not in line and line.startswith(f"{path.parent}/") for line in found)
        return [line.removeprefix(f"{path.parent}/") for line in found]

    return lines


@pytest.fixture
def wheel_lines(write, lines):
    """Lines of the wheel file after replacements, each of which must find its text."""

    def wheel_lines(*pairs):
        return lines(write("wheel.toml", _replaced(WHEEL, pairs)))

    return wheel_lines


@pytest.fixture
def job_lines(write, lines):
    """Lines of the job file, beside a sound wheel file, after replacements."""

    def job_lines(*pairs):
        write("wheel.toml", WHEEL)
        return lines(write("job.toml", _replaced(JOB, pairs)))

    return job_lines


@pytest.fixture
def reading(write):
    """The Reading of a job on the invented wheel with one [[reading]] of these lines."""

    def reading(text):
        write("wheel.toml", WHEEL)
        return read_job(write("job.toml", f'wheel = "wheel.toml"\n[[reading]]\n{text}\n')).last

    return reading


@pytest.fixture
def tensions(write):
    """(spoke, tension [N]) pairs of the same, by the wheel they were read on."""

    def tensions(text):
        write("wheel.toml", WHEEL)
        job = read_job(write("job.toml", f'wheel = "wheel.toml"\n[[reading]]\n{text}\n'))
        return job.last.in_newtons(job.wheel).tension

    return tensions


@pytest.fixture
def reading_lines(write, lines):
    """Lines of a job on the invented wheel with one [[reading]] of these lines."""

    def reading_lines(text):
        write("wheel.toml", WHEEL)
        return lines(write("job.toml", f'wheel = "wheel.toml"\n[[reading]]\n{text}\n'))

    return reading_lines


def _replaced(text, pairs):
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text
