"""A meter's chart for several spoke sizes: each spoke is read off the rows for its diameter where the meter sits."""

import pytest

from wheelsim.files import read_job
from wheelsim.readings.chart import middle_diameter

# The invented wheel: left spokes (even numbers) butted 2.0/1.8/2.0 mm, right spokes plain 2.0 mm.
CHART = "diameter_mm,reading,force_N\n2.0,10,500\n2.0,30,1500\n1.8,30,1200\n\n1.8,10,300\n1.5,1,100\n1.5,2,90\n"
METER = 'meter = { 1 = 20, 2 = 20, 3 = 25, 4 = 10 }\nmeter_chart = "chart.csv"'


def test_each_side_by_its_own_rows(tensions, write):
    """Rows may fall; the butts, where the meter does not sit, are of the other side's diameter."""
    write("chart.csv", CHART)
    assert tensions(METER) == tuple(
        (spoke, pytest.approx(newtons)) for spoke, newtons in ((1, 1000), (2, 750), (3, 1250), (4, 300)))


def test_order_of_the_rows_is_free_between_sizes(tensions, write):
    write("chart.csv", "diameter_mm, reading, force_N\n2.0,10,500\n1.8,30,1200\n2.0,30,1500\n1.8,10,300\n")
    assert dict(tensions(METER)) == pytest.approx({1: 1000, 2: 750, 3: 1250, 4: 300})


def test_one_chart_goes_on_meaning_all_spokes(tensions, write):
    write("chart.csv", "reading,force_N\n10,500\n30,1500\n")
    assert dict(tensions(METER)) == pytest.approx({1: 1000, 2: 1000, 3: 1250, 4: 500})


@pytest.mark.parametrize(("size", "fits"), [("1.85", True), ("1.75", True), ("1.86", False), ("1.74", False)])
def test_sizes_match_within_a_twentieth_of_a_millimetre(tensions, reading_lines, write, size, fits):
    write("chart.csv", CHART.replace("1.8,", f"{size},"))
    if fits:
        assert dict(tensions(METER))[2] == pytest.approx(750)
    else:
        assert reading_lines(METER) == [
            'job.toml: reading[1].meter_chart: "chart.csv"; expected a chart for 1.8 mm, the middle of spokes 2, 4; '
            f"chart.csv has 2, {size}, 1.5"]


def test_the_nearest_size_is_taken(tensions, write):
    write("chart.csv", CHART.replace("1.5,", "1.84,"))
    assert dict(tensions(METER))[2] == pytest.approx(750)


def test_every_size_without_a_chart_is_told_once(reading_lines, write):
    write("chart.csv", "diameter_mm,reading,force_N\n1.5,10,500\n1.5,30,1500\n")
    assert reading_lines(METER) == [
        f'job.toml: reading[1].meter_chart: "chart.csv"; expected a chart for {size} mm, the middle of spokes {some}; '
        "chart.csv has 1.5" for size, some in (("2", "1, 3"), ("1.8", "2, 4"))]


def test_range_is_that_of_the_size(reading_lines, write):
    """25 lies on the chart for the right side, not on that for the left."""
    write("chart.csv", CHART.replace("1.8,30,1200", "1.8,22,1200"))
    assert reading_lines(METER.replace("4 = 10", "4 = 25")) == [
        "job.toml: reading[1].meter.4: 25; expected from 10 to 22, the range of chart.csv for 1.8 mm"]


@pytest.mark.parametrize("spoke", [0, 37])
def test_spokes_beyond_the_wheel_are_told_as_such(reading_lines, write, spoke):
    write("chart.csv", CHART)
    assert reading_lines(METER.replace("4 =", f"{spoke} =")) == [
        f"job.toml: reading[1].meter.{spoke}: 10; expected spoke numbers from 1 to 36"]


def test_sizes_are_known_though_the_hub_failed(write, wheel_text, lines):
    write("wheel.toml", wheel_text.replace("flange_mm = 32.5", "flange_mm = -32.5"))
    write("chart.csv", CHART)
    found = lines(write("job.toml", f'wheel = "wheel.toml"\n[[reading]]\n{METER.replace("4 = 10", "4 = 99")}\n'))
    assert [line.split(": ")[1] for line in found] == ["hub.left.flange_mm", "reading[1].meter.4"]


@pytest.mark.parametrize(("old", "new", "expected"), [
    ("diameter_mm,", "diameter,",
     ["line 1: diameter,reading,force_N; expected the header diameter_mm,reading,force_N"]),
    ("2.0,30,1500", "2.0,30", ["line 3: 2.0,30; expected three numbers, such as 1.8,410,980"]),
    ("2.0,30,1500", "2.0,x,1", ["line 3: 2.0,x,1; expected three numbers, such as 1.8,410,980"]),
    ("2.0,30,1500", "0,30,1500", ["line 3: 0,30,1500; expected three numbers, such as 1.8,410,980"]),
    ("2.0,30,1500", "nan,30,1500", ["line 3: nan,30,1500; expected three numbers, such as 1.8,410,980"]),
    ("1.8,10,300\n", "", ["line 4: 1.8,30,1200; expected at least two rows for 1.8 mm"]),
    ("1.8,10,300\n", "1.8,30,300\n",
     ["line 6: 1.8,30,300; reading turns back or stands still for 1.8 mm; expected to rise or fall all the way"]),
    ("1.8,10,300\n", "1.8,20,700\n1.8,10,900\n",
     ["line 7: 1.8,10,900; force_N turns back or stands still for 1.8 mm; expected to rise or fall all the way"]),
    (CHART[28:], "", ["holds 0 rows; expected at least two"]),
])
def test_bad_rows_are_named_by_their_line(reading_lines, write, old, new, expected):
    assert CHART.count(old) == 1
    write("chart.csv", CHART.replace(old, new))
    assert reading_lines(METER) == [f"chart.csv: {line}" for line in expected]


def test_all_bad_rows_are_told_at_once(reading_lines, write):
    write("chart.csv", CHART.replace("2.0,30,1500", "2.0,10,1500").replace("1.5,2,90", "1.5,2,100"))
    assert [line.partition(";")[0] for line in reading_lines(METER)] == [
        "chart.csv: line 3: 2.0,10,1500", "chart.csv: line 8: 1.5,2,100"]


@pytest.mark.parametrize(("segments", "diameter"), [
    (((2.0, 1.0),), 2.0),
    (((2.0, 12), (1.8, 268), (2.0, 14)), 1.8),
    (((2.0, 100), (1.8, 150)), 1.8),
    (((2.0, 160), (1.8, 130)), 2.0),
])
def test_middle_of_a_butted_spoke(segments, diameter):
    assert middle_diameter(segments) == diameter


def test_inline_wheel_with_a_chart_of_sizes(write, wheel_text):
    write("chart.csv", CHART)
    text = wheel_text.replace("format = 1", "[wheel]").replace("\n[", "\n[wheel.")
    job = read_job(write("job.toml", f"{text}\n[[reading]]\n{METER}\n"))
    assert dict(job.last.in_newtons(job.wheel).tension)[2] == pytest.approx(750)
