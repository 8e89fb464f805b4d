"""Is a tighter wheel a stiffer one?

Question
    How does the sideways stiffness at a spoke depend on tension, and how far is the wheel from buckling?
Expect
    No, as long as no spoke is slack: a spoke's stiffness doesn't depend on its tension, and the rim's compression only
    reduces the wheel's stiffness, until the rim buckles.
Found
    As long as no spoke is slack the shipped front wheel has a lateral stiffness of 165 N/mm with hardly any tension,
    137 N/mm at its 1,000 N, 129 N/mm at the 1,200 N allowed, none at 2,659 N, where it buckles in three waves. The
    dished rear, counted by its right side: 90 N/mm, 69 N/mm at its 1,150 N, 66 N/mm at the 1,270 N allowed, none at
    2,456 N, in two waves. Half of the buckling tension, where a wheel gets hard to keep true, is 1,330 and 1,228 N: the
    rear's allowed tension is past it. Where a spoke hangs slack, the others at 1,000 N, the front has 91 N/mm.
Figure
    figures/tighter_is_not_stiffer.svg: lateral stiffness against tension for both wheels.

Notes
-----
A loose wheel is softer in use for another reason: under load its spokes go slack, and a slack spoke has no stiffness.
"""

from dataclasses import dataclass, replace

import numpy as np

from experiments.common import FIGURES, dished_rear, front, page, rounded, without
from wheelsim.mechanics.influence import point_stiffness
from wheelsim.mechanics.stability import PRACTICAL_SHARE, buckling
from wheelsim.report.figures import save
from wheelsim.report.figures.look import INK, LIMIT, SMALL, fixed_look
from wheelsim.units import MM

FIGURE = FIGURES / "tighter_is_not_stiffer.svg"
SHARES = np.concatenate([[0.0004], np.linspace(0.02, 0.98, 49), [0.995]])
SPOKE = 1


@dataclass(frozen=True, eq=False)
class Curve:
    """Lateral stiffness of one wheel against tension."""

    wheel: object
    tension: np.ndarray  # (k,) mean of the right side [N]
    stiffness: np.ndarray  # (k,) [N/m]
    buckles: float  # tension at which it buckles [N]
    waves: int  # of the buckling mode
    nominal: float  # stiffness at the nominal tension [N/m]
    at_limit: float  # stiffness at the highest tension allowed [N/m]


@dataclass(frozen=True)
class Found:
    """Both sample wheels."""

    front: Curve
    rear: Curve
    slack: float  # stiffness of the front at a slack spoke [N/m]


def lateral_stiffness(wheel, tension):
    """Stiffness against a sideways force at a spoke, with this mean tension of the right side [N]. [N/m]"""
    return point_stiffness(replace(wheel, tension=tension), SPOKE)[0]


def run():
    """Calculate both sample wheels from hardly any tension up to buckling."""
    return Found(_curve(front()), _curve(dished_rear()), point_stiffness(without(front(), SPOKE), SPOKE)[0])


def _curve(wheel):
    end = buckling(wheel)
    tension = SHARES * end.tension
    return Curve(wheel, tension, np.array([lateral_stiffness(wheel, each) for each in tension]), end.tension, end.waves,
                 lateral_stiffness(wheel, wheel.tension), lateral_stiffness(wheel, wheel.limits.max_tension))


def draw(found):
    """Two curves of stiffness against tension, with limits and halves of the buckling tension."""
    one = found.front
    sentence = ("As long as no spoke is slack, tighter is not stiffer: the front has "
                f"{one.stiffness[0] * MM:.0f} N/mm sideways barely tensioned, {one.nominal * MM:.0f} at "
                f"{one.wheel.tension:,.0f} N, none at {one.buckles:,.0f} N, where it buckles")
    with fixed_look():
        figure, top = page(sentence, (10.0, 5.2), "invented wheels")
        axes = figure.add_axes([0.08, 0.115, 0.9, top - 0.135])
        for curve, line, mark, name in ((found.front, "solid", "o", "front, 36 spokes"),
                                        (found.rear, "dashed", "D", "dished rear, 32 spokes (right side's tension)")):
            axes.plot(rounded(curve.tension, 2), rounded(curve.stiffness * MM), color=INK, lw=1.9, ls=line, label=name)
            axes.plot([curve.wheel.limits.max_tension], [rounded(curve.at_limit * MM)], color=INK, ls="none",
                      marker=mark, ms=8, mfc="white", mew=1.5, zorder=3)
            half = PRACTICAL_SHARE * curve.buckles
            axes.plot([half], [rounded(lateral_stiffness(curve.wheel, half) * MM)], color=LIMIT, ls="none", marker="|",
                      ms=22, mew=2.0, zorder=2)
            axes.plot([curve.buckles], [0], color=INK, ls="none", marker="x", ms=10, mew=2.2, clip_on=False, zorder=4)
            axes.text(curve.buckles + 30, 3, f"buckles\n{curve.buckles:,.0f} N", fontsize=SMALL)
        axes.plot([], [], color=INK, ls="none", marker="o", ms=8, mfc="white", mew=1.5, label="at the tension allowed")
        axes.plot([], [], color=LIMIT, ls="none", marker="|", ms=16, mew=2.0, label="half of buckling")
        axes.set_xlim(0, 3000)
        axes.set_ylim(0, 190)
        axes.set_xlabel("mean tension of the right spokes [N]")
        axes.set_ylabel("lateral stiffness at a spoke [N/mm]")
        axes.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
        axes.grid(color="#e4e4e4", lw=0.6)
        axes.legend(loc="upper right", fontsize=SMALL, frameon=False)
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
