"""Tighten one side or loosen the other: what is the difference?

Question
    A symmetric front wheel's rim lies 1 mm left: the dish gauge shows 2 mm of gap. Tightening the right spokes takes it
    back to the middle, and so does loosening the left ones. Does it matter which?
Expect
    For the rim it makes no difference. Tightening leaves both sides tighter, loosening leaves both looser.
Found
    From 1.00 mm left, 974 N right and 1,031 N left: tightening the right 0.58 turn centres the rim, and so does
    loosening the left by the same 0.58 turn. Tightening leaves 1,184 N on both sides, loosening 816 N;
    either is 184 N from the 1,000 N of the wheel as it should be. Half of each, 0.29 turn, ends at those 1,000 N.
Figure
    figures/tighten_or_loosen.svg: mean tension of both sides against the rim's offset while it is centred.
"""

from dataclasses import dataclass

import numpy as np
from matplotlib.ticker import FuncFormatter, MultipleLocator
from scipy.optimize import brentq

from experiments.common import FIGURES, front, marker, page, rounded, side_handles, side_turns
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.report.figures import save
from wheelsim.report.figures.look import INK, SMALL, STYLES, fixed_look
from wheelsim.units import MM

FIGURE = FIGURES / "tighten_or_loosen.svg"
OFF = -1.0 * MM  # where the rim lies, plus right
WAYS = {"tighten the right": {"right": 1.0}, "half of each": {"right": 0.5, "left": -0.5},
        "loosen the left": {"left": -1.0}}
STEPS = np.linspace(0.0, 1.0, 5)  # shares of the turns


@dataclass(frozen=True, eq=False)
class Way:
    """One way to centre the rim."""

    turns: float  # that centre it, both sides added [turn]
    dish: np.ndarray  # at each of ``STEPS`` [m]
    tension: dict  # mean by side, at each of ``STEPS`` [N]


@dataclass(frozen=True, eq=False)
class Found:
    """All ways."""

    ways: dict  # by name in ``WAYS``
    nominal: float  # mean tension of the centred wheel [N]


def run():
    """Put the rim off centre by turning both sides equally, and centre it each way."""
    wheel = front()

    def turned(off, way, share):
        each = {side: share * part for side, part in way.items()}
        return equilibrium(wheel, off + side_turns(wheel, **each))

    still, half = np.zeros(wheel.n), WAYS["half of each"]
    off = side_turns(wheel, right=-1.0, left=1.0) * brentq(
        lambda turns: turned(still, half, -2 * turns).dish - OFF, 0.0, 2.0, xtol=1e-10)
    ways = {}
    for name, way in WAYS.items():
        turns = brentq(lambda turns, way=way: turned(off, way, turns).dish, 0.0, 2.0, xtol=1e-10)
        seen = [turned(off, way, step * turns) for step in STEPS]
        ways[name] = Way(turns, np.array([one.dish for one in seen]), {
            side: np.array([one.tension[wheel.on_side(side)].mean() for one in seen]) for side in STYLES})
    return Found(ways, wheel.tension)


def draw(found):
    """Mean tensions along the three ways, from the same start."""
    tight, loose = (found.ways[name] for name in ("tighten the right", "loosen the left"))
    with fixed_look():
        figure, top = page(
            f"Tightening the right {tight.turns:.2f} turn or loosening the left {loose.turns:.2f} turn centres the rim "
            f"alike, but leaves both sides at {tight.tension['right'][-1]:,.0f} N or at "
            f"{loose.tension['left'][-1]:,.0f} N",
            note="invented front wheel, 36 spokes, 1,000 N when centred")
        axes = figure.subplots(gridspec_kw={"left": 0.09, "right": 0.78, "bottom": 0.12, "top": top})
        for name, way in found.ways.items():
            for side, style in STYLES.items():
                axes.plot(rounded(way.dish / MM), rounded(way.tension[side], 2), color=style.colour, ls=style.line,
                          lw=1.6, **marker(side, 6.5))
            end = float(rounded(way.tension["right"][-1], 2))
            axes.text(1.012, end, f"{name}:\n{end:,.0f} N on both sides", transform=axes.get_yaxis_transform(),
                      color=INK, fontsize=SMALL + 1, va="center")
        axes.set_xlim(-1.04, 0.02)
        axes.set_ylim(760, 1240)
        axes.grid(color="#e4e4e4", lw=0.6)
        axes.xaxis.set_major_locator(MultipleLocator(0.25))
        axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
        axes.set_xlabel("rim from the hub's middle [mm], + right")
        axes.set_ylabel("mean tension of a side [N]")
        axes.legend(handles=side_handles(), loc="upper left", fontsize=SMALL, frameon=False)
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
