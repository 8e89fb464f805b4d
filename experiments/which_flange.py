"""Near flange or far flange: which moves the rim more, and at what price?

Question
    A dished rear wheel can be centred by turning either flange. Which moves the rim further for a quarter turn, and how
    does the tension of the near side, the tight one, change?
Expect
    Spokes of the far flange pull at a wider angle, so it moves the rim more: about in the ratio of the flanges'
    distances from the hub's middle, 36 to 19 mm, which is 1.9, or somewhat less; and it raises the near side's tension
    less.
Found
    A quarter turn of the far flange moves the rim 0.58 mm and puts 49 N on the near side; of the near flange
    0.35 mm and 125 N. A millimetre costs the near side 84 N from the far flange, 354 N from the near one.
    The far flange moves the rim 1.63 times as far, for 0.39 of the price.
Figure
    figures/which_flange.svg: near-side tension against rim shift, quarter by quarter, from each flange.
"""

from dataclasses import dataclass

import numpy as np
from matplotlib.ticker import FuncFormatter, MultipleLocator

from experiments.common import FIGURES, dished_rear, marker, page, rounded, side_turns
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.report.figures import save
from wheelsim.report.figures.look import INK, LIMIT, SMALL, STYLES, fixed_look
from wheelsim.units import MM, QUARTER

FIGURE = FIGURES / "which_flange.svg"
QUARTERS = np.arange(-4, 5)
WORDS = {"right": "near flange (right)", "left": "far flange (left)"}


@dataclass(frozen=True, eq=False)
class Found:
    """Results by side turned, for ``QUARTERS`` quarter turns."""

    shift: dict  # of the rim [m]
    near: dict  # mean tension of the near side [N]
    limit: float  # highest tension allowed [N]

    def quarter(self, side):
        """Size of the rim's shift [m], and change of the near side's tension [N], for tightening a quarter turn."""
        one, none = int(np.flatnonzero(QUARTERS == 1)[0]), int(np.flatnonzero(QUARTERS == 0)[0])
        return abs(self.shift[side][one]), self.near[side][one] - self.near[side][none]

    def price(self, side):
        """Change of the near side's tension per shift of the rim. [N/m]"""
        shift, tension = self.quarter(side)
        return tension / shift


def run():
    """Turn each flange in quarter turns, both ways."""
    wheel, shift, near = dished_rear(), {}, {}
    for side in WORDS:
        seen = [view(equilibrium(wheel, side_turns(wheel, **{side: QUARTER * k}))) for k in QUARTERS]
        shift[side] = np.array([one.dish for one in seen])
        near[side] = np.array([one.mean["right"] for one in seen])
    return Found(shift, near, wheel.limits.max_tension)


def draw(found):
    """Near-side tension against rim shift."""
    (far, cheap), (close, dear) = found.quarter("left"), found.quarter("right")
    with fixed_look():
        figure, top = page(
            f"A quarter turn of the far flange moves the rim {far / MM:.2f} mm for {cheap:.0f} N on the tight side; of "
            f"the near flange only {close / MM:.2f} mm, for {dear:.0f} N")
        axes = figure.subplots(gridspec_kw={"left": 0.09, "right": 0.86, "bottom": 0.12, "top": top})
        for side, words in WORDS.items():
            style = STYLES[side]
            axes.plot(rounded(found.shift[side] / MM), rounded(found.near[side], 2), color=style.colour, ls=style.line,
                      lw=1.6, **marker(side, 6.5), label=f"{words}, a mark each quarter turn")
        ends = {"right": ((-1, "loosen\nnear", "right", "center"), (3, "tighten\nnear", "left", "center")),
                "left": ((-1, "tighten\nfar", "right", "center"), (1, "loosen\nfar", "left", "center"))}
        place = {("right", -1): 0, ("right", 3): 7, ("left", -1): 8, ("left", 1): 0}
        for side, notes in ends.items():
            for key, words, ha, va in notes:
                at = place[side, key]
                axes.annotate(words, (found.shift[side][at] / MM, found.near[side][at]),
                              (10 if ha == "left" else -10, -6 if side == "right" else 0), textcoords="offset points",
                              ha=ha, va=va, color=STYLES[side].colour)
        axes.plot([0], [found.near["right"][4]], marker="D", ms=8, mfc="white", mec=INK, mew=1.5, ls="none", zorder=5,
                  label="centred wheel")
        axes.axhline(found.limit, color=LIMIT, lw=1.2, ls="dashed")
        axes.text(1.01, found.limit, f"max {found.limit:,.0f} N", transform=axes.get_yaxis_transform(), color=LIMIT,
                  fontsize=SMALL, va="center")
        axes.set_xlim(-3.0, 3.0)
        axes.set_ylim(560, 1720)
        axes.grid(color="#e4e4e4", lw=0.6)
        axes.xaxis.set_major_locator(MultipleLocator(0.5))
        axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
        axes.set_xlabel("rim shift [mm], + right")
        axes.set_ylabel("mean tension of the near side [N]")
        axes.legend(loc="upper left", fontsize=SMALL, frameon=False, handlelength=3)
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
