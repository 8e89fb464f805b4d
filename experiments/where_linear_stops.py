"""How far can the effect of a quarter turn be extrapolated?

Question
    For small turns, shift and tension change in proportion to the turn. How wrong is that straight line for larger
    ones: a side turned 1/4 to 2 turns, or one nipple backed off until its spoke hangs slack?
Expect
    The line is good for a quarter turn, and its error grows in proportion to the turn. It can't predict a slack spoke.
Found
    With the near side of the dished rear tightened, the line errs in the rim's shift: 1.7 % too much at a quarter turn,
    3.4 % at a half, 6.7 % at one, 13.4 % at two turns. That side's tension is hit to 2.5 % at two turns up; two turns
    down the line leaves it 156 N where it keeps 234 N.
    One far-side spoke goes slack after 2.32 turns; after 3 turns the line says -170 N, but a spoke can't push.
Figure
    figures/where_linear_stops.svg: straight line and exact wheel, for a side turned and for one nipple backed off.
"""

from dataclasses import dataclass

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, MultipleLocator

from experiments.common import FIGURES, dished_rear, marker, one_turn, page, rounded, side_turns
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import influence
from wheelsim.report.figures import save
from wheelsim.report.figures.look import FAINT, INK, SMALL, STYLES, fixed_look
from wheelsim.units import MM

FIGURE = FIGURES / "where_linear_stops.svg"
SIDE_TURNS = np.array([-2.0, -1.5, -1.0, -0.5, -0.25, 0.0, 0.25, 0.5, 1.0, 1.5, 2.0])
SPOKE = 16  # on the far side
BACKED_OFF = np.arange(0.0, 3.01, 0.25)


@dataclass(frozen=True, eq=False)
class Found:
    """Linear extrapolation (``line_...``) and nonlinear equilibrium."""

    line_shift: np.ndarray  # of the rim, by ``SIDE_TURNS`` [m]
    shift: np.ndarray
    line_tension: np.ndarray  # mean of the near side, by ``SIDE_TURNS`` [N]
    tension: np.ndarray
    line_spoke: np.ndarray  # of one spoke, by ``BACKED_OFF`` [N]
    spoke: np.ndarray
    slack_at: float  # turns at which that spoke goes slack, by equilibrium [turn]

    def off(self, turns):
        """Relative errors of the line after these side turns: of the shift, of the tension."""
        at = int(np.flatnonzero(turns == SIDE_TURNS)[0])
        return self.line_shift[at] / self.shift[at] - 1, self.line_tension[at] / self.tension[at] - 1


def run():
    """Extrapolate linearly and solve the equilibrium."""
    wheel = dished_rear()
    slope, right, still = influence(wheel), wheel.on_side("right"), equilibrium(wheel)
    turned = [side_turns(wheel, right=t) for t in SIDE_TURNS]
    followed = [equilibrium(wheel, t) for t in turned]
    of_spoke = slope.tension[SPOKE - 1, SPOKE - 1]
    backed = [equilibrium(wheel, one_turn(wheel, SPOKE, -t)).tension[SPOKE - 1] for t in BACKED_OFF]
    low, high = 0.0, float(BACKED_OFF[-1])
    while high - low > 1e-4:
        middle = (low + high) / 2
        slack = equilibrium(wheel, one_turn(wheel, SPOKE, -middle)).slack[SPOKE - 1]
        low, high = (low, middle) if slack else (middle, high)
    tension = still.tension[SPOKE - 1]
    return Found(
        line_shift=np.array([(slope.lateral @ t).mean() for t in turned]),
        shift=np.array([one.dish for one in followed]),
        line_tension=np.array([(slope.tension @ t)[right].mean() + still.tension[right].mean() for t in turned]),
        tension=np.array([one.tension[right].mean() for one in followed]),
        line_spoke=tension - of_spoke * BACKED_OFF, spoke=np.array(backed),
        slack_at=high)


def draw(found):
    """Panels for a side turned and for one nipple backed off."""
    quarter, two = found.off(0.25)[0], found.off(2.0)[0]
    with fixed_look():
        figure, top = page(f"A straight line misses the rim's shift by {100 * quarter:.0f} % after a quarter turn of a "
                           f"side, by {100 * two:.0f} % after two, and lets a slack spoke push")
        side, one = figure.subplots(1, 2, gridspec_kw={
            "left": 0.08, "right": 0.98, "bottom": 0.12, "top": top - 0.09, "wspace": 0.24})
        for axes, x, line, wheel, mark in (
                (side, SIDE_TURNS, found.line_shift / MM, found.shift / MM, "right"),
                (one, BACKED_OFF, found.line_spoke, found.spoke, "left")):
            axes.plot(x, rounded(line, 3), color=FAINT, lw=1.8, ls="dashed")
            axes.plot(x, rounded(wheel, 3), color=STYLES[mark].colour, lw=1.6, ls="solid", **marker(mark, 6.0))
            axes.grid(color="#e4e4e4", lw=0.6)
            axes.axhline(0.0, color=INK, lw=0.8)
        for turns in (1.0, 2.0, -2.0):
            at = int(np.flatnonzero(turns == SIDE_TURNS)[0])
            share = f"{100 * found.off(turns)[0]:+.0f} %".replace("-", "\N{MINUS SIGN}")
            side.annotate(f"line {share}", (turns, found.line_shift[at] / MM), (-8, 6 if turns > 0 else 36),
                          textcoords="offset points", ha="right" if turns > 0 else "left", va="center", fontsize=SMALL,
                          color=INK)
        one.axhspan(-400, 0, color="#f0f0f0", lw=0, zorder=0)
        one.text(0.08, -60, "below nought: a push", fontsize=SMALL, color=INK, va="center")
        one.annotate(f"slack after\n{found.slack_at:.1f} turns", (found.slack_at, 0.0), (-6, 60), fontsize=SMALL,
                     textcoords="offset points", ha="center", color=INK, arrowprops={"arrowstyle": "-", "color": INK})
        side.set_title("whole near side turned", fontsize=SMALL + 1, loc="left")
        one.set_title(f"one far-side nipple (spoke {SPOKE}) backed off", fontsize=SMALL + 1, loc="left")
        side.set_xlabel("turns, + tightens")
        side.set_ylabel("rim shift [mm], + right")
        side.xaxis.set_major_locator(MultipleLocator(0.5))
        one.set_xlabel("turns loosened")
        one.set_ylabel("its tension [N]")
        one.set_ylim(-150, 650)
        one.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}".replace("-", "\N{MINUS SIGN}")))
        handles = [Line2D([], [], color=FAINT, lw=1.8, ls="dashed", label="straight line"),
                   *[Line2D([], [], color=STYLES[s].colour, lw=1.6, label=f"the wheel followed ({w})", **marker(s))
                     for s, w in (("right", "near side"), ("left", "far side"))]]
        figure.legend(handles=handles, loc="lower left", bbox_to_anchor=(0.07, top - 0.025), ncols=3, fontsize=SMALL,
                      frameon=False, borderaxespad=0.0, handlelength=2.8)
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
