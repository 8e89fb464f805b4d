"""Every fault of a wheel file is told under the key and with the value that the file writes."""

import pytest

LEFT = "left = { flange_mm = 32.5, hole_circle_mm = 47.0 }"
RIGHT = "right = { cross = 2, spoke_line_mm = [1.5, -1.5] }"
KIND = 'kind = "box alloy"'
NUMBER = "expected a number"


@pytest.mark.parametrize(("old", "new", "line"), [
    # missing
    ("contact_width_mm = 135.0\n", "",
     "hub.contact_width_mm: missing; expected the width between the faces that touch frame or fork"),
    (", hole_circle_mm = 47.0", "",
     "hub.left.hole_circle_mm: missing; expected the diameter of the circle of spoke holes"),
    ("flange_mm = 32.5, ", "",
     "hub.left.flange_mm: missing; expected exactly one of flange_mm, face_to_flange_mm"),
    (LEFT, "", "hub.left: missing; expected a table"),
    ("holes = 36", "", "rim.holes: missing; expected exactly one of holes, hole_angles_deg"),
    ('first = "right"', "", 'spokes.first: missing; expected "right" or "left", or sides = "RL..." instead'),
    ("diameter_mm = 2.0", "",
     "spokes.diameter_mm: missing; expected this or segments_mm, here or for each side"),
    ("cross = 2, ", "", "spokes.right.cross: missing; expected exactly one of cross, angle_deg"),
    ("right_N = 1000.0", "", "tension.right_N: missing; expected exactly one of right_N, left_N"),
    ("[tension]\nright_N = 1000.0", "", "tension: missing; expected a table"),
    (KIND, "",
     'rim.kind: missing; expected a kind ("box alloy", "shallow alloy", "deep alloy") or, instead, the four'),
    # type
    ("holes = 36", 'holes = "36"', 'rim.holes: "36"; expected a whole number'),
    ("holes = 36", "holes = 36.0", "rim.holes: 36.0; expected a whole number"),
    ("135.0", "true", f"hub.contact_width_mm: true; {NUMBER}"),
    ("135.0", '"135"', f'hub.contact_width_mm: "135"; {NUMBER}'),
    ("135.0", "2024-02-03", f"hub.contact_width_mm: 2024-02-03; {NUMBER}"),
    ("135.0", "9" * 400,
     "hub.contact_width_mm: a whole number of 1329 bits; expected a number of fewer digits"),
    ("135.0", "nan", "hub.contact_width_mm: nan; expected a finite number"),
    ("135.0", "inf", "hub.contact_width_mm: inf; expected a finite number"),
    (LEFT, "left = 32.5", "hub.left: 32.5; expected a table"),
    ('name = "invented"', "name = 7", "name: 7; expected text in quotes"),
    ('"right"', '"middle"', "spokes.first: \"middle\"; expected 'right' or 'left'"),
    ("cross = 2", "cross = true", "spokes.right.cross: true; expected a whole number"),
    ("cross = 2", f"cross = 0x{'f' * 5000}",
     "spokes.right.cross: a whole number of 20000 bits; expected at most"),
    ("[1.5, -1.5]", '"1.5"',
     'spokes.right.spoke_line_mm: "1.5"; expected a number, or two as [trailing, leading]'),
    ("[1.5, -1.5]", "[1, 2, 3]", "spokes.right.spoke_line_mm: [1, 2, 3]; expected 2 entries, not 3"),
    ("[1.8, 268]", "[1.8]", "spokes.left.segments_mm[2]: [1.8]; expected 2 entries, not 1"),
    ("[1.8, 268]", '["a", 2]', f'spokes.left.segments_mm[2][1]: "a"; {NUMBER}'),
    ("[7]", "7", "spokes.missing: 7; expected a list"),
    ('"from load"', '"low"', 'limits.min_tension_N: "low"; expected a number or "from load"'),
    ("radial_N = 700", "radial_N = 0", "load.radial_N: 0; expected more than 0"),
    ("width_mm = 28", "width_mm = -28", "tyre.width_mm: -28; expected from 5 to 150 mm"),
    # unknown
    ("flange_mm = 32.5", "flnge_mm = 34.0",
     'hub.left.flnge_mm: 34.0; unknown key; did you mean "flange_mm"?'),
    ("gap_mm = 0.2", "gap = 0.2", 'aims.gap: 0.2; unknown key; did you mean "gap_mm"?'),
    ("holes = 36", "holes = 36\njoint = 1",
     "rim.joint: 1; expected a table"),
    ("[aims]", "[[reading]]", "reading: [{ gap_mm = 0.2 }]; unknown key; belongs in a job file"),
    # one too many
    ("flange_mm = 32.5", "flange_mm = 32.5, face_to_flange_mm = 3",
     "hub.left.face_to_flange_mm: 3; expected without flange_mm: only one of the two"),
    ("holes = 36", "holes = 36\nhole_angles_deg = [1]", "rim.hole_angles_deg: [1]; expected without holes"),
    ("right_N = 1000.0", "right_N = 1000.0\nleft_N = 3", "tension.left_N: 3; expected without right_N"),
    ("cross = 2", "cross = 2, angle_deg = 20", "spokes.right.angle_deg: 20; expected without cross"),
    ("diameter_mm = 2.0", "diameter_mm = 2.0\nsegments_mm = [[2, 3]]",
     "spokes.segments_mm: [[2, 3]]; expected without diameter_mm"),
    (KIND, f"{KIND}\ntorsion_Nm2 = 20", "rim.torsion_Nm2: 20; expected instead of kind, not beside it"),
    (KIND, "stretch_N = 7e6",
     "rim.torsion_Nm2: missing; expected all four stiffnesses where no kind is given"),
    ('first = "right"', 'first = "right"\nsides = "LRLR"', 'spokes.first: "right"; expected as sides begins'),
    # range: the rules of the parts, under the keys of the file
    ("flange_mm = 32.5", "flange_mm = -32.5", "hub.left.flange_mm: -32.5; expected more than 0 to 200 mm"),
    ("flange_mm = 32.5", "face_to_flange_mm = 70",
     "hub.left.face_to_flange_mm: 70; puts the flange -2.5 mm from the hub's middle; expected more"),
    ("flange_mm = 32.5", "flange_mm = 80", "hub.left.flange_mm: 80; expected inside the contact face"),
    ("135.0", "-135.0", "hub.contact_width_mm: -135.0; expected more than 0 to 400 mm"),
    ("holes = 36", "holes = 2", "rim.holes: 2; rim has 2 holes; expected 8 to 144"),
    ("holes = 36", "holes = 27", "rim.holes: 27; looks wrong: crossed spokes on sides that alternate take a multiple "
     "of four; expected 24 or 28"),
    ("holes = 36", "holes = 999999999", "rim.holes: 999999999; rim has 999999999 holes; expected 8 to 144"),
    ("holes = 36", "hole_angles_deg = [3, 2, 1, 0, 1, 2, 3, 4]",
     "rim.hole_angles_deg: [3, 2, 1, 0, 1, 2, 3, 4]; "),
    ("611.0", "90", "rim.nipple_seat_diameter_mm: 90; a radius of 45 mm; expected from 50 to 600 mm"),
    ("308.5", "400", "rim.section_radius_mm: 400; expected within 60 mm of the nipple seats"),
    ("seat_offset_mm = 1.0", "seat_offset_mm = 50", "rim.seat_offset_mm: 50; expected from -20 to 20 mm"),
    ("box alloy", "bax alloy",
     'rim.kind: "bax alloy"; expected one of "box alloy", "shallow alloy", "deep alloy"'),
    ("cross = 2", "cross = 7", "spokes.right.cross: 7; expected at most 4: 7 crosses lean 140 degrees"),
    ("cross = 2", "angle_deg = 120", "spokes.right.angle_deg: 120; expected 0 to 100 degrees"),
    ('"leading"', '"lead"', 'spokes.left.starts: "lead"; expected "trailing" or "leading"'),
    ("diameter_mm = 2.0", "diameter_mm = 20",
     "spokes.diameter_mm: 20; expected from 0.5 to 6 mm of diameter"),
    ("[1.8, 268]", "[18, 268]",
     "spokes.left.segments_mm[2]: [18, 268]; expected from 0.5 to 6 mm of diameter"),
    ("193.0", "-193.0", "spokes.modulus_GPa: -193.0; expected from 1 to 1000 GPa"),
    ("= 50", "= 1", "spokes.threads_per_inch: 1; a pitch of 25.4 mm; expected from 0.1 to 2 mm"),
    ("[7]", "[7, 99]", "spokes.missing: 99; expected spoke numbers from 1 to 36"),
    ('first = "right"', 'sides = "RLRLRLRL"',
     'spokes.sides: "RLRLRLRL"; expected one letter for each of the 36 rim holes'),
    ('first = "right"', 'sides = ""', 'spokes.sides: ""; expected at least 3 spokes on each flange'),
    ("1000.0", "-1000.0", "tension.right_N: -1000.0; expected from 0 to 10000 N"),
    ("1100.0", "-5", "limits.max_tension_N: -5; expected more than 0 to 10000 N"),
    ("= 15", "= 150", "limits.side_spread_percent: 150; expected more than 0 to 100 per cent"),
    ("gap_mm = 0.2", "gap_mm = -0.2", "aims.gap_mm: -0.2; expected more than 0 to 50 mm"),
    ("1100.0\nmin_tension_N = \"from load\"", "200",
     "limits.min_tension_N: 300.0 (the default); expected less than the highest allowed tension, 200 N"),
    # format
    ("format = 1", "format = 2", "format: 2; written by a newer program; expected format 1"),
    ("format = 1", 'format = "1"', 'format: "1"; expected a whole number'),
    ("format = 1", "format = 0", "format: 0; expected at least 1"),
])
def test_one_fault(wheel_lines, old, new, line):
    found = wheel_lines((old, new)) if old != KIND else wheel_lines((f"\n{old}", f"\n{new}"))
    assert any(one.startswith(f"wheel.toml: {line}") for one in found), found


