"""Why is the near flange the tighter one?

Question
    On the sample rear wheel the right flange stands 19 mm from the hub's middle, the left 36 mm. The right spokes pull
    1,150 N. What do the left ones pull, and what determines the ratio?
Expect
    The sideways pulls of the two sides must balance. Spokes of the near side lean less, so they need more tension for
    the same sideways pull; the tensions are about in the inverse ratio of the flanges' distances.
Found
    With flanges 19 and 36 mm from the middle the left spokes pull 610 N, 0.531 of the right; the distances alone say
    0.528. Each right spoke pulls 75.5 N sideways, and so does each left one. A right flange at 30 mm gives 0.835; a rim
    drilled 3 mm to the left of its middle gives 0.669 with the sample's hub.
Figure
    figures/near_flange.svg: a section of the wheel, to scale, and the ratio against the near flange's distance.
"""

from dataclasses import dataclass, replace

import numpy as np

from experiments.common import FIGURES, dished_rear, marker, page, rounded, with_flanges
from wheelsim.report.figures import save
from wheelsim.report.figures.look import BAND, FAINT, INK, SMALL, STYLES, fixed_look
from wheelsim.units import MM
from wheelsim.wheel.geometry import LAT, wheel_geometry

FIGURE = FIGURES / "near_flange.svg"
DISTANCES = np.arange(12, 37, 1) * MM
DRILLED = -3.0 * MM  # offset of the spoke holes from the rim's middle, plus right


@dataclass(frozen=True, eq=False)
class Found:
    """Tensions of the sample, and ratios of tensions left over right of its variations."""

    wheel: object
    tension: dict  # of a spoke, by side [N]
    sideways: dict  # its sideways component, by side [N]
    ratio: np.ndarray  # by ``DISTANCES`` of the near flange
    drilled_ratio: np.ndarray  # the same with an off-centre rim
    sample_drilled: float  # the sample's hub with an off-centre rim


def run():
    """Calculate the balanced tensions of the sample and its variations."""
    wheel = dished_rear()
    g = wheel_geometry(wheel)
    tension, sideways = {}, {}
    for side in STYLES:
        index = wheel.on_side(side)
        tension[side] = float(g.tension[index].mean())
        sideways[side] = float(np.abs(g.tension[index] * g.axis[index, LAT]).mean())
    off_centre = _drilled(wheel)
    return Found(wheel, tension, sideways, np.array([_ratio(with_flanges(wheel, right=far)) for far in DISTANCES]),
                 np.array([_ratio(with_flanges(off_centre, right=far)) for far in DISTANCES]), _ratio(off_centre))


def _drilled(wheel):
    return replace(wheel, rim=replace(wheel.rim, seat_offset=DRILLED))


def _ratio(wheel):
    tension = wheel_geometry(wheel).tension
    return float(tension[wheel.on_side("left")].mean() / tension[wheel.on_side("right")].mean())


def draw(found):
    """Two panels: the section, and the ratio below it."""
    ratio = found.tension["left"] / found.tension["right"]
    far = {side: found.wheel.hub.flange(side).offset / MM for side in STYLES}
    sentence = (f"The near flange is tighter because its spokes lean less: flanges {far['right']:.0f} and "
                f"{far['left']:.0f} mm out balance only when the far side pulls {ratio:.2f} of the near side")
    with fixed_look():
        figure, top = page(sentence, (10.0, 6.7), "invented dished rear wheel, 32 spokes")
        cut = figure.add_axes([0.085, 0.53, 0.885, top - 0.53])
        _cut(cut, found, far)
        axes = figure.add_axes([0.085, 0.085, 0.885, 0.36])
        x = DISTANCES / MM
        axes.plot(x, rounded(x / far["left"]), color=BAND, lw=8, solid_capstyle="butt",
                  label="near distance over far distance")
        axes.plot(x, rounded(found.ratio), color=INK, lw=1.8, label="rim drilled in the middle")
        axes.plot(x, rounded(found.drilled_ratio), color=INK, lw=1.6, ls="dashdot",
                  label=f"rim drilled {-DRILLED / MM:.0f} mm to the left")
        axes.plot([far["right"]], [rounded(ratio)], ls="none", marker="D", ms=7, color=INK, label="the sample")
        axes.set_xlabel("right flange to the hub's middle [mm]; left flange stays at 36 mm")
        axes.set_ylabel("left tension over right [1]")
        axes.set_xlim(x[0], x[-1])
        axes.set_ylim(0.2, 1.12)
        axes.axhline(1.0, color=FAINT, lw=0.8)
        axes.grid(color="#e4e4e4", lw=0.6)
        axes.legend(loc="lower right", fontsize=SMALL, frameon=False)
    return figure


def _cut(axes, found, far):
    """Draw the section from axle to rim, to scale: one spoke per side with its pull and its sideways pull."""
    wheel = found.wheel
    seat, hub = wheel.rim.seat_radius / MM, wheel.hub.left.hole_circle / 2 / MM
    axes.plot([0, 0], [-46, 30], color=FAINT, lw=4, solid_capstyle="butt")
    axes.axhline(0.0, color=FAINT, lw=0.9, ls="dotted")
    axes.text(364, 1, "hub's middle", ha="right", va="bottom", fontsize=SMALL, color=INK)
    for side, sign in (("right", 1), ("left", -1)):
        style = STYLES[side]
        y = sign * far[side]
        axes.plot([0, hub], [y, y], color=FAINT, lw=3, solid_capstyle="butt")
        axes.plot([hub, seat], [y, 0.0], color=style.colour, lw=2.0, ls=style.line)
        axes.plot([hub], [y], ls="none", **marker(side, 7))
        words = f"each {side} spoke pulls {found.tension[side]:,.0f} N, {found.sideways[side]:.0f} N of it sideways"
        axes.text(95, y + sign * 3, words, color=style.colour, va="bottom" if sign > 0 else "top")
    axes.plot([seat, seat], [-10, 10], color=INK, lw=5, solid_capstyle="butt")
    axes.text(seat, -13, "rim", ha="center", va="top", fontsize=SMALL)
    axes.text(4, -45, "hub", va="bottom", fontsize=SMALL)
    axes.set_xlim(-3, 365)
    axes.set_ylim(-48, 34)
    axes.set_aspect("equal", adjustable="box", anchor="W")
    axes.set_xlabel("from the axle [mm]", labelpad=2)
    axes.set_ylabel("lateral [mm]\n+ right")


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
