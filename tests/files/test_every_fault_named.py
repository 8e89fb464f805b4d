"""Numbers out of range and what the schema refuses: each is named by its key, alone and all at once."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.files.small import CHART, JOB, SETTINGS, run


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with the chart that the job names."""
    made = tmp_path_factory.mktemp("faults")
    (made / "chart.csv").write_text(CHART, encoding="utf-8")
    return made


# Text of JOB, what to write instead, and the key under which that must be told.
OUT_OF_RANGE = (
    ("contact_width_mm = 100.0", "contact_width_mm = 410", "wheel.hub.contact_width_mm"),
    ("flange_mm = 32.5", "flange_mm = -32.5", "wheel.hub.left.flange_mm"),
    ("seat_offset_mm = 0.5", "seat_offset_mm = 21", "wheel.rim.seat_offset_mm"),
    ("drilling_offset_mm = -0.5", "drilling_offset_mm = -1e9", "wheel.rim.drilling_offset_mm"),
    ("arc_deg = 5", "arc_deg = 95", "wheel.rim.joint.arc_deg"),
    ("stiffness = 1.5", "stiffness = 0", "wheel.rim.joint.stiffness"),
    ("diameter_mm = 1.8", "diameter_mm = 18", "wheel.spokes.left.diameter_mm"),
    ("[1.5, -1.5]", "[1.5, -150]", "wheel.spokes.right.spoke_line_mm"),
    ("[1.8, 108]", "[0.18, 108]", "wheel.spokes.segments_mm[2]"),
    ("modulus_GPa = 193.0", "modulus_GPa = 1e5", "wheel.spokes.modulus_GPa"),
    ("threads_per_inch = 56", "threads_per_inch = 5600", "wheel.spokes.threads_per_inch"),
    ("right_N = 600.0", "right_N = -600.0", "wheel.tension.right_N"),
    ("gap_mm = 0.8", "gap_mm = -0.8", "wheel.limits.gap_mm"),
    ("side_spread_percent = 15", "side_spread_percent = 150", "wheel.limits.side_spread_percent"),
    ("max_tension_N = 1100.0", "max_tension_N = 11000", "wheel.limits.max_tension_N"),
    ("gap_mm = 0.3", "gap_mm = 0.0", "wheel.aims.gap_mm"),
    ("radial_N = 300", "radial_N = 3e5", "wheel.load.radial_N"),
    ("pressure_bar = 6", "pressure_bar = 60", "wheel.tyre.pressure_bar"),
    ("gap_mm = 1.0", "gap_mm = 51", "reading[1].gauge.gap_mm"),
    ("7 = 0.3", "7 = 99", "reading[1].lateral_mm.7"),
    ("1 = 62 }", "1 = -62 }", "reading[1].tension_kgf.1"),
    ("1 = 650", "1 = -650", "reading[2].tone_Hz.1"),
    ("passes_mm = 0.6", "passes_mm = -0.6", "reading[4].gauge.passes_mm"),
    ("[0.1, 0.0, -0.1,", "[0.1, 0.0, -100,", "reading[4].lateral_mm[3]"),
    ("radial_high = { spoke = 3, mm = 0.2 }", "radial_high = { spoke = 3, mm = 200 }", "reading[4].radial_high.mm"),
    ("radial_low = { spoke = 6, mm = -0.1 }", "radial_low = { spoke = 6, mm = -51 }", "reading[4].radial_low.mm"),
    ("6 = 600", "6 = 10600", "reading[4].tension_N.6"),
    ('"1/8"', '"1/3"', "work.step_turns"),
    ("margin = 1.5", "margin = 15", "work.margin"),
    ("target_dish_mm = -0.5", "target_dish_mm = -500", "work.target_dish_mm"),
    ("max_turns_per_nipple = 2", "max_turns_per_nipple = 21", "work.max_turns_per_nipple"),
    ("time_s = 10", "time_s = 0", "work.time_s"),
)


def named(folder, faults):
    """Keys of the lines on stderr of JOB with these numbers out of range."""
    text = JOB
    for old, new, _ in faults:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    (folder / "bad.toml").write_text(text, encoding="utf-8")
    code, out, err = run("assess", folder / "bad.toml")
    assert (code, out) == (2, "")
    return [line.removeprefix(f"{folder}/bad.toml: ").partition(": ")[0] for line in err.splitlines()]


@pytest.mark.parametrize("fault", OUT_OF_RANGE, ids=[key for _, _, key in OUT_OF_RANGE])
def test_one_number_out_of_range_is_named(folder, fault):
    assert named(folder, [fault]) == [fault[2]]


def test_all_numbers_out_of_range_are_named_at_once(folder):
    assert sorted(named(folder, OUT_OF_RANGE)) == sorted(key for _, _, key in OUT_OF_RANGE)


@settings(max_examples=60, **SETTINGS)
@given(faults=st.sets(st.sampled_from(OUT_OF_RANGE), min_size=2, max_size=8))
def test_several_numbers_out_of_range_are_all_named(folder, faults):
    """In whatever tables they stand, and nothing else with them."""
    assert sorted(named(folder, faults)) == sorted(key for _, _, key in faults)