def test_one_cause_is_told_once(wheel_lines):
    """A common diameter serves both sides, and a default section radius repeats the seat's."""
    assert len(wheel_lines(("diameter_mm = 2.0", "diameter_mm = 20"))) == 1
    assert len(wheel_lines(("section_radius_mm = 308.5", ""), ("611.0", "90"))) == 1


def test_a_newer_format_is_told_alone(wheel_lines):
    """What a newer program writes beside it can't be judged."""
    assert len(wheel_lines(("format = 1", "format = 2"), ("holes = 36", 'new_key = "36"'))) == 1


def test_all_parts_are_told_at_once(wheel_lines):
    """A table that fails hides neither the other tables nor the parts made from them."""
    found = wheel_lines(
        ("contact_width_mm = 135.0", "contact_width_mm = -135.0"),
        ("flange_mm = 32.5", "flange_mm = -32.5"),
        ("section_radius_mm = 308.5", 'section_radius_mm = "308.5"'),
        ("threads_per_inch = 50", "threads = 50"),
        ("modulus_GPa = 193.0", "modulus_GPa = 0"),
        ('starts = "leading"', 'starts = "lead"'),
        ("right_N = 1000.0", "right_N = 1e6"),
        ("gap_mm = 0.8", "gap_mm = -0.8"),
    )
    assert [line.split(": ")[1] for line in found] == [
        "hub.left.flange_mm", "hub.contact_width_mm", "rim.section_radius_mm", "spokes.threads",
        "spokes.left.starts", "spokes.modulus_GPa", "limits.gap_mm", "tension.right_N",
    ]


