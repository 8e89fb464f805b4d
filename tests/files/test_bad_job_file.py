"""Every fault of a job file, and of the files it names, is told under its key."""

import pytest

GAUGE = 'gauge = { set_on = "right", gap_at = "hub", '


@pytest.mark.parametrize(("old", "new", "line"), [
    ('"wheel.toml"', "7", "wheel: 7; expected the path of a wheel file in quotes, or a [wheel] table"),
    ('wheel = "wheel.toml"', "format = 3\nwheel = 7",
     "format: 3; written by a newer program; expected format 1"),
    ('wheel = "wheel.toml"', 'name = "a"\nwheel = "wheel.toml"',
     'name: "a"; unknown key; expected one of format'),
    ('wheel = "wheel.toml"', 'wheel = "wheel.toml"\nhub = 3',
     "hub: 3; unknown key; belongs in the wheel file"),
    ("[work]", "[wrk]", "wrk: { step_turns"),
    ('label = "as received"', "label = 3", "reading[1].label: 3; expected text in quotes"),
    ('"as received"', '"as received"\nnote = "x"', 'reading[1].note: "x"; unknown key'),
    ('"as received"', '"as received"\nlateral = 1',
     'reading[1].lateral: 1; unknown key; did you mean "lateral_mm"?'),
    ('"inflated"', '"flat"', 'reading[2].tyre: "flat"; expected "off" or "inflated"'),
    # gauge
    ('set_on = "right", ', "", 'reading[1].gauge.set_on: missing; expected "right" or "left"'),
    ('"right"', '"rigth"', 'reading[1].gauge.set_on: "rigth"; expected "right" or "left"'),
    (', gap_at = "hub"', "",
     'reading[1].gauge.gap_at: missing; expected "hub", "feet" (held level) or "one foot"'),
    ('"hub"', '"foot"', 'reading[1].gauge.gap_at: "foot"; expected "hub", "feet" (held level) or "one foot"'),
    ("gap_mm = 3.0, ", "",
     "reading[1].gauge.gap_mm: missing; expected exactly one of gap_mm, gap_threads, passes_mm"),
    ("gap_mm = 3.0", "gap_mm = -3.0", "reading[1].gauge.gap_mm: -3.0; expected from 0 to 50 mm"),
    ("gap_mm = 3.0", "gap_mm = nan", "reading[1].gauge.gap_mm: nan; expected a finite number"),
    ("gap_mm = 3.0", "gap_threads = 70",
     "reading[1].gauge.gap_threads: 70; is 70 mm; expected from 0 to 50 mm"),
    ("gap_mm = 3.0", "gap_mm = 3.0, gap_threads = 3",
     "reading[1].gauge.gap_threads: 3; expected without gap_mm: only one of the two"),
    ("gap_mm = 3.0", "passes_mm = 3.0",
     "reading[1].gauge.stops_mm: missing; expected together with passes_mm"),
    ("gap_mm = 3.0", "passes_mm = 3, stops_mm = 2",
     "reading[1].gauge.stops_mm: 2; expected the feeler that stops to be thicker than the one that passes"),
    ("gap_mm = 3.0", "passes_mm = -3, stops_mm = 2",
     "reading[1].gauge.passes_mm: -3; expected from 0 to 50 mm"),
    # dial
    ("{ 7 = 0.6, 2 = -0.1 }", "[1, 2, 3]",
     "reading[1].lateral_mm: [1, 2, 3]; expected 36 numbers, one a spoke, not 3; or a table"),
    ("{ 7 = 0.6, 2 = -0.1 }", f"[{'1, ' * 35}'a']", 'reading[1].lateral_mm[36]: "a"; expected a number'),
    ("{ 7 = 0.6, 2 = -0.1 }", "0.6",
     "reading[1].lateral_mm: 0.6; expected a table such as { 7 = 0.6 }, or a list"),
    ("7 = 0.6", "7 = '0.6'", 'reading[1].lateral_mm.7: "0.6"; expected a number'),
    ("7 = 0.6", "7 = 60", "reading[1].lateral_mm.7: 60; expected from -50 to 50 mm"),
    ("7 = 0.6", "7.5 = 0.6", "reading[1].lateral_mm.7: { 5 = 0.6 }; expected a number"),
    ("7 = 0.6", "07 = 0.6", "reading[1].lateral_mm.07: 0.6; expected the number of a spoke as the key"),
    ("7 = 0.6", "valve = 0.6", "reading[1].lateral_mm.valve: 0.6; expected the number of a spoke as the key"),
    ("7 = 0.6", "0 = 0.6", "reading[1].lateral_mm.0: 0.6; expected spoke numbers from 1 to 36"),
    ("7 = 0.6", "37 = 0.6", "reading[1].lateral_mm.37: 0.6; expected spoke numbers from 1 to 36"),
    ('"as received"', '"as received"\nlateral_high = { spoke = 1, mm = 2 }',
     "reading[1].lateral_high: { spoke = 1, mm = 2 }; expected without lateral_mm"),
    ("spoke = 20", "spoke = 40", "reading[2].radial_low.spoke: 40; expected spoke numbers from 1 to 36"),
    ("spoke = 20", "spoke = 3", "reading[2].radial_low.spoke: 3; expected another spoke than radial_high"),
    ("spoke = 20, ", "", "reading[2].radial_low.spoke: missing; expected the number of the nearest spoke"),
    ("mm = -0.2", "mm = 2", "reading[2].radial_low.mm: 2; expected at most 0.4, the highest"),
    ("mm = -0.2", "nm = 2", 'reading[2].radial_low.nm: 2; unknown key; expected one of spoke, mm'),
    # tension
    ("1 = 980", "1 = -980", "reading[1].tension_N.1: -980; expected from 0 to 10000 N"),
    ("1 = 980", "1 = true", "reading[1].tension_N.1: true; expected a number"),
    ("1 = 980", "7 = 980", "reading[1].tension_N.7: 980; expected no tension of a missing spoke"),
    ("1 = 980", "99 = 980", "reading[1].tension_N.99: 980; expected spoke numbers from 1 to 36"),
    # work and passes
    ('"1/8"', '"1/3"', 'work.step_turns: "1/3"; expected 1, 1/2, 1/4, 1/8 or 1/16 of a turn'),
    ('"1/8"', '"a bit"', 'work.step_turns: "a bit"; expected turns like 1/4 (tighten), -1/4 (loosen), 0.25 or 1 1/4'),
    ('"1/8"', '"1e999999999"',
     'work.step_turns: "1e999999999"; expected turns like 1/4 (tighten), -1/4 (loosen), 0.25 or 1 1/4'),
    ('"1/8"', '"1/0"', 'work.step_turns: "1/0"; expected a fraction of a turn, not one over zero'),
    ('"1/8"', "true", "work.step_turns: true; expected a number"),
    ("[7, 21]", "[7, 50]", "work.stuck: 50; expected spoke numbers from 1 to 36"),
    ("[7, 21]", '["7"]', 'work.stuck[1]: "7"; expected a whole number'),
    ("leave = [3]", "leave = [0]", "work.leave: 0; expected spoke numbers from 1 to 36"),
    ("margin = 2", "margin = -2", "work.margin: -2; expected from 0 to 5 standard deviations"),
    ("-1.5", "-150", "work.target_dish_mm: -150; expected from -50 to 50 mm"),
    ("max_turns_per_nipple = 2", "max_turns_per_nipple = -2",
     "work.max_turns_per_nipple: -2; expected from 0 to 20 turns"),
    ('sides = "left"', 'sides = "near"', 'work.sides: "near"; expected "both", "right" or "left"'),
    ('"loosen"', '"up"', 'work.direction: "up"; expected "both", "loosen" or "tighten"'),
    ("time_s = 10", "time_s = 0", "work.time_s: 0; expected more than 0 to 86400 s"),
    ("number = 1\n", "", "pass[1].number: missing; expected a whole number from 1"),
    ("number = 1\n", "number = 0\n", "pass[1].number: 0; expected at least 1"),
    ('"-1/4"', "-200", "pass[1].turns.9: -200; expected turns between -20 and 20"),
    ('9 = "-1/4"', "90 = 1", "pass[1].turns.90: 1; expected spoke numbers from 1 to 36"),
    ('{ 9 = "-1/4", 2 = 0.5 }', "[1, 2]", "pass[1].turns: [1, 2]; expected 36 numbers, one a spoke, not 2"),
    ("{ 4 = 0.5 }", "{ 44 = 0.5 }", "pass[2].planned.44: 0.5; expected spoke numbers from 1 to 36"),
    ("= true", "= 3", "pass[1].planned: 3; expected a table"),
])
def test_one_fault(job_lines, old, new, line):
    found = job_lines((old, new))
    assert any(one.startswith(f"job.toml: {line}") for one in found), found


