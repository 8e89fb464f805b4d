"""A bent rim: can nipples pull it straight?

Question
    A front wheel hit a kerb: its rim is bent at one place. The customer wants it straight. How far out of true does it
    remain after the best possible turns?
Expect
    Spoke tension can hold a bent rim nearly straight, but only with some spokes far from their side's mean tension.
Found
    Its own bend of 5.0 mm leaves 2.84 mm out of true at a spread of 20 %, with the highest spoke at 1,200 N. With
    60 % and 1,601 N it is still 2.60 mm: three times the spread for 0.24 mm more. With even tension it is 5.07 mm.
    A straight rim that its nipples have put as far out, 5.00 mm, comes true to 0.00 mm with no spread at all.
    Turns of any size were allowed, with round kept within 0.5 mm and mean tension and dish unchanged.
Figure
    figures/bent_rim.svg: least run-out against the spread allowed, and the rim at its best.
"""

from dataclasses import dataclass

import numpy as np
from matplotlib.ticker import FixedLocator, MultipleLocator
from scipy.optimize import linprog

from experiments.common import FIGURES, front, page, rounded, spoke_axis
from experiments.pair import FIRST, SECOND
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.report.figures import save
from wheelsim.report.figures.look import BAND, FAINT, INK, LIMIT, SMALL, fixed_look
from wheelsim.units import MM

FIGURE = FIGURES / "bent_rim.svg"
SPREADS = (0.0, 0.05, 0.10, 0.15, 0.20, 0.30, 0.40, 0.50, 0.60)
BEND, WIDTH = 5.0 * MM, 1.6  # height of the bend [m], and its width in spokes
NIPPLES = 1.239  # largest turn that makes the straight rim as untrue as the bend does [turn]
PLACE = 18  # opposite the valve
REACH = (None, None, 0.5, 0.2, 0.1, 0.05)  # bound on turns in each successive linear programme, for convergence [turn]


@dataclass(frozen=True, eq=False)
class Found:
    """The wheels with bent and straight rim before the turns, and after the best turns for each spread allowed."""

    bent: View
    straight: View
    best: tuple
    of_straight: tuple

    def mended(self, spread):
        """The bent rim after the best turns within a spread."""
        return self.best[SPREADS.index(spread)]


def bend(wheel):
    """The bend as own shape of the rim, (2, n): lateral, radial. [m]"""
    off = np.arange(1, wheel.n + 1) - PLACE
    return np.stack([BEND * np.exp(-(off / WIDTH) ** 2), np.zeros(wheel.n)])


def straightened(state, spread):
    """The wheel turned to the least lateral run-out with no spoke further than ``spread`` from its side's mean.

    Turns are continuous; gap, radial run-out and mean tension are constrained. Successive linear programming: each
    linear programme is about the wheel that the last one led to.
    """
    wheel, n = state.wheel, state.wheel.n
    target = float(equilibrium(wheel).tension.mean())
    sides = [wheel.on_side(side) for side in ("right", "left")]
    for reach in REACH:
        by = state.influence
        # Unknowns: turns (n), highest and lowest lateral, highest and lowest radial.
        blocks = [(sign * rows, np.tile(extra, (n, 1)), -sign * now) for rows, now, sign, extra in (
            (by.lateral, state.lateral, 1, [-1, 0, 0, 0]), (by.lateral, state.lateral, -1, [0, 1, 0, 0]),
            (by.radial, state.radial, 1, [0, 0, -1, 0]), (by.radial, state.radial, -1, [0, 0, 0, 1]))]
        blocks.append((np.zeros((1, n)), np.array([[0, 0, 1, -1]]), np.array([wheel.limits.radial_runout])))
        for side in sides:
            mean, now = by.tension[side].mean(axis=0), state.tension[side].mean()
            blocks += [(sign * (by.tension[side] - mean) - spread * mean, np.zeros((len(side), 4)),
                        spread * now - sign * (state.tension[side] - now)) for sign in (1, -1)]
        rows = np.vstack([np.hstack(block[:2]) for block in blocks])
        bounds = np.concatenate([block[2] for block in blocks])
        equal = np.zeros((2, n + 4))
        equal[0, :n], equal[1, :n] = by.lateral.mean(axis=0), by.tension.mean(axis=0)
        scale = np.concatenate([np.ones(n), np.full(4, MM)])
        ends = [(None if reach is None else -reach, reach)] * n + [(None, None)] * 4
        found = linprog(np.r_[np.zeros(n), 1, -1, 0, 0], rows * scale, bounds, equal * scale,
                        [-state.dish, target - state.tension.mean()], bounds=ends, method="highs")
        state = equilibrium(wheel, state.turns + found.x[:n], state.own_shape, start=state)
    return state