def test_rules_of_the_whole_wheel_are_told_under_its_keys(wheel_lines):
    """Seats 15 mm left of the middle lie outside a flange 10 mm left of it."""
    found = wheel_lines(("offset_mm = 1.0", "offset_mm = -15"), ("flange_mm = 32.5", "flange_mm = 10"))
    assert found == ["wheel.toml: hub.left.flange_mm: 10; expected further out than the left nipple seats, "
                     "so that its spokes pull left"]


def test_lacing_is_judged_though_the_hub_failed(wheel_lines):
    found = wheel_lines(("flange_mm = 32.5", "flange_mm = -32.5"), ("cross = 2", "cross = 7"))
    assert [line.split(": ")[1] for line in found] == ["hub.left.flange_mm", "spokes.right.cross"]


def test_a_wheel_file_without_hub(write, lines):
    found = lines(write("wheel.toml", "[rim]\nholes = 36\n"))
    assert "wheel.toml: hub: missing; expected a table" in found
    assert "wheel.toml: spokes: missing; expected a table" in found


@pytest.mark.parametrize("limit", ["0", '"1100"'])
def test_faults_of_limits_do_not_hide_those_of_aims(wheel_lines, limit):
    """What the aims would take from the limits is then not judged: the lowest tension alone could be 1300 N."""
    found = wheel_lines(("1100.0\nmin_tension_N = \"from load\"", f"{limit}\nmin_tension_N = 0"),
                        ("gap_mm = 0.2", "gap_mm = 0.0\nmin_tension_N = 1300"))
    keys = [line.split(": ")[1] for line in found]
    assert [key for key in keys if key != "limits.min_tension_N"] == ["limits.max_tension_N", "aims.gap_mm"]


