"""One spoke breaks, or hangs slack: what does it do to the rest?

Question
    Spoke 17 of a true, centred front wheel, on the right flange, breaks; or its nipple backs off until it hangs slack.
    How do true, round, dish, the neighbours' tensions and the load that the wheel can carry change?
Expect
    The rim moves away from the lost spoke's side, and its neighbours take over the load.
Found
    The rim is 2.73 mm out of true and 0.64 mm out of round; the gap opens to 0.57 mm.
    On its own flange the next spokes, 15 and 19, gain 432 and 399 N, to 1,432 N. On the left flange the two beside it,
    16 and 18, gain 146 and 247 N, and those after them, 14 and 20, lose 333 and 457 N.
    The load from below at which the next spoke goes slack falls from 2,288 to 1,216 N, the push to the left from 585 to
    254 N (both linear).
    Slack, after 2.97 turns of that nipple, is as bad as broken. A near-side spoke of the dished rear, broken, leaves
    4.88 mm out of true.
Figure
    figures/broken_spoke.svg: rim and tensions before and after the break.
"""

from dataclasses import dataclass

import numpy as np
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, MaxNLocator

from experiments.common import (
    FIGURES,
    dished_rear,
    front,
    marker,
    one_turn,
    page,
    rounded,
    side_handles,
    spoke_axis,
    stems,
    without,
)
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.loads import first_slack
from wheelsim.report.figures import save
from wheelsim.report.figures.look import FAINT, INK, LIMIT, SMALL, fixed_look
from wheelsim.units import MM

FIGURE = FIGURES / "broken_spoke.svg"
LOST = 17  # on the right flange, far from the valve so that the strip shows all of it
BACKED_OFF = 3.25  # enough to make the spoke slack [turn]


@dataclass(frozen=True, eq=False)
class Found:
    """The front wheel whole, broken and with a slack spoke; the dished rear without a near-side spoke."""

    whole: View
    broken: View
    slack: View
    near_side: View
    loads: dict  # by kind of load, (whole, broken): load at which the next spoke goes slack [N]
    slack_at: float  # turns backed off at which the spoke goes slack [turn]


def run():
    """Remove the spoke; separately, back off its nipple until it is slack."""
    wheel = front()
    whole, gone = equilibrium(wheel), without(wheel, LOST)
    broken = equilibrium(gone)
    slack = equilibrium(wheel, one_turn(wheel, LOST, -BACKED_OFF))
    loads = {kind: (first_slack(wheel, kind, whole.tension)[0], first_slack(gone, kind, broken.tension)[0])
             for kind in ("radial", "right", "left")}
    return Found(view(whole), view(broken), view(slack), view(equilibrium(without(dished_rear(), LOST))), loads,
                 _slack_at(wheel))


def _slack_at(wheel):
    """Turns a nipple must be backed off until its spoke is slack, by bisection. [turn]"""
    low, high = 2.0, BACKED_OFF
    while high - low > 1e-3:
        middle = (low + high) / 2
        slack = equilibrium(wheel, one_turn(wheel, LOST, -middle)).slack[LOST - 1]
        low, high = (low, middle) if slack else (middle, high)
    return high


def draw(found):
    """Lateral position over tension, before and after."""
    before, after = found.whole.state, found.broken.state
    n, wheel, number = before.wheel.n, after.wheel, np.arange(1, before.wheel.n + 1)
    near = (after.tension - before.tension)[[LOST - 3, LOST + 1]]
    with fixed_look():
        figure, top = page(f"One broken spoke bends the rim {found.broken.true / MM:.1f} mm out of true and loads the "
                           f"next spokes of its flange with {min(near):.0f} to {max(near):.0f} N more; hanging "
                           "slack is as bad")
        rim, tension = figure.subplots(2, sharex=True, height_ratios=(1, 1.5), gridspec_kw={
            "left": 0.09, "right": 0.86, "bottom": 0.13, "top": top - 0.05, "hspace": 0.12})
        lateral = rounded(after.lateral / MM)
        rim.axhline(0.0, color=FAINT, lw=1.3)
        rim.plot(number, lateral, color=INK, lw=1.6)
        for side in ("right", "left"):
            there = np.array(wheel.pulling(side))
            rim.plot(there + 1, lateral[there], ls="none", **marker(side, 5.0))
        rim.set_ylabel("lateral [mm]\n+ right")
        stems(tension, wheel, rounded(after.tension, 2))
        tension.plot(number, rounded(before.tension, 2), ls="none", marker="_", ms=11, mew=1.6, color=FAINT, zorder=1.5)
        for axes in (rim, tension):
            axes.axvline(LOST, color=LIMIT, lw=0.9, ls="dotted")
        tension.plot([LOST], [0.0], ls="none", marker="x", ms=8, mec=INK, mew=1.8, clip_on=False, zorder=4)
        rim.text(LOST, 0.5, f"spoke {LOST}, right flange, is gone", color=INK, fontsize=SMALL, ha="center", va="center",
                 bbox={"fc": "white", "ec": "none", "pad": 1.5})
        rim.set_ylim(-2.5, 0.8)
        limit = wheel.limits.max_tension
        tension.axhline(limit, color=LIMIT, lw=1.2, ls="dashed")
        for value, words, colour in ((limit, f"max {limit:,.0f} N", LIMIT), (1000.0, "before 1,000 N", FAINT)):
            tension.text(1.01, value, words, transform=tension.get_yaxis_transform(), color=colour, fontsize=SMALL,
                         va="center")
        rim.text(1.01, 0.0, "before", transform=rim.get_yaxis_transform(), color=FAINT, fontsize=SMALL, va="center")
        tension.set_ylim(0, 1600)
        tension.set_ylabel("tension [N]")
        tension.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
        rim.yaxis.set_major_locator(MaxNLocator(nbins=5, steps=[1, 2, 5, 10]))
        spoke_axis((rim, tension), n)
        handles = [*side_handles(), Line2D([], [], color=INK, lw=1.6, label="rim after"),
                   Line2D([], [], color=FAINT, lw=1.6, label="before"),
                   Line2D([], [], ls="none", marker="x", ms=7, mec=INK, mew=1.8, label="broken")]
        figure.legend(handles=handles, loc="lower left", bbox_to_anchor=(0.09, top - 0.05), ncols=5, fontsize=SMALL,
                      frameon=False, borderaxespad=0.2, handlelength=2.4)
        figure.align_ylabels((rim, tension))
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
