"""Everyday jobs as files: an invented wheel at some share of its usual tension, with some gap, read without error."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.optimize import fsolve

import wheelsim
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium

# Flanges left and right [mm], sides, the side whose usual tension is given [N], its highest tension [N].
WHEELS = {
    "front": (34.5, 34.5, "RL" * 16, "right", 1000, 1200),
    "rear": (36.0, 19.5, "RL" * 16, "right", 1100, 1250),
    "disc front": (23.5, 36.5, "RL" * 16, "left", 1050, 1200),
    "2:1": (36.0, 19.5, "RRL" * 8, "right", 1000, 1200),
}


def wheel_text(kind, table=""):
    left, right, sides, side, usual, highest = WHEELS[kind]
    cross = "0" if kind == "2:1" else "3"
    return f"""
[{table}hub]
contact_width_mm = 130.0
left = {{ flange_mm = {left}, hole_circle_mm = 47.0 }}
right = {{ flange_mm = {right}, hole_circle_mm = 47.0 }}
[{table}rim]
holes = {len(sides)}
nipple_seat_diameter_mm = 606.0
kind = "box alloy"
[{table}spokes]
sides = "{sides}"
left = {{ cross = {cross} }}
right = {{ cross = {"2" if kind == "2:1" else "3"} }}
diameter_mm = 2.0
[{table}tension]
{side}_N = {usual}.0
[{table}limits]
max_tension_N = {highest}.0
"""


@dataclass(frozen=True)
class Bench:
    """What is read, and how: the meter's scale by side, how many spokes of each (None: all).

    ``dial``: at every spoke, at none, at so many places, or at the highest and lowest ("extremes").
    """

    gauge: bool = True
    dial: bool | int | str = True
    tensions: int | None = None
    scale: tuple = (1.0, 1.0)


def state_of(wheel, share, gap_mm, extra=None):
    """The wheel with ``share`` of its usual tension and this gap, plus right [mm]; even but for ``extra`` turns."""
    return _state_of(wheel, share, gap_mm, tuple((extra or {}).items()))


@cache
def _state_of(wheel, share, gap_mm, extra):
    usual = float(equilibrium(wheel).tension.mean())
    right, left = (wheel.on_side(side) for side in ("right", "left"))

    def state(x):
        turns = np.zeros(wheel.n)
        turns[right], turns[left] = x
        for spoke, more in extra:
            turns[spoke - 1] += more
        return equilibrium(wheel, turns)

    def missing(x):
        there = state(x)
        return there.tension.mean() / usual - share, 2e3 * there.dish - gap_mm

    return state(fsolve(missing, (0.0, 0.0), epsfcn=1e-6))


def dial_lines(state, dial):
    """What the dial showed, sideways and up and down."""
    lateral = 1e3 * (state.lateral - state.dish)
    if dial == "extremes":
        high, low = int(lateral.argmax()), int(lateral.argmin())
        return [f"lateral_high = {{ spoke = {high + 1}, mm = {lateral[high]:.2f} }}",
                f"lateral_low = {{ spoke = {low + 1}, mm = {lateral[low]:.2f} }}"]
    if dial is True:
        radial = 1e3 * (state.radial - state.radial.mean())
        return [f"{name} = [{', '.join(f'{v:.2f}' for v in values)}]" for name, values in (
            ("lateral_mm", lateral), ("radial_mm", radial))]
    places = np.linspace(0, state.wheel.n, dial, endpoint=False).astype(int) if dial else ()
    read = ", ".join(f"{k + 1} = {lateral[k]:.2f}" for k in places)
    return [f"lateral_mm = {{ {read} }}"] if read else []


def job(folder, kind, share, gap_mm, bench=None, extra=None, more=""):
    """Write the job into a folder and read it back: a Job."""
    bench = bench or Bench()
    wheel_file = folder / "wheel.toml"
    wheel_file.write_text("format = 1\n" + wheel_text(kind))
    state = state_of(wheelsim.read_wheel(wheel_file), share, gap_mm, extra)
    lines = ["[[reading]]"]
    if bench.gauge:
        gap = 2e3 * view(state).dish
        lines.append(f'gauge = {{ set_on = "{"left" if gap > 0 else "right"}", gap_mm = {abs(gap):.2f}, '
                     'gap_at = "hub" }')
    lines += dial_lines(state, bench.dial)
    read = {}
    for side, scale in zip(("right", "left"), bench.scale, strict=True):
        mine = np.array(state.wheel.pulling(side))
        count = len(mine) if bench.tensions is None else bench.tensions
        for spoke in mine[np.linspace(0, len(mine) - 1, count).astype(int)] if count else ():
            read[int(spoke) + 1] = round(float(state.tension[spoke]) * scale)
    if read:
        lines.append("tension_N = { " + ", ".join(f"{k} = {v}" for k, v in sorted(read.items())) + " }")
    path = folder / "job.toml"
    path.write_text('format = 1\nwheel = "wheel.toml"\n' + more + "\n".join(lines) + "\n")
    return wheelsim.read_job(path)