def test_keys_too_many_do_not_hide_the_rest(wheel_lines):
    found = wheel_lines(("holes = 36", f"holes = 36\nhole_angles_deg = {[10 * k for k in range(8)]}"),
                        ("seat_offset_mm = 1.0", "seat_offset_mm = 50"),
                        ("right_N = 1000.0", "right_N = -1\nleft_N = 3"))
    assert [line.split(": ")[1] for line in found] == [
        "rim.hole_angles_deg", "rim.seat_offset_mm", "tension.left_N", "tension.right_N"]


def test_a_key_too_many_is_left_out(wheel_lines):
    """The first of the two stands; nothing is said of what the other would make of the wheel."""
    assert len(wheel_lines(("holes = 36", f"holes = 36\nhole_angles_deg = {[45 * k for k in range(8)]}"))) == 1
    found = wheel_lines(("cross = 2", 'cross = 2, angle_deg = "x"'))
    assert [line.split(": ")[1] for line in found] == 2 * ["spokes.right.angle_deg"]


def test_a_fault_of_the_width_is_not_told_of_the_flange_measured_from_its_face(wheel_lines):
    found = wheel_lines(("135.0", '"135"'), ("flange_mm = 32.5, hole_circle_mm = 47.0",
                                             "face_to_flange_mm = 70, hole_circle_mm = 450"))
    assert [line.split(": ")[1] for line in found] == ["hub.contact_width_mm", "hub.left.hole_circle_mm"]


def test_a_size_refused_for_one_side_is_not_replaced_by_the_common_one(wheel_lines):
    assert sorted(wheel_lines(("[1.8, 268]", "[1.8]"), ("diameter_mm = 2.0", "diameter_mm = 20"))) == [
        "wheel.toml: spokes.diameter_mm: 20; expected from 0.5 to 6 mm of diameter",
        "wheel.toml: spokes.left.segments_mm[2]: [1.8]; expected 2 entries, not 1"]
    assert len(wheel_lines(("[1.8, 268]", "[1.8]"), ("diameter_mm = 2.0\n", ""),
                           ("cross = 2,", "cross = 2, diameter_mm = 2.0,"))) == 1


def test_missing_that_is_no_list_hides_nothing(wheel_lines):
    found = wheel_lines(("[7]", "7"), ("193.0", "-193.0"))
    assert [line.split(": ")[1] for line in found] == ["spokes.missing", "spokes.modulus_GPa"]