@pytest.mark.parametrize("text", ["[reading]\n", "reading = 3\n"])
def test_readings_are_lists_of_tables(write, wheel_text, lines, text):
    write("wheel.toml", wheel_text)
    found = lines(write("job.toml", f'wheel = "wheel.toml"\n{text}'))
    assert len(found) == 1
    assert found[0].endswith("; expected tables in double brackets, such as [[reading]] or [[pass]]")


def test_a_reading_that_is_no_table(write, wheel_text, lines):
    write("wheel.toml", wheel_text)
    assert lines(write("job.toml", 'wheel = "wheel.toml"\nreading = [3]\n')) == [
        "job.toml: reading[1]: 3; expected a table"]


@pytest.mark.parametrize(("text", "line"), [
    ("tension_N = { 1 = 900 }\ntension_kgf = { 1 = 90 }",
     "tension_kgf: { 1 = 90 }; expected without tension_N: only one of the two"),
    ("tension_kgf = { 1 = 2000 }", "tension_kgf.1: 2000; is 19613 N; expected from 0 to 10000 N"),
    ("tension_kgf = { 99 = 20 }", "tension_kgf.99: 20; expected spoke numbers from 1 to 36"),
    ("tension_N = [1, 2]", "tension_N: [1, 2]; expected 36 numbers, one a spoke, not 2"),
    ("tone_Hz = { 1 = -3 }", "tone_Hz.1: -3; expected more than 0"),
    ("tone_Hz = { 99 = 300 }", "tone_Hz.99: 300; expected spoke numbers from 1 to 36"),
    ("tone_Hz = { 1 = 1e200 }", "tone_Hz.1: 1e+200; is inf N; expected from 0 to 10000 N"),
    ("meter = { 1 = 20 }", "meter_chart: missing; expected together with meter"),
    ('meter_chart = "chart.csv"', "meter: missing; expected together with meter_chart"),
    ('meter = { 1 = 31, 2 = 20 }\nmeter_chart = "chart.csv"',
     "meter.1: 31; expected from 10 to 30, the range of chart.csv"),
])
def test_tension_in_another_unit(reading_lines, write, text, line):
    write("chart.csv", "reading,force_N\n10,500\n30,1400\n")
    found = reading_lines(text)
    assert len(found) == 1
    assert found[0].startswith(f"job.toml: reading[1].{line}")


