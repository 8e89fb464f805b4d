"""What does one quarter turn of one nipple do?

Question
    Spoke 17 of the sample front wheel, on the right, is tightened a quarter turn. What happens to the rest?
Expect
    The rim moves right near that spoke and a little inward, and the neighbours lose what the spoke gains.
Found
    The rim moves 0.19 mm right at the spoke, half of that (0.10 mm) three spokes away, and up to 0.04 mm left
    further round; it comes in 0.05 mm. The spoke gains 83 N. The right spokes nearest to it lose 37 and 34 N, the
    left ones next to it 12 and 21 N, and the left ones after those gain 28 and 38 N: the four nearest lose
    104 N together, yet all 36 together gain 156 N. The rim's mean, the dish, moves only 0.02 mm.
Figure
    figures/quarter_turn.svg: the changes, the rim laid out flat from valve to valve.
"""

from dataclasses import dataclass

import numpy as np

from experiments.common import FIGURES, front, one_turn, page, rounded, side_handles, spoke_axis, stems
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.report.figures import save
from wheelsim.report.figures.look import FAINT, INK, SMALL, fixed_look
from wheelsim.units import MM, QUARTER

FIGURE = FIGURES / "quarter_turn.svg"
SPOKE = 17


@dataclass(frozen=True, eq=False)
class Found:
    """Changes by these turns, (n,) each."""

    wheel: object
    turns: np.ndarray  # [turn]
    lateral: np.ndarray  # of the rim, plus right [m]
    radial: np.ndarray  # plus outward [m]
    tension: np.ndarray  # [N]


def run():
    """Calculate the wheel before and after the quarter turn."""
    wheel = front()
    turns = one_turn(wheel, SPOKE, QUARTER)
    was, now = equilibrium(wheel), equilibrium(wheel, turns)
    return Found(wheel, turns, now.lateral - was.lateral, now.radial - was.radial, now.tension - was.tension)


def draw(found):
    """The changes over the spoke number."""
    k = SPOKE - 1
    lost = -found.tension[[k - 2, k - 1, k + 1, k + 2]].sum()
    sentence = (f"A quarter turn of one nipple moves the rim {found.lateral[k] / MM:.2f} mm there and half as much "
                f"three spokes away; its spoke gains {found.tension[k]:.0f} N, the four nearest lose {lost:.0f} N")
    with fixed_look():
        figure, top = page(sentence, (10.0, 6.6), "change under a quarter turn; invented front wheel, 36 spokes")
        panels = figure.subplots(4, sharex=True, gridspec_kw={
            "height_ratios": (1.8, 0.8, 2.2, 0.7), "left": 0.095, "right": 0.975, "bottom": 0.095, "top": top - 0.02,
            "hspace": 0.16})
        number = np.arange(1, found.wheel.n + 1)
        for axes, change, name in ((panels[0], found.lateral, "lateral [mm]\n+ right"),
                                   (panels[1], found.radial, "radial [mm]\n+ out")):
            axes.plot(number, rounded(change / MM), color=INK, lw=1.6, marker=".", ms=5)
            axes.set_ylabel(name)
        panels[1].set_ylim(-0.1, 0.1)
        stems(panels[2], found.wheel, rounded(found.tension, 2))
        panels[2].set_ylim(-55, 108)
        panels[2].set_ylabel("tension [N]\n+ tighter")
        for spoke in range(SPOKE - 3, SPOKE + 4):
            value = found.tension[spoke - 1]
            panels[2].annotate(f"{value:+.0f}".replace("-", "\N{MINUS SIGN}"), (spoke, rounded(value, 2)),
                               (0, 6 if value > 0 else -6), textcoords="offset points", ha="center", fontsize=SMALL,
                               va="bottom" if value > 0 else "top")
        stems(panels[3], found.wheel, np.where(found.turns == 0, np.nan, found.turns))
        panels[3].set_ylim(-0.05, 0.4)
        panels[3].set_yticks([0.0, QUARTER], ["0", "+1/4"])
        panels[3].set_ylabel("turns\n+ tightens")
        for axes in panels:
            axes.axhline(0.0, color=FAINT, lw=0.8)
        spoke_axis(panels, found.wheel.n)
        panels[2].legend(handles=side_handles(), loc="upper left", fontsize=SMALL, frameon=False, ncols=2)
        figure.align_ylabels(panels)
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
