"""How far does a quarter turn of a whole side move the rim?

Question
    All right nipples of the shipped front wheel are tightened a quarter turn. What determines how far the rim moves and
    how much tension rises: the distance between the flanges, the number of spokes, or their thickness?
Expect
    By geometry the rim moves half the thread's advance in a quarter turn, divided by the sine of the angle between
    spoke and wheel plane: the larger that angle, the less. Number and thickness of spokes should not change the
    movement; tension should rise more with thicker ones.
Found
    Flanges 40 mm apart give 0.60 mm, 70 mm apart (the shipped front wheel) 0.43 mm, 80 mm apart 0.38 mm; thread and
    lean alone promise 0.84, 0.48 and 0.42 mm. The rest is what the tension of 1,000 N holds back: with the rim moved
    right the left spokes lean more and the right ones less, and pull it left. Barely tensioned the shipped wheel's rim
    goes the whole 0.48 mm. Twenty-four spokes give 0.42 mm, 48 give 0.43 mm. Spokes of 1.5 mm give 0.39 mm, of 2.3 mm
    0.44 mm. Mean tension rises 79 N whatever the flanges, 89 N with 24 and 71 N with 48 spokes, 52 N with 1.5 mm and 94
    N with 2.3 mm.
Figure
    figures/turn_of_a_side.svg: shift of the rim and gain in tension against each of the three.
"""

from dataclasses import dataclass, replace

import numpy as np

from experiments.common import FIGURES, front, page, rounded, side_turns, with_diameter, with_flanges, with_holes
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import influence
from wheelsim.report.figures import save
from wheelsim.report.figures.look import FAINT, INK, LIMIT, SMALL, fixed_look
from wheelsim.units import MM, QUARTER
from wheelsim.wheel.geometry import LAT, wheel_geometry

FIGURE = FIGURES / "turn_of_a_side.svg"
SPACING = np.arange(40, 81, 5) * MM
CROSSES = {24: 2, 28: 2, 32: 3, 36: 3, 40: 3, 48: 4}
HARDLY = 1.0  # tension [N]
DIAMETERS = np.array([1.5, 1.6, 1.8, 2.0, 2.3]) * MM


@dataclass(frozen=True, eq=False)
class Found:
    """Results for each variation as rows: shift of the rim [m], gain of mean tension [N], shift by geometry [m]."""

    spacing: np.ndarray  # (k, 3), by distance between the flanges
    count: np.ndarray  # (k, 3), by number of spokes
    gauge: np.ndarray  # (k, 3), by diameter of the spokes
    loose: float  # shift of the wheel with hardly any tension, linear [m]


def run():
    """Turn the right side of each variation of the front wheel."""
    wheel = front()
    return Found(
        np.array([_turned(with_flanges(wheel, far / 2, far / 2)) for far in SPACING]),
        np.array([_turned(with_holes(wheel, n, cross)) for n, cross in CROSSES.items()]),
        np.array([_turned(with_diameter(wheel, diameter)) for diameter in DIAMETERS]),
        float((influence(replace(wheel, tension=HARDLY)).lateral @ side_turns(wheel, right=QUARTER)).mean()),
    )


def _turned(wheel):
    was, now = equilibrium(wheel), equilibrium(wheel, side_turns(wheel, right=QUARTER))
    lean = float(np.abs(wheel_geometry(wheel).axis[:, LAT]).mean())
    return now.dish - was.dish, float((now.tension - was.tension).mean()), \
        QUARTER * wheel.spokes.thread_pitch / (2 * lean)


def draw(found):
    """Six panels: shift and gain in tension, each against the three properties."""
    first, last = found.spacing[0, 0] / MM, found.spacing[-1, 0] / MM
    sentence = (f"A quarter turn of a side moves the rim the further the closer the flanges ({first:.2f} mm at 40 mm, "
                f"{last:.2f} mm at 80 mm); the number of spokes doesn't matter, their gauge hardly")
    columns = ((SPACING / MM, found.spacing, "flange to flange [mm]", 70.0),
               (np.array(list(CROSSES)), found.count, "number of spokes [1]", 36.0),
               (DIAMETERS / MM, found.gauge, "spoke diameter [mm]", 2.0))
    with fixed_look():
        figure, top = page(sentence, (10.0, 5.6), "invented front wheel, 1,000 N, one thing changed at a time")
        panels = figure.subplots(2, 3, sharex="col", sharey="row", gridspec_kw={
            "left": 0.085, "right": 0.98, "bottom": 0.105, "top": top - 0.02, "hspace": 0.14, "wspace": 0.08})
        for column, (x, rows, name, sample) in enumerate(columns):
            upper, lower = panels[:, column]
            upper.plot(x, rounded(rows[:, 2] / MM), color=LIMIT, lw=1.2, ls="dashed",
                       label="thread and lean alone")
            upper.plot(x, rounded(rows[:, 0] / MM), color=INK, lw=1.6, marker="o", ms=5, label="the wheel")
            lower.plot(x, rounded(rows[:, 1], 2), color=INK, lw=1.6, marker="o", ms=5)
            lower.set_xlabel(name)
            for axes in (upper, lower):
                axes.grid(axis="y", color="#e4e4e4", lw=0.6)
                axes.axvline(sample, color=FAINT, lw=1.0, ls="dotted")
        panels[1, 0].text(70.0, 8, "the shipped wheel ", ha="right", fontsize=SMALL, color=INK)
        panels[0, 0].set_ylim(0.0, 0.9)
        panels[1, 0].set_ylim(0.0, 130)
        panels[0, 0].set_ylabel("rim shift [mm]\n+ right")
        panels[1, 0].set_ylabel("gain of every spoke,\nmean [N]")
        panels[0, 1].legend(fontsize=SMALL, frameon=False, loc="upper right")
        figure.align_ylabels(panels[:, 0])
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