@pytest.mark.parametrize(("chart", "line"), [
    ("reading,force\n1,2\n", "line 1: reading,force; expected the header reading,force_N"),
    ("reading,force_N\n1,2\n", "holds 1 rows; expected at least two"),
    ("reading,force_N\n1,2\n3\n4,nan\n",
     "line 3: 3; expected two numbers, such as 410,980"),
    ("reading,force_N\n1,2\n2,3\n2,4\n",
     "reading: turns back or stands still; expected to rise or fall all the way"),
    ("reading,force_N\n1,2\n2,3\n3,2\n",
     "force_N: turns back or stands still; expected to rise or fall all the way"),
    ("", "is empty; expected a meter's chart, two columns under the header reading,force_N"),
    (b"\xff\xfe", "line 1: byte 0xff is not UTF-8; expected UTF-8 text"),
])
def test_bad_chart(reading_lines, write, chart, line):
    write("chart.csv", chart)
    assert f"chart.csv: {line}" in reading_lines('meter = { 1 = 22.5 }\nmeter_chart = "chart.csv"')


def test_no_chart(reading_lines):
    assert reading_lines('meter = { 1 = 22.5 }\nmeter_chart = "chart.csv"') == [
        "chart.csv: cannot be read: not found; "
        "expected a meter's chart, two columns under the header reading,force_N"]


def test_faults_of_the_wheel_carry_its_file(write, wheel_text, job_text, lines):
    """Both files are told in one reading, the wheel's first."""
    write("wheel.toml", wheel_text.replace("flange_mm = 32.5", "flange_mm = -32.5"))
    found = lines(write("job.toml", job_text.replace("37", "1").replace("[7, 21]", "[7, 50]")))
    assert found == ["wheel.toml: hub.left.flange_mm: -32.5; expected more than 0 to 200 mm",
                     "job.toml: work.stuck: 50; expected spoke numbers from 1 to 36"]


def test_faults_of_an_inline_wheel_carry_its_table(write, wheel_text, lines):
    text = wheel_text.replace("format = 1", "[wheel]").replace("\n[", "\n[wheel.")
    text = text.replace("flange_mm = 32.5", "flange_mm = -32.5").replace("holes = 36", "hole = 36")
    found = lines(write("job.toml", text))
    assert "job.toml: wheel.hub.left.flange_mm: -32.5; expected more than 0 to 200 mm" in found
    assert 'job.toml: wheel.rim.hole: 36; unknown key; did you mean "holes"?' in found