# What the schema itself refuses, in the same words as above, or leaves missing.
REFUSED = (
    ("contact_width_mm = 100.0", 'contact_width_mm = "100"', "wheel.hub.contact_width_mm"),
    ("{ flange_mm = 32.5, ", "{ ", "wheel.hub.left.flange_mm"),
    ("hole_circle_mm = 47.0", "hole_circle_mm = true", "wheel.hub.left.hole_circle_mm"),
    ("holes = 8", 'holes = "8"', "wheel.rim.holes"),
    ("nipple_seat_diameter_mm = 300.0\n", "", "wheel.rim.nipple_seat_diameter_mm"),
    ("section_radius_mm = 152.0", "section_radius_mm = nan", "wheel.rim.section_radius_mm"),
    ('kind = "box alloy"', "kind = 3", "wheel.rim.kind"),
    ("at_deg = 180", "at_deg = []", "wheel.rim.joint.at_deg"),
    ('first = "right"', 'first = "rigth"', "wheel.spokes.first"),
    ("left = { cross = 0,", "left = { cross = 0.5,", "wheel.spokes.left.cross"),
    ("right = { cross = 0,", "right = {", "wheel.spokes.right.cross"),
    ("[1.5, -1.5]", "[1.5]", "wheel.spokes.right.spoke_line_mm"),
    ("[[2.0, 10], [1.8, 108], [2.0, 14]]", "[[2.0, 10], [1.8], [2.0, 14]]", "wheel.spokes.segments_mm[2]"),
    ("threads_per_inch = 56", "threads_per_inch = -56", "wheel.spokes.threads_per_inch"),
    ("right_N = 600.0", 'right_N = "600"', "wheel.tension.right_N"),
    ("max_tension_N = 1100.0", "max_tension_N = inf", "wheel.limits.max_tension_N"),
    ("gap_mm = 0.3", 'gap_mm = "0.3"', "wheel.aims.gap_mm"),
    ("lateral_N = 100", 'lateral_N = "100"', "wheel.load.lateral_N"),
    ("width_mm = 28", 'width_mm = "28"', "wheel.tyre.width_mm"),
    ('label = "as received"', "label = 3", "reading[1].label"),
    ('set_on = "right", ', "", "reading[1].gauge.set_on"),
    ("gap_mm = 1.0", 'gap_mm = "1"', "reading[1].gauge.gap_mm"),
    ("2 = -0.1,", "2 = true,", "reading[1].lateral_mm.2"),
    ("2 = 60,", "b = 60,", "reading[1].tension_kgf.b"),
    ("2 = 640", "2 = -640", "reading[2].tone_Hz.2"),
    ('meter_chart = "chart.csv"\n', "", "reading[3].meter_chart"),
    ("stops_mm = 0.9, ", "", "reading[4].gauge.stops_mm"),
    ("0.0, -0.1, 0.0, 0.1, 0.0, -0.1, 0.0]", '"0", -0.1, 0.0, 0.1, 0.0, -0.1, 0.0]', "reading[4].lateral_mm[2]"),
    ("{ spoke = 3, mm = 0.2 }", "{ spoke = 3.0, mm = 0.2 }", "reading[4].radial_high.spoke"),
    ("{ spoke = 6, mm = -0.1 }", "{ spoke = 6 }", "reading[4].radial_low.mm"),
    ('tyre = "inflated"', "tyre = true", "reading[4].tyre"),
    ('"1/8"', '"101"', "work.step_turns"),
    ("stuck = [7]", 'stuck = ["7"]', "work.stuck[1]"),
    ("leave = [3]", "leave = 3", "work.leave"),
    ("margin = 1.5", 'margin = "1.5"', "work.margin"),
    ("number = 1\n", "number = 0\n", "pass[1].number"),
)


@pytest.mark.parametrize("refused", REFUSED, ids=[key for _, _, key in REFUSED])
def test_what_the_schema_refuses_hides_nothing(folder, refused):
    """Neither alone nor beside every number out of range elsewhere, and nothing false is said of what hangs on it."""
    assert named(folder, [refused]) == [refused[2]]
    others = [fault for fault in OUT_OF_RANGE if fault[0] not in refused[0] and refused[0] not in fault[0]
              and JOB.count(fault[0]) == JOB.replace(*refused[:2]).count(fault[0])]
    assert len(others) >= len(OUT_OF_RANGE) - 2
    assert sorted(named(folder, [refused, *others])) == sorted(key for _, _, key in [refused, *others])


def test_no_tension_allowed_and_no_gap_aimed_at(folder):
    faults = [("max_tension_N = 1100.0", "max_tension_N = 0", "wheel.limits.max_tension_N"),
              ("gap_mm = 0.3", "gap_mm = 0.0", "wheel.aims.gap_mm")]
    assert {key for _, _, key in faults} <= set(named(folder, faults))
