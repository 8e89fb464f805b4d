"""Wind-up: how far does a spoke twist before its nipple moves?

Question
    When the spanner turns a nipple, friction in the thread first twists the spoke along, until the nipple moves on the
    thread. How much of a turn does that take, and on which spokes?
Expect
    More with high tension, since the friction torque grows with it, and with thin wire, since its torsional stiffness
    goes with the fourth power of the diameter. Less when loosening, since the tension then helps.
Found
    At 1,000 N a plain 2.0 mm spoke twists 30 degrees before its nipple tightens, a plain 1.8 mm one 43 degrees, one of
    2.0 mm with a 1.5 mm middle 88 degrees: of a quarter turn, 90 degrees, nothing would be left. To loosen it takes 9,
    11 and 27 degrees.
    So the spanner goes past by that much and back by as much, and more of it on the tight side of the wheel.
Figure
    figures/wind_up.svg: twist against tension for three spokes, tightening and loosening.
"""

from dataclasses import dataclass, replace

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, MultipleLocator

from experiments.common import FIGURES, front, page, rounded
from wheelsim.mechanics.windup import wind_up
from wheelsim.report.figures import save
from wheelsim.report.figures.look import INK, LIMIT, SMALL, fixed_look

FIGURE = FIGURES / "wind_up.svg"
SPOKES = {  # diameter and proportion of length of each part [m]
    "plain 2.0 mm": ((2.0e-3, 1.0),),
    "plain 1.8 mm": ((1.8e-3, 1.0),),
    "2.0 mm with a 1.5 mm middle": ((2.0e-3, 0.05), (1.5e-3, 0.9), (2.0e-3, 0.05)),
}
COLOURS = dict(zip(SPOKES, (INK, "#997700", "#004488"), strict=True))
USUAL = 1000.0  # [N]


@dataclass(frozen=True, eq=False)
class Found:
    """Twist of each kind of spoke against tension."""

    tension: np.ndarray  # (k,) [N]
    tighten: dict  # by name in ``SPOKES``: twist before the nipple tightens, (k,) [degree]
    loosen: dict  # likewise before it loosens

    def usual(self, twist):
        """Interpolate a twist (k,) at the usual tension. [degree]"""
        return float(np.interp(USUAL, self.tension, twist))


def run():
    """Calculate the wind-up of the front wheel with each kind of spoke."""
    tension = np.linspace(0, 1300, 27)
    tighten, loosen = {}, {}
    for name, segments in SPOKES.items():
        wheel = front()
        spokes = wheel.spokes
        wheel = replace(wheel, spokes=replace(spokes, left=replace(spokes.left, segments=segments),
                                              right=replace(spokes.right, segments=segments)))
        for out, way in ((tighten, True), (loosen, False)):
            out[name] = np.array([360 * wind_up(wheel, np.full(wheel.n, one), tighten=way)[0] for one in tension])
    return Found(tension, tighten, loosen)


def draw(found):
    """Twist against tension."""
    thin = found.usual(found.tighten["2.0 mm with a 1.5 mm middle"])
    thick = found.usual(found.tighten["plain 2.0 mm"])
    with fixed_look():
        figure, top = page(f"Near 1,000 N a thick spoke twists {thick:.0f} degrees before its nipple tightens, a thin "
                           f"one {thin:.0f}: go past by that much, then back")
        axes = figure.subplots(gridspec_kw={"left": 0.09, "right": 0.74, "bottom": 0.12, "top": top})
        for name, colour in COLOURS.items():
            for twist, line in ((found.tighten[name], "solid"), (found.loosen[name], (0, (3, 1.5)))):
                axes.plot(found.tension, rounded(twist, 2), color=colour, ls=line, lw=1.6)
            axes.text(1.012, float(rounded(found.tighten[name][-1], 2)), name, transform=axes.get_yaxis_transform(),
                      color=colour, fontsize=SMALL, va="center")
        axes.axhline(90, color=LIMIT, lw=1.2, ls="dotted")
        axes.text(20, 91.5, "a quarter turn", color=LIMIT, fontsize=SMALL)
        axes.legend(handles=[Line2D([], [], color=INK, lw=1.6, label="to tighten"),
                             Line2D([], [], color=INK, lw=1.6, ls=(0, (3, 1.5)), label="to loosen")],
                    loc="upper left", bbox_to_anchor=(0.0, 0.72), frameon=False, fontsize=SMALL)
        axes.set_xlim(0, 1300)
        axes.set_ylim(0, 120)
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
        axes.yaxis.set_major_locator(MultipleLocator(30))
        axes.grid(axis="y", color="#e4e4e4", lw=0.6)
        axes.set_xlabel("tension of the spoke [N]")
        axes.set_ylabel("twist before the nipple moves [degree]")
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
