"""A sound job file becomes the job it says."""

import math

import pytest

from tests.wheels import front
from wheelsim.files import examine, read_job, read_wheel
from wheelsim.job.job import Job, Pass, Work
from wheelsim.readings.reading import Reading, Shown
from wheelsim.readings.tone import tension_from_tone
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.rules import PartError


@pytest.fixture
def job(write, wheel_text, job_text):
    write("wheel.toml", wheel_text)
    return read_job(write("job.toml", job_text))


def test_wheel_is_read_from_beside_the_job(job, tmp_path):
    assert job.wheel == read_wheel(tmp_path / "wheel.toml")
    assert read_wheel(tmp_path / "job.toml") == job.wheel
    assert job.source == str(tmp_path / "job.toml")


def test_readings_in_order(job):
    first, second = job.readings
    assert job.last is second
    assert (first.label, second.label) == ("as received", "after a pass")
    assert first.gauge.dish == pytest.approx(-0.0015)
    assert first.lateral == ((2, pytest.approx(-0.0001)), (7, pytest.approx(0.0006)))
    assert (first.radial, second.lateral, second.gauge) == ((), (), None)
    assert first.tension == ((1, 980), (2, 510))
    assert second.radial == ((3, pytest.approx(0.0004)), (20, pytest.approx(-0.0002)))
    assert (first.tyre, second.tyre) == ("off", "inflated")


def test_work(job):
    assert job.work == Work(
        step=0.125, stuck=frozenset({7, 21}), leave=frozenset({3}), margin=2, target_dish=-0.0015,
        max_turns=2, sides="left", direction="loosen", time=10,
    )


def test_passes(job):
    assert job.passes == (Pass(1, ((2, 0.5), (9, -0.25)), True), Pass(2, ((4, 0.25),), ((4, 0.5),)))


def test_defaults(write, wheel_text):
    write("wheel.toml", wheel_text)
    job = read_job(write("job.toml", 'format = 1\nwheel = "wheel.toml"\n'))
    assert (job.readings, job.work, job.passes) == ((), Work(), ())


def test_inline_wheel(write, wheel_text):
    """Its tables stand under [wheel]; without a name it is called after the job."""
    text = wheel_text.replace("format = 1", "[wheel]").replace("\n[", "\n[wheel.")
    job = read_job(write("mine.toml", text.replace('name = "invented"', "") + "[work]\nmargin = 2\n"))
    assert (job.wheel.name, job.wheel.n, job.work.margin) == ("mine", 36, 2)


def test_wheel_in_another_folder(write, wheel_text, tmp_path):
    (tmp_path / "wheels").mkdir()
    write("wheels/rear.toml", wheel_text)
    write("job.toml", 'wheel = "wheels/rear.toml"')
    assert read_job(tmp_path / "job.toml").wheel.name == "invented"


def test_warnings_carry_the_wheel_file(write, wheel_text, job_text, tmp_path):
    write("wheel.toml", wheel_text.replace("[1.8, 268]", "[1.8, 220]"))
    _, warnings = examine(write("job.toml", job_text))
    assert [fault.file for fault in warnings] == [str(tmp_path / "wheel.toml")]


@pytest.mark.parametrize(("gap", "low", "high"), [
    ("gap_mm = 2", 2, 2),
    # One thread of the axle is a millimetre.
    ("gap_threads = 3", 3, 3),
    ("passes_mm = 1.2, stops_mm = 1.6", 1.2, 1.6),
])
def test_gaps(reading, gap, low, high):
    gauge = reading(f'gauge = {{ set_on = "left", gap_at = "one foot", {gap} }}').gauge
    assert (gauge.low * 1e3, gauge.high * 1e3) == (pytest.approx(low), pytest.approx(high))
    assert (gauge.set_on, gauge.gap_at) == ("left", "one foot")


def test_dial_list(reading):
    dial = [round(0.1 * math.sin(i), 2) for i in range(36)]
    found = reading(f"lateral_mm = {dial}\nradial_mm = {[1] * 36}")
    assert found.lateral == tuple((i + 1, pytest.approx(value * 1e-3)) for i, value in enumerate(dial))
    assert found.radial == tuple((i + 1, 0.001) for i in range(36))


