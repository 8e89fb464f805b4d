"""Why is the gauge's gap twice the rim's offset?

Question
    The gauge is set on the right face, the wheel turned over, and the gap read on the left. How large is it against the
    rim's offset from the hub's middle, and does it matter how the feet are held?
Expect
    The offset makes the first face stand in and the second stand out by the same amount, so it counts twice.
Found
    A rim 1.50 mm to the left leaves 3.00 mm at the hub, and so does one of 10 mm, as drawn, leave 20 mm. Set on
    the left and read on the right, both feet lift 3.00 mm; with one foot resting the other lifts 6.00 mm, four times
    the offset.
Figure
    figures/gap_is_twice.svg: wheel and gauge cut through, to scale, with an offset of 10 mm.
"""

from dataclasses import dataclass

from experiments.common import FIGURES, front, page
from wheelsim.report.figures import save
from wheelsim.report.figures.look import BAND, FAINT, INK, LIMIT, SMALL, STYLES, fixed_look
from wheelsim.units import MM

FIGURE = FIGURES / "gap_is_twice.svg"
OFFSET = -1.5 * MM  # of the rim, plus right
DRAWN = -10.0 * MM  # larger than on any real wheel, so that it is visible in a drawing to scale
RIM_WIDTH = 20.0 * MM  # of the drawing; the gap doesn't depend on it
SIGN = {"right": 1, "left": -1}


@dataclass(frozen=True)
class Found:
    """Gaps [m]."""

    hub: float  # at the hub; gauge set on the right, read on the left
    feet: float  # under both feet, held level; gauge set on the left, read on the right
    one_foot: float  # under one foot while the other rests; likewise
    drawn: float  # at the hub, for the offset that is drawn


def face_beyond_feet(wheel, offset, side):
    """Distance of a contact face outward from the rim's flank on its side, on which the gauge's feet stand. [m]"""
    return wheel.hub.contact_width / 2 - SIGN[side] * offset - RIM_WIDTH / 2


def gap(wheel, offset, set_on):
    """Gap between the pointer, set on one face, and the other face with the feet on the rim; minus: feet lift. [m]"""
    other = "left" if set_on == "right" else "right"
    return face_beyond_feet(wheel, offset, set_on) - face_beyond_feet(wheel, offset, other)


def run():
    """Calculate the gauge's gaps from geometry."""
    wheel = front()
    lift = -gap(wheel, OFFSET, "left")
    # One foot down, pointer on the face halfway along the bar: the far foot is twice as far from the near one.
    half = wheel.rim.section_radius
    return Found(gap(wheel, OFFSET, "right"), lift, lift * (2 * half) / half, gap(wheel, DRAWN, "right"))


def draw(found):
    """Two drawings: gauge set on the right face (above); wheel turned over and read on the left face (below)."""
    sentence = (f"The gap is twice the offset, {found.drawn / MM:.0f} mm for {-DRAWN / MM:.0f} mm: the rim nears one "
                "face by the offset and leaves the other by as much")
    wheel = front()
    radius, half = wheel.rim.section_radius / MM, wheel.hub.contact_width / 2 / MM
    pointer = face_beyond_feet(wheel, DRAWN, "right") / MM
    with fixed_look():
        figure, top = page(sentence, (10.0, 6.6),
                           "wheel and gauge cut through the axle, to scale; offset larger than any real one")
        height = (top - 0.085) / 2 - 0.02
        for row, side in enumerate(("right", "left")):
            axes = figure.add_axes([0.09, top - (row + 1) * height - row * 0.03, 0.89, height])
            rim = SIGN[side] * DRAWN / MM
            _wheel(axes, rim, radius, half, side, wheel)
            feet = rim + RIM_WIDTH / 2 / MM
            _gauge(axes, feet, pointer, radius)
            _measure(axes, radius + 22, 0.0, rim)
            axes.text(radius + 30, 2.2 * rim, f"offset {abs(rim):.0f} mm", color=LIMIT, va="center", fontweight="bold")
            if row == 0:
                words = "1  set on the right face: feet on the rim, pointer on the face"
            else:
                words = "2  turned over, left face: the same pointer stays off the face"
                _measure(axes, 22, half, feet + pointer)
                axes.text(30, (half + feet + pointer) / 2, f"gap {found.drawn / MM:.0f} mm", color=LIMIT, va="center",
                          fontweight="bold")
            axes.set_title(words, loc="left", fontsize=SMALL + 1, color=INK, pad=3)
            axes.set_ylim(-half - 12, 108)
            axes.set_xlim(-radius - 25, radius + 135)
            axes.set_aspect("equal", adjustable="box")
            axes.set_ylabel(f"lateral [mm]\nup is {side}")
            if row:
                axes.set_xlabel("along a diameter, from the axle [mm]")
    return figure


def _wheel(axes, rim, radius, half, side, wheel):
    """Draw hub, spokes and rim with ``side`` up and the rim at height ``rim``."""
    axes.axhline(0.0, color=FAINT, lw=0.9, ls="dotted")
    axes.plot([0, 0], [-half, half], color=FAINT, lw=7, solid_capstyle="butt")
    for up, name in ((1, side), (-1, "left" if side == "right" else "right")):
        flange, style = wheel.hub.flange(name), STYLES[name]
        y, hole = up * flange.offset / MM, flange.hole_circle / 2 / MM
        axes.plot([-hole, hole], [y, y], color=FAINT, lw=3, solid_capstyle="butt")
        axes.plot([-12, 12], [up * half, up * half], color=style.colour, lw=3, ls="solid", solid_capstyle="butt")
        axes.text(-16, up * half, f"{name} face", ha="right", va="center", fontsize=SMALL, color=style.colour)
        for end in (-1, 1):
            axes.plot([end * hole, end * radius], [y, rim], color=style.colour, lw=1.1, ls=style.line)
    for end in (-1, 1):
        axes.fill_between([end * radius - 6, end * radius + 6], rim - RIM_WIDTH / 2 / MM, rim + RIM_WIDTH / 2 / MM,
                          facecolor=BAND, edgecolor=INK, lw=1.2)
    axes.text(130, 0, "hub's middle", ha="center", va="center", fontsize=SMALL,
              bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0})


def _gauge(axes, feet, pointer, radius):
    """Draw the gauge: a bar on two feet, with a pointer in its middle."""
    bar = feet + 85
    axes.plot([-radius, -radius, radius, radius], [feet, bar, bar, feet], color=INK, lw=2.6, solid_joinstyle="miter",
              solid_capstyle="butt")
    axes.plot([0, 0], [bar, feet + pointer], color=INK, lw=2.6, solid_capstyle="butt")
    axes.plot([-4, 4], [feet + pointer] * 2, color=INK, lw=2.6, solid_capstyle="butt")
    axes.text(-radius / 2, bar - 3, "gauge", ha="center", va="top", fontsize=SMALL)


def _measure(axes, x, low, high):
    for y in (low, high):
        axes.plot([x - 14, x + 5], [y, y], color=LIMIT, lw=0.9)
    axes.annotate("", (x, low), (x, high), arrowprops={"arrowstyle": "<->", "color": LIMIT, "lw": 1.2,
                                                       "shrinkA": 0, "shrinkB": 0, "mutation_scale": 9})


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
