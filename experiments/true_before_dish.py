"""Why true a rim before centring it?

Question
    The sample front wheel is centred, but its rim is out of true. How wrong can the gauge's gap be for different
    numbers of waves round the rim, if the feet stand at the same place when the gauge is set and when it is read?
Expect
    On a saddle (two waves) the rim is off to the same side under both feet, with three waves to opposite sides: the
    saddle falsifies the gap, three waves don't.
Found
    A saddle of 1.00 mm run-out shows a gap up to 1.00 mm that is not there; three waves none (below 0.001 mm), four
    waves 1.03 mm, one nipple alone 0.67 mm for every millimetre. At the limit of 0.5 mm run-out
    the saddle's false gap is 0.50 mm, half of what is allowed. Reading the saddle at two places a quarter round and
    taking the mean leaves nothing (below 0.001 mm).
Figure
    figures/true_before_dish.svg: where the feet stand on saddle and three waves, and the false gap against run-out.
"""

from dataclasses import dataclass

import numpy as np

from experiments.common import FIGURES, front, one_turn, page, rounded, spoke_axis
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.gauge import feet_deviation, saddle_error
from wheelsim.report.figures import save
from wheelsim.report.figures.look import FAINT, INK, LIMIT, SMALL, fixed_look
from wheelsim.units import MM
from wheelsim.wheel.geometry import wheel_geometry

FIGURE = FIGURES / "true_before_dish.svg"
WAVES = (2, 3, 4)
STEPS = np.linspace(0.0, 1.0, 6)
MOST_RUNOUT = 1.0 * MM
FEET = 10  # spoke at which one foot stands, the other opposite: on a crest of the saddle


@dataclass(frozen=True, eq=False)
class Found:
    """Results by kind of fault: 2, 3, 4 waves, "one nipple". [m]"""

    wheel: object
    runout: dict  # run-outs
    false_gap: dict  # largest error of the gap at each run-out, from twice the rim's mean offset
    shape: dict  # of the rim at the largest run-out, (n,)
    averaged: float  # error of the mean of two readings a quarter of a turn apart, on the largest saddle


def run():
    """Make each fault by turning nipples, calculate the equilibrium, and set and read the gauge at every place."""
    wheel = front()
    g = wheel_geometry(wheel)
    patterns = {m: g.side * np.cos(m * (g.angle - g.angle[FEET - 1])) for m in WAVES}
    patterns["one nipple"] = one_turn(wheel, FEET, 1.0)
    runout, false_gap, shape = {}, {}, {}
    for name, pattern in patterns.items():
        trial = equilibrium(wheel, 0.1 * pattern)
        most = 0.1 * MOST_RUNOUT / np.ptp(trial.lateral)
        states = [equilibrium(wheel, share * most * pattern) for share in STEPS]
        runout[name] = np.array([np.ptp(state.lateral) for state in states])
        false_gap[name] = np.array([saddle_error(g.angle, state.lateral)[0] for state in states])
        shape[name] = states[-1].lateral - states[-1].dish
    return Found(wheel, runout, false_gap, shape, saddle_error(g.angle, shape[2])[1])


def draw(found):
    """The rim with two and three waves and the gauge's feet, and the false gap beside them."""
    sentence = (f"True comes before dish: a saddle of {found.runout[2][-1] / MM:.1f} mm run-out can show a gap of "
                f"{found.false_gap[2][-1] / MM:.1f} mm on a centred wheel, three waves show none")
    with fixed_look():
        figure, top = page(sentence, (10.0, 5.4), "invented front wheel, 36 spokes, rim centred on the hub")
        grid = figure.add_gridspec(2, 2, left=0.085, right=0.985, bottom=0.115, top=top - 0.045, hspace=0.34,
                                   wspace=0.24, width_ratios=(1.25, 1.0))
        upper = figure.add_subplot(grid[0, 0])
        lower = figure.add_subplot(grid[1, 0], sharex=upper)
        for axes, waves, words in ((upper, 2, "saddle, two waves"), (lower, 3, "three waves")):
            _feet(axes, found, waves, words)
        spoke_axis((upper, lower), found.wheel.n)
        upper.tick_params(labelbottom=False)
        lower.set_xticks(range(1, found.wheel.n + 1, 5))
        _false_gaps(figure.add_subplot(grid[:, 1]), found)
        figure.align_ylabels((upper, lower))
    return figure


def _feet(axes, found, waves, words):
    lateral = rounded(found.shape[waves] / MM)
    number = np.arange(1, found.wheel.n + 1)
    at = np.array([FEET, FEET + found.wheel.n // 2])
    axes.axhline(0.0, color=FAINT, lw=0.8)
    axes.plot(number, lateral, color=INK, lw=1.6)
    axes.plot(at, lateral[at - 1] + 0.1, ls="none", marker="v", ms=10, mfc="white", mec=LIMIT, mew=1.8)
    angle = wheel_geometry(found.wheel).angle
    mean = float(rounded(feet_deviation(angle, found.shape[waves], angle[[FEET - 1]])[0] / MM))
    axes.axhline(mean, color=LIMIT, lw=1.3, ls="dashed")
    axes.set_ylim(-0.75, 0.95)
    axes.set_ylabel("lateral [mm]\n+ right")
    said = "on the rim's mean" if abs(mean) < 0.005 else f"{mean:.1f} mm off the rim's mean"
    axes.set_title(f"{words}: the gauge's feet {said}", loc="left", fontsize=SMALL + 1, color=INK, pad=3)


def _false_gaps(axes, found):
    looks = {2: ("o", "solid", "saddle, two waves"), 4: ("^", "dashed", "four waves"),
             "one nipple": ("D", "dashdot", "one nipple"), 3: ("s", "dotted", "three waves")}
    for name, (mark, line, words) in looks.items():
        axes.plot(rounded(found.runout[name] / MM), rounded(found.false_gap[name] / MM), color=INK, lw=1.5, ls=line,
                  marker=mark, ms=6, mfc="white", label=words, clip_on=False, zorder=3)
    limit = found.wheel.limits.lateral_runout / MM
    axes.axvline(limit, color=LIMIT, lw=1.0, ls="dashed")
    axes.text(limit + 0.01, 0.06, "run-out limit", color=LIMIT, fontsize=SMALL)
    axes.set_xlim(0.0, 1.02)
    axes.set_ylim(0.0, 1.1)
    axes.set_xlabel("run-out [mm]")
    axes.set_ylabel("false gap, at the worst place [mm]")
    axes.grid(color="#e4e4e4", lw=0.6)
    axes.legend(loc="upper left", fontsize=SMALL, frameon=False)


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