def test_faults_of_readings_keep_their_place(job_lines):
    """The first reading fails, and the second is still called the second."""
    found = job_lines(('label = "as received"', "label = 3"), ("spoke = 3,", "spoke = 300,"))
    assert [line.split(": ")[1] for line in found] == ["reading[1].label", "reading[2].radial_high.spoke"]


def test_wheel_that_is_not_there(write, lines):
    assert lines(write("job.toml", 'wheel = "gone.toml"')) == [
        "gone.toml: cannot be read: not found; expected the wheel file that job.toml names"]


def test_job_that_names_a_job(write, lines):
    assert lines(write("job.toml", 'wheel = "job.toml"')) == [
        'job.toml: wheel: "job.toml"; expected a wheel file, as job.toml names it, not another job']


@pytest.mark.parametrize(("old", "new"), [("margin = 2", "margin = 15"), ("margin = 2", 'margin = "2"'),
                                          ("[7, 21]", '["7", 21]')])
def test_faults_of_work_do_not_hide_spokes_beyond_the_wheel(job_lines, old, new):
    assert "job.toml: work.leave: 50; expected spoke numbers from 1 to 36" in job_lines(
        (old, new), ("leave = [3]", "leave = [50]"))


@pytest.mark.parametrize("fault", ['"flat"', "3"])
def test_faults_of_a_reading_do_not_hide_spokes_beyond_the_wheel(job_lines, fault):
    found = job_lines(('"inflated"', fault), ("spoke = 3,", "spoke = 300,"))
    assert [line.split(": ")[1] for line in found] == ["reading[2].tyre", "reading[2].radial_high.spoke"]


@pytest.mark.parametrize("end", ["radial_high", "radial_low", "lateral_high", "lateral_low"])
def test_ends_of_the_dial_are_told_under_what_is_wrong(reading_lines, end):
    """The number of millimetres or that of the spoke, or both."""
    millimetres = f"job.toml: reading[1].{end}.mm: -200; expected from -50 to 50 mm"
    spoke = f"job.toml: reading[1].{end}.spoke: 70; expected spoke numbers from 1 to 36"
    assert reading_lines(f"{end} = {{ spoke = 7, mm = -200 }}") == [millimetres]
    assert reading_lines(f"{end} = {{ spoke = 70, mm = -20 }}") == [spoke]
    assert reading_lines(f"{end} = {{ spoke = 70, mm = -200 }}") == [millimetres, spoke]
    assert reading_lines(f'{end} = {{ spoke = "7", mm = -200 }}') == [
        f'job.toml: reading[1].{end}.spoke: "7"; expected a whole number', millimetres]


def test_ends_of_the_dial_at_one_spoke(reading_lines):
    found = reading_lines("radial_high = { spoke = 7, mm = 200 }\nradial_low = { spoke = 7, mm = 0 }")
    assert [line.split("; ")[0] for line in found] == [
        "job.toml: reading[1].radial_low.spoke: 7", "job.toml: reading[1].radial_high.mm: 200"]
    assert len(reading_lines("radial_high = { spoke = 7, mm = 0 }\nradial_low = { spoke = 7, mm = -200 }")) == 1


def test_a_refused_entry_hides_no_other(reading_lines):
    found = reading_lines(f"lateral_mm = {['x', 99, *[0] * 34]}\nradial_mm = {{ 1 = 'x', 2 = 99, valve = 0 }}")
    assert sorted(line.split(": ")[1].removeprefix("reading[1].") for line in found) == [
        "lateral_mm[1]", "lateral_mm[2]", "radial_mm.1", "radial_mm.2", "radial_mm.valve"]


def test_a_pass_is_told_whole(job_lines):
    found = job_lines(("number = 2", "number = 0"), ("{ 4 = 0.25 }", '{ 4 = "x", 40 = 1 }'),
                      ("{ 4 = 0.5 }", '{ 5 = "x", 50 = 1 }'))
    assert [line.split(": ")[1] for line in found] == [
        "pass[2].number", "pass[2].turns.4", "pass[2].planned.5", "pass[2].turns.40", "pass[2].planned.50"]


@pytest.mark.parametrize("number", ["number = 0", "number = nan", 'number = "2"', ""])
def test_a_pass_whose_number_is_refused_says_nothing_of_the_readings_after_it(job_lines, number):
    """Whether there is such a pass can't be judged then."""
    found = job_lines(("number = 2", number), ('label = "after a pass"', "after_pass = 2"))
    assert [line.split(": ")[1] for line in found] == ["pass[2].number"]