def run():
    """Find the best turns for each spread, for the bent and the straight rim."""
    wheel = front()
    bent = equilibrium(wheel, None, bend(wheel))
    # A straight rim that is as untrue because of its nipples: near the place one flange tightened, the other loosened.
    wave = np.where(np.isin(np.arange(wheel.n), wheel.on_side("right")), 1.0, -1.0) * np.exp(
        -((np.arange(1, wheel.n + 1) - PLACE) / 4.0) ** 2)
    straight = equilibrium(wheel, NIPPLES * wave)
    best = [straightened(bent, spread) for spread in SPREADS]
    return Found(view(bent), view(straight), tuple(view(one) for one in best),
                 tuple(view(straightened(straight, spread)) for spread in SPREADS))


def draw(found):
    """Least run-out against spread, and the rim before and after the best turns."""
    allowed = found.mended(0.20)
    spread, limit = 100 * np.array(SPREADS), found.bent.state.wheel.limits
    with fixed_look():
        figure, top = page(f"No nipple mends a bent rim: at 20 % spread {allowed.true / MM:.1f} of "
                           f"{found.bent.true / MM:.1f} mm stay, and three times the spread takes off only "
                           f"{(allowed.true - found.mended(0.60).true) / MM:.2f} mm more")
        best, rim = figure.subplots(1, 2, width_ratios=(1, 1.25), gridspec_kw={
            "left": 0.075, "right": 0.985, "bottom": 0.13, "top": top - 0.07, "wspace": 0.2})
        for values, style in ((found.best, FIRST),
                                     (found.of_straight, SECOND)):
            best.plot(spread, rounded([one.true / MM for one in values], 3), color=style.colour, ls=style.line, lw=1.6,
                      marker=style.marker, ms=6, mfc=style.face, mec=style.colour, mew=1.2, clip_on=False, zorder=3)
        best.axhspan(0, limit.lateral_runout / MM, xmax=0.20 / 0.62, color=BAND, lw=0, zorder=0)
        best.text(21, 0.3, "limits: 20 %, 0.5 mm", color=LIMIT, fontsize=SMALL, va="center")
        best.axvline(20, color=LIMIT, lw=1.2, ls="dotted")
        best.text(61, 3.45, "bent rim", color=FIRST.colour, ha="right", va="center")
        best.text(61, 0.85, "straight rim, as untrue", color=SECOND.colour, ha="right", va="center")
        best.set_xlim(0, 62)
        best.set_ylim(0, 5.4)
        best.xaxis.set_major_locator(MultipleLocator(10))
        best.set_xlabel("spread within a side allowed [%]")
        best.set_ylabel("least run-out, true [mm]")
        number = np.arange(1, found.bent.state.wheel.n + 1)
        for view_, colour, line, words in ((found.bent, FAINT, "solid", "bent, as received"),
                                           (allowed, INK, "solid", "best at 20 % spread"),
                                           (found.mended(0.60), LIMIT, "dashed", "best at 60 % spread")):
            rim.plot(number, rounded(view_.state.lateral / MM, 2), color=colour, ls=line, lw=1.6, label=words)
        rim.legend(loc="upper left", fontsize=SMALL, frameon=False, handlelength=2.6)
        rim.set_ylabel("lateral [mm], + right")
        for axes in (best, rim):
            axes.grid(axis="y", color="#e4e4e4", lw=0.6)
        spoke_axis((rim,), found.bent.state.wheel.n)
        rim.xaxis.set_major_locator(FixedLocator(np.arange(1, found.bent.state.wheel.n + 1, 4)))
        best.set_title("the best turns of any size", fontsize=SMALL + 1, loc="left")
        rim.set_title("the rim laid out flat", fontsize=SMALL + 1, loc="left")
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
