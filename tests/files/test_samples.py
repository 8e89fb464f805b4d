"""The shipped files: invented, sound, and a job worth doing."""

import subprocess
import sys

import numpy as np
import pytest

from wheelsim.files import examine, sample_job
from wheelsim.files.reader import sample_path
from wheelsim.wheel.geometry import wheel_geometry

SAMPLES = ("dished-rear.toml", "dished-rear-wheel.toml", "front.toml")


@pytest.mark.parametrize("name", SAMPLES)
def test_sound_and_said_to_be_invented(name):
    job, warnings = examine(sample_path(name))
    assert warnings == ()
    assert "invented" in job.wheel.name
    assert "invented" in sample_path(name).read_text().splitlines()[0]


def test_sample_names_itself():
    assert sample_job().source == "the shipped sample (invented): dished-rear.toml"


def test_rear_lies_left_with_no_room_on_the_right():
    job = sample_job()
    assert job.last.gauge.dish == pytest.approx(-0.0015)
    tension = np.array([force for _, force in job.last.tension])
    right = wheel_geometry(job.wheel).side > 0
    assert tension.size == job.wheel.n == 32
    assert tension.max() < job.wheel.limits.max_tension
    assert tension[right].mean() > 0.9 * job.wheel.limits.max_tension


def test_rear_tensions_balance():
    """Right and left pull equally sideways, with the rim where the gauge has it."""
    job = sample_job()
    geometry = wheel_geometry(job.wheel)
    tension = np.array([force for _, force in job.last.tension])
    run = geometry.hub[:, 0] - geometry.lever[:, 0] - job.last.gauge.dish
    pull = tension * run / geometry.length
    # Readings rounded to 5 N leave a fraction of a per cent.
    assert abs(pull.sum()) < 0.005 * np.abs(pull).sum()


def test_front_is_as_described():
    wheel = examine(sample_path("front.toml"))[0].wheel
    assert (wheel.n, wheel.spokes.left.cross, wheel.tension, wheel.rim.kind) == (36, 3, 1000, "box alloy")
    assert wheel.hub.left == wheel.hub.right
    assert wheel_geometry(wheel).tension == pytest.approx(np.full(36, 1000.0))


def test_reading_loads_nothing_heavy():
    """A cold start has to answer at once."""
    code = ("import sys; from wheelsim.files import sample_job; sample_job(); "
            "print([name for name in ('scipy', 'matplotlib') if name in sys.modules])")
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout == "[]\n"