@pytest.mark.parametrize("end", ["high", "low"])
def test_one_end_of_the_dial(reading, end):
    assert reading(f"lateral_{end} = {{ spoke = 9, mm = 0.3 }}").lateral == ((9, pytest.approx(0.0003)),)


def test_kilograms_of_force(tensions):
    """A kilogram-force is 9.80665 N."""
    found = tensions("tension_kgf = { 3 = 100, 2 = 50.5 }")
    assert found == ((2, pytest.approx(495.235825)), (3, pytest.approx(980.665)))


@pytest.mark.parametrize(("line", "unit"), [("tension_kgf = { 3 = 100, 2 = 50.5 }", "kgf"),
                                            ("tone_Hz = { 1 = 350, 2 = 350 }", "Hz"),
                                            ('meter = { 1 = 20 }\nmeter_chart = "chart.csv"', "meter")])
def test_what_the_tool_showed_is_kept(reading, write, line, unit):
    write("chart.csv", "reading,force_N\n10,500\n30,1500\n")
    found = reading(line)
    assert not found.tension
    assert tuple((one.spoke, one.value) for one in found.shown) == {
        "kgf": ((2, 50.5), (3, 100.0)), "Hz": ((1, 350.0), (2, 350.0)), "meter": ((1, 20.0),)}[unit]
    assert {one.unit for one in found.shown} == {unit}
    assert found.spokes("tension") == tuple(one.spoke for one in found.shown)
    assert found.by_tone == (unit == "Hz")
    assert not reading("tension_N = { 1 = 900 }").shown


def test_a_tension_worked_out_already_stands():
    wheel, read = front(), Reading(tension=((1, 900.0),), shown=(Shown(1, 100.0, "kgf"), Shown(2, 50.0, "kgf")))
    found = read.in_newtons(wheel)
    assert found.tension == ((1, 900.0), (2, pytest.approx(490.3325)))
    assert found.shown == read.shown
    assert found.in_newtons(wheel) is found


@pytest.mark.parametrize(("shown", "expected"), [
    (Shown(1, 2000.0, "kgf"), "reading tension.1: 2000.0; is 19613 N; expected from 0 to 10000 N"),
    (Shown(1, 20.0, "meter"), "reading tension.1: 20.0; expected the meter's chart with what it shows"),
])
def test_what_no_tool_shows_is_refused(shown, expected):
    with pytest.raises(PartError) as caught:
        Reading(shown=(shown,))
    assert str(caught.value) == expected


def test_a_tone_is_judged_with_the_wheel():
    with pytest.raises(PartError) as caught:
        Job(front(), (Reading(shown=(Shown(2, 4000.0, "Hz"),)),))
    assert str(caught.value).startswith("job reading.0.tension.2: 4000.0; is ")


def test_meter_chart(tensions, write):
    """Between two rows of the chart the tension is interpolated; rows may fall, and blanks are skipped."""
    write("chart.csv", "reading, force_N\n30,1400\n\n20,1000\n10,500\n")
    found = tensions('meter = { 1 = 22.5, 2 = 10 }\nmeter_chart = "chart.csv"')
    assert found == ((1, pytest.approx(1100)), (2, pytest.approx(500)))


def test_tone(tensions, tmp_path):
    """Each spoke by its own length and section; the law itself is checked in tests/readings."""
    found = dict(tensions("tone_Hz = { 1 = 350, 2 = 350 }"))
    wheel = read_wheel(tmp_path / "wheel.toml")
    length = wheel_geometry(wheel).length
    for spoke, side in ((1, wheel.spokes.right), (2, wheel.spokes.left)):
        expected = tension_from_tone(350, length[spoke - 1], side.segments, wheel.spokes.modulus)
        assert found[spoke] == pytest.approx(expected)
    assert found[1] != pytest.approx(found[2], rel=1e-3)
