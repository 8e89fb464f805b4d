"""Texts of a small wheel and its job, with every table and every way to read, and the command on them."""

import contextlib
import io

from hypothesis import HealthCheck

import wheelsim.cli.app

# Small wheels, for speed; every table and every way to read is in one of the files.
WHEEL = """\
name = "invented"
[hub]
contact_width_mm = 100.0
left = { flange_mm = 32.5, hole_circle_mm = 47.0 }
right = { face_to_flange_mm = 25.0, hole_circle_mm = 47 }
[rim]
holes = 8
nipple_seat_diameter_mm = 300.0
section_radius_mm = 152.0
seat_offset_mm = 0.5
drilling_offset_mm = -0.5
kind = "box alloy"
[rim.joint]
at_deg = 180
arc_deg = 5
stiffness = 1.5
[spokes]
first = "right"
left = { cross = 0, diameter_mm = 1.8 }
right = { cross = 0, spoke_line_mm = [1.5, -1.5] }
segments_mm = [[2.0, 10], [1.8, 108], [2.0, 14]]
modulus_GPa = 193.0
threads_per_inch = 56
[tension]
right_N = 600.0
[limits]
max_tension_N = 1100.0
min_tension_N = 250.0
gap_mm = 0.8
lateral_runout_mm = 0.6
radial_runout_mm = 0.7
side_spread_percent = 15
[aims]
gap_mm = 0.3
[load]
radial_N = 300
lateral_N = 100
[tyre]
pressure_bar = 6
width_mm = 28
"""
READING = """\
[[reading]]
label = "as received"
gauge = { set_on = "right", gap_mm = 1.0, gap_at = "hub" }
lateral_mm = { 7 = 0.3, 2 = -0.1, 5 = 0.0 }
tension_kgf = { 2 = 60, 1 = 62 }
[[reading]]
tone_Hz = { 2 = 640, 1 = 650 }
[[reading]]
meter = { 2 = 20, 1 = 21.5 }
meter_chart = "chart.csv"
[[reading]]
gauge = { set_on = "left", passes_mm = 0.6, stops_mm = 0.9, gap_at = "feet" }
lateral_mm = [0.1, 0.0, -0.1, 0.0, 0.1, 0.0, -0.1, 0.0]
radial_high = { spoke = 3, mm = 0.2 }
radial_low = { spoke = 6, mm = -0.1 }
tension_N = { 1 = 610, 2 = 575, 3 = 590, 6 = 600 }
tyre = "inflated"
"""
WORK = """\
[work]
step_turns = "1/8"
stuck = [7]
leave = [3]
margin = 1.5
target_dish_mm = -0.5
max_turns_per_nipple = 2
time_s = 10
[[pass]]
number = 1
turns = { 5 = "-1/4", 2 = 0.5 }
planned = true
"""
JOB = "[wheel]\n" + WHEEL.replace("\n[", "\n[wheel.") + READING + WORK
BESIDE = 'wheel = "wheel.toml"\n' + READING + WORK
CHART = "reading,force_N\n10,300\n20,600\n30,1100\n"
SIZED = "diameter_mm,reading,force_N\n1.8,10,300\n1.8,20,600\n1.8,30,1100\n2.0,10,350\n2.0,30,1200\n"


def run(*words):
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = wheelsim.cli.app.run([str(word) for word in words])
    return code, out.getvalue(), err.getvalue()


# How hypothesis goes about it: the same examples every time.
SETTINGS = {"derandomize": True, "deadline": None, "database": None,
            "suppress_health_check": [HealthCheck.too_slow, HealthCheck.data_too_large]}
