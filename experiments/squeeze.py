"""Does a squeeze of the hand show what tightening a side will do?

Question
    On the sample front wheel two neighbouring right spokes that run nearly parallel (15 and 17) are squeezed toward
    each other in the middle. How far does the rim go, and how many quarter turns of those two nipples is that?
Expect
    A spoke bent sideways needs more length between its ends, so it pulls more, as if its nipple had been tightened: the
    rim must go right, as when that side is tightened. For small forces the effect grows with the square of the force.
Found
    Squeezed with 100 N on each, 200 N, 300 N: the rim goes 0.94, 2.72, 4.62 mm right beside them, as with 2.6, 7.5
    and 12.6 quarter turns of the two. The spokes bend 6.6, 11.2 and 14.6 mm and pull up to 1,119, 1,331 and 1,542 N
    while squeezed, so 200 N of hand already takes them past the 1,200 N allowed. The rim as a whole (dish) goes 0.12,
    0.35 and 0.60 mm right; a quarter turn of the whole side moves it 0.43 mm.
Figure
    figures/squeeze.svg: the rim under three squeezes, and the quarter turns they stand for.

Notes
-----
Spokes are treated as strings. Their bending stiffness, with clamped ends, would require up to about a fifth more force
for the same bend. The spokes also pull their rim ends toward each other along the rim; that moves it 0.002 mm at 200 N
and is neglected.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from experiments.common import FIGURES, front, marker, page, rounded, side_turns, spoke_axis
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.report.figures import save
from wheelsim.report.figures.look import FAINT, INK, LIMIT, SMALL, fixed_look
from wheelsim.units import MM, QUARTER
from wheelsim.wheel.geometry import wheel_geometry

FIGURE = FIGURES / "squeeze.svg"
PAIR = (15, 17)  # neighbours on the right flange that run nearly parallel
FORCES = (100.0, 200.0, 300.0)  # on each spoke [N]
CURVE = np.arange(0.0, 301.0, 25.0)
MOST_TURNS = 6.0  # upper end of the search for equivalent turns [turn]


@dataclass(frozen=True, eq=False)
class Squeezed:
    """The wheel while the pair is squeezed."""

    turns: float  # of both nipples that have the same effect on the rim [turn]
    bend: float  # of a spoke in its middle [m]
    tension: float  # the higher one of the two [N]
    lateral: np.ndarray  # (n,) shift of the rim [m]


@dataclass(frozen=True, eq=False)
class Found:
    """Results for several forces."""

    wheel: object
    squeezed: dict  # by force on each spoke [N]
    quarter_turns: np.ndarray  # equivalent quarter turns for the forces in ``CURVE``
    side_quarter: float  # shift of the rim by a quarter turn of the whole side, for comparison [m]


def squeezed(wheel, force):
    """Equilibrium of the wheel while two spokes are pressed together in their middles.

    Parameters
    ----------
    force : float
        On each spoke, mean of the two. [N]

    Notes
    -----
    A spoke of length l whose middle is moved sideways by y has a path longer by d, with (l + d)^2 = l^2 + 4 y^2. For
    the rim that is the same as a nipple tightened by d / pitch. The force in the middle is 4 T y / (l + d), T the
    tension.
    """
    pair = np.array(PAIR) - 1
    length = wheel_geometry(wheel).length[pair]

    def bent(turns):
        both = np.zeros(wheel.n)
        both[pair] = turns
        state = equilibrium(wheel, both)
        way = length + turns * wheel.spokes.thread_pitch
        bend = np.sqrt(way**2 - length**2) / 2
        return state, float(bend.mean()), float((4 * state.tension[pair] * bend / way).mean())

    turns = brentq(lambda turns: bent(turns)[2] - force, 0.0, MOST_TURNS, xtol=1e-8) if force else 0.0
    state, bend, _ = bent(turns)
    return Squeezed(turns, bend, float(state.tension[pair].max()), state.lateral)


def run():
    """Squeeze with rising force; and turn the whole side for comparison."""
    wheel = front()
    return Found(wheel, {force: squeezed(wheel, force) for force in FORCES},
                 np.array([squeezed(wheel, force).turns / QUARTER for force in CURVE]),
                 equilibrium(wheel, side_turns(wheel, right=QUARTER)).dish)


def draw(found):
    """Rim shift over the spoke number, and equivalent turns over force beside it."""
    middle = found.squeezed[200.0]
    at = sum(PAIR) // 2 - 1
    sentence = ("Squeezing two right spokes shows what tightening them does: 200 N of hand moves the rim "
                f"{middle.lateral[at] / MM:.1f} mm right, like "
                f"{middle.turns / QUARTER:.0f} quarter turns of both nipples")
    with fixed_look():
        figure, top = page(sentence, (10.0, 4.9), "invented front wheel, 36 spokes, 1,000 N; spokes taken as strings")
        strip, curve = figure.subplots(1, 2, gridspec_kw={
            "width_ratios": (1.7, 1.0), "left": 0.075, "right": 0.985, "bottom": 0.135, "top": top - 0.03,
            "wspace": 0.2})
        _strip(strip, found)
        curve.plot(CURVE, rounded(found.quarter_turns), color=INK, lw=1.8)
        for force, one in found.squeezed.items():
            curve.plot([force], [rounded(one.turns / QUARTER)], ls="none", **marker("right", 7))
            curve.annotate(f"spokes at\n{one.tension:,.0f} N", (force, rounded(one.turns / QUARTER)), (4, -8),
                           textcoords="offset points", ha="left", va="top", fontsize=SMALL, color=INK)
        curve.set_xlim(0, 370)
        curve.set_ylim(0, 14)
        curve.set_xlabel("hand's force on each spoke [N]")
        curve.set_ylabel("turns of both nipples it equals [1/4 turn]")
        curve.set_xticks(range(0, 301, 100))
        curve.grid(color="#e4e4e4", lw=0.6)
    return figure


def _strip(axes, found):
    number = np.arange(1, found.wheel.n + 1)
    at = sum(PAIR) // 2 - 1
    axes.axhline(0.0, color=FAINT, lw=0.8)
    for (force, one), line in zip(found.squeezed.items(), ("dotted", "dashed", "solid"), strict=True):
        axes.plot(number, rounded(one.lateral / MM), color=INK, lw=1.7, ls=line)
        peak = rounded(one.lateral[at] / MM)
        axes.plot([at + 1, 23], [peak, peak], color=FAINT, lw=0.8)
        axes.text(23.3, peak, f"{force:.0f} N: {peak:.1f} mm", va="center")
    axes.plot(PAIR, [-1.3, -1.3], ls="none", **marker("right", 7))
    axes.annotate("", (PAIR[0] + 0.2, -1.3), (PAIR[0] - 2.2, -1.3), arrowprops={"arrowstyle": "->", "color": LIMIT})
    axes.annotate("", (PAIR[1] - 0.2, -1.3), (PAIR[1] + 2.2, -1.3), arrowprops={"arrowstyle": "->", "color": LIMIT})
    axes.text(PAIR[1] + 2.6, -1.3, "the two right spokes squeezed", color=LIMIT, va="center", fontsize=SMALL)
    axes.set_ylim(-1.7, 5.2)
    axes.set_ylabel("lateral [mm]\n+ right")
    spoke_axis((axes,), found.wheel.n)
    axes.set_xticks(range(1, found.wheel.n + 1, 5))


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
