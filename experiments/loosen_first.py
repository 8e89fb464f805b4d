"""Loosen then tighten, or tighten then loosen: what is the highest tension on the way?

Question
    A dished rear wheel's rim lies 1.5 mm left. Loosening the left 1/2 and tightening the right 1/4 puts it right,
    in either order. Does the order matter to the spokes?
Expect
    Both orders end with the same wheel, so only the tensions on the way can differ.
Found
    Loosening first peaks at 1,181 N, tightening first at 1,280 N where 1,270 N is allowed; both end at 1,150 N.
    After the pass of tightening alone it is 1,248 N: a reading between passes would not have shown the peak.
    The peak comes two nipples before the pass ends, when the last two spokes don't carry their share yet.
Figure
    figures/loosen_first.svg: highest spoke and gap, nipple by nipple, in both orders.
"""

from dataclasses import dataclass

import numpy as np
from matplotlib.ticker import FuncFormatter, MultipleLocator

from experiments.common import FIGURES, dished_rear, page, rounded, side_turns
from experiments.pair import FIRST, SECOND
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.report.figures import save
from wheelsim.report.figures.look import FAINT, INK, LIMIT, SMALL, fixed_look
from wheelsim.units import MM, QUARTER

FIGURE = FIGURES / "loosen_first.svg"
PASSES = {
    "loosen first": (("left", -QUARTER), ("left", -QUARTER), ("right", QUARTER)),
    "tighten first": (("right", QUARTER), ("left", -QUARTER), ("left", -QUARTER)),
}


@dataclass(frozen=True, eq=False)
class Way:
    """The wheel after each nipple turned, beginning with none."""

    highest: np.ndarray  # highest tension [N]
    dish: np.ndarray  # plus right [m]


@dataclass(frozen=True, eq=False)
class Found:
    """Both orders."""

    ways: dict  # by name in ``PASSES``
    limit: float  # highest tension allowed [N]
    nipples: int  # of one pass


def run():
    """Calculate the wheel after each nipple, in both orders."""
    wheel = dished_rear()
    start = equilibrium(wheel, side_turns(wheel, right=-QUARTER, left=2 * QUARTER))
    ways = {}
    for name, passes in PASSES.items():
        state, highest, dish = start, [start.tension.max()], [start.dish]
        for side, amount in passes:
            for spoke in wheel.on_side(side):
                turns = state.turns.copy()
                turns[spoke] += amount
                state = equilibrium(wheel, turns, start=state)
                highest.append(state.tension.max())
                dish.append(state.dish)
        ways[name] = Way(np.array(highest), np.array(dish))
    return Found(ways, wheel.limits.max_tension, wheel.n // 2)


def draw(found):
    """Two panels over the number of nipples turned: highest tension and gap, in both orders."""
    first, other = (found.ways[name].highest.max() for name in PASSES)
    with fixed_look():
        figure, top = page(f"Loosening first takes no spoke above {first:,.0f} N; the same turns the other way "
                           f"round take one to {other:,.0f} N, past the limit of {found.limit:,.0f} N")
        tension, gap = figure.subplots(2, sharex=True, height_ratios=(2.4, 1), gridspec_kw={
            "left": 0.09, "right": 0.80, "bottom": 0.11, "top": top, "hspace": 0.14})
        looks = {"loosen first": FIRST, "tighten first": SECOND}
        for name, way in found.ways.items():
            look, number = looks[name], np.arange(len(way.highest))
            for axes, values in ((tension, rounded(way.highest, 2)), (gap, rounded(2 * way.dish / MM))):
                axes.plot(number, values, color=look.colour, ls=look.line, lw=1.6)
                axes.plot(number[::4], values[::4], ls="none", marker=look.marker, ms=5.5, mfc=look.face,
                          mec=look.colour, mew=1.2)
            at = int(way.highest.argmax())
            below = name == "loosen first"
            tension.annotate(f"{name}: {way.highest[at]:,.0f} N", (at, float(rounded(way.highest[at], 2))),
                             (41.5, 1055) if below else (8, 1297), textcoords="data", color=look.colour, ha="center",
                             va="center", arrowprops={"arrowstyle": "-", "color": look.colour, "lw": 0.8})
        tension.axhline(found.limit, color=LIMIT, lw=1.2, ls="dashed")
        tension.text(1.012, found.limit, f"limit {found.limit:,.0f} N", transform=tension.get_yaxis_transform(),
                     color=LIMIT, fontsize=SMALL, va="center")
        tension.text(1.012, float(rounded(found.ways["loosen first"].highest[-1], 2)), "same end\nboth ways",
                     transform=tension.get_yaxis_transform(), color=INK, fontsize=SMALL, va="center")
        gap.axhline(0.0, color=LIMIT, lw=1.0)
        gap.text(1.012, 0.0, "centred", transform=gap.get_yaxis_transform(), color=LIMIT, fontsize=SMALL, va="center")
        for axes in (tension, gap):
            axes.grid(axis="y", color="#e4e4e4", lw=0.6)
            for end in (found.nipples, 2 * found.nipples):
                axes.axvline(end, color=FAINT, lw=1.0, ls="dotted")
        tension.set_ylim(1010, 1320)
        tension.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
        tension.set_ylabel("highest spoke tension [N]")
        gap.set_ylabel("gap [mm]\n+ rim right")
        gap.set_xlabel(f"nipples turned, a quarter turn each; a pass is {found.nipples}")
        gap.set_xlim(-0.5, 3 * found.nipples + 0.5)
        gap.xaxis.set_major_locator(MultipleLocator(4))
        figure.align_ylabels((tension, gap))
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
