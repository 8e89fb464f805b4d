"""Order of nipples within a pass: once round from the valve, every other one first, or opposite ones in turn?

Question
    The right side of a centred dished rear wheel is tightened a quarter turn. All orders end with the same wheel. Which
    gives the highest tension on the way, and which the largest run-out?
Expect
    A spoke that is tightened takes load off its neighbours. So a spoke whose neighbours aren't tightened yet is too
    tight for a while, and the rim is pulled sideways where nipples have been turned.
Found
    The end is 1,276 N. On the way the highest spoke has 1,307 N once round from the valve, 1,328 N with every other one
    first, 1,303 N by opposite pairs.
    The rim wobbles up to 0.93 mm on the way once round, 0.49 mm with every other one first, 1.20 mm by opposite pairs,
    which bend it into a saddle.
    None is best at both; a plan's limits on the way hold for its own order, once round from the valve.
Figure
    figures/order_of_nipples.svg: highest spoke and run-out, nipple by nipple, in three orders.
"""

from dataclasses import dataclass

import numpy as np
from matplotlib.ticker import FuncFormatter, MultipleLocator

from experiments.common import FIGURES, dished_rear, page, rounded
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.report.figures import save
from wheelsim.report.figures.look import INK, LIMIT, SMALL, fixed_look
from wheelsim.units import MM, QUARTER

FIGURE = FIGURES / "order_of_nipples.svg"
LOOKS = {"once round": (INK, "solid"), "every other first": ("#997700", (0, (3, 1.5))),
         "opposite pairs": ("#004488", (0, (1, 1)))}


@dataclass(frozen=True, eq=False)
class Found:
    """By order, the wheel after each nipple turned, beginning with none: (k,)."""

    highest: dict  # highest tension [N]
    true: dict  # lateral run-out [m]


def orders(nipples):
    """Three orders of a side's nipples, given by their indices in order round the rim."""
    half = len(nipples) // 2
    pairs = [nipples[i + k * half] for i in range(half) for k in (0, 1)]
    return dict(zip(LOOKS, (nipples, nipples[::2] + nipples[1::2], pairs), strict=True))


def run():
    """Calculate the wheel after each nipple, in each order."""
    wheel = dished_rear()
    highest, true = {}, {}
    for name, order in orders(wheel.on_side("right")).items():
        state = equilibrium(wheel)
        tops, wobbles = [state.tension.max()], [np.ptp(state.edge)]
        for spoke in order:
            turns = state.turns.copy()
            turns[spoke] += QUARTER
            state = equilibrium(wheel, turns, start=state)
            tops.append(state.tension.max())
            wobbles.append(np.ptp(state.edge))
        highest[name], true[name] = np.array(tops), np.array(wobbles)
    return Found(highest, true)


def draw(found):
    """Two panels over the number of nipples turned: highest tension and run-out."""
    first, second = (found.highest[name].max() for name in ("once round", "every other first"))
    saddle = found.true["opposite pairs"].max() / MM
    with fixed_look():
        figure, top = page(f"Once round from the valve no spoke goes above {first:,.0f} N on the way, every other "
                           f"nipple first takes one to {second:,.0f} N, opposite pairs bend the rim {saddle:.1f} mm; "
                           "all end alike")
        tension, wobble = figure.subplots(2, sharex=True, height_ratios=(1.6, 1), gridspec_kw={
            "left": 0.09, "right": 0.80, "bottom": 0.11, "top": top, "hspace": 0.14})
        for name, (colour, line) in LOOKS.items():
            number = np.arange(len(found.highest[name]))
            tension.plot(number, rounded(found.highest[name], 2), color=colour, ls=line, lw=1.8, label=name)
            wobble.plot(number, rounded(found.true[name] / MM), color=colour, ls=line, lw=1.8)
        end = float(rounded(found.highest["once round"][-1], 2))
        tension.text(1.012, end, "same end", transform=tension.get_yaxis_transform(), color=LIMIT, fontsize=SMALL,
                     va="center")
        tension.legend(loc="lower right", frameon=False, fontsize=SMALL)
        tension.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
        tension.set_ylabel("highest spoke tension [N]")
        wobble.set_ylabel("true [mm]")
        wobble.set_ylim(bottom=0)
        wobble.set_xlabel("nipples turned, a quarter turn each")
        wobble.set_xlim(0, len(found.highest["once round"]) - 1)
        wobble.xaxis.set_major_locator(MultipleLocator(2))
        for axes in (tension, wobble):
            axes.grid(axis="y", color="#e4e4e4", lw=0.6)
        figure.align_ylabels((tension, wobble))
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
