"""A small picture for each of the ten things, from calculated wheels or from the numbers in its text."""

import re

import numpy as np

from experiments.common import dished_rear, front, one_turn, without
from experiments.ten_things import THINGS
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.practice.paper import gauge_picture
from wheelsim.report.figures.look import STYLES
from wheelsim.report.sheet.shapes import GREY, INK, PALE, PT, TYPE, Drawing, Stroke, Words, arrow, box, disc, line
from wheelsim.wheel.geometry import wheel_geometry

HEIGHT = 34.0  # [mm]
CAP = 0.73 * TYPE * PT  # height of a capital [mm]


def told(experiment):
    """The numbers in the text of one of the ten things, in their order."""
    proof = next(thing.proof for thing in THINGS if thing.experiment == experiment)
    return [float(word.replace(",", "")) for word in re.findall(r"\d[\d,]*(?:\.\d+)?", proof)]


def words(x, y, text, align="middle", bold=False):
    """Text centred vertically, by its capitals, on a height."""
    return Words((x, y + CAP / 2), text, align=align, bold=bold)


def bars(width, rows, limit=None):
    """Horizontal bars with names and values, and a dashed line at a limit. Rows are (name, value, text)."""
    name_room, high = 1.0, max(value for _, value, _ in rows)
    scale = (width - name_room - (20.0 if limit is None else 3.0)) / max(high, limit or 0.0)
    each = HEIGHT / len(rows)  # a name and its bar
    shapes = []
    for k, (name, value, text) in enumerate(rows):
        top = k * each
        over = limit is not None and value > limit
        tall, middle = each - 8.0, top + 6.2 + (each - 8.0) / 2
        shapes += [words(name_room, top + 3.0, name, "left"),
                   box(name_room, top + 6.2, max(value * scale, 0.3), tall, GREY if over else PALE, INK, 0.3)]
        if limit is None:
            shapes.append(words(name_room + value * scale + 1.5, middle, text, "left"))
            continue
        x = name_room + limit * scale
        shapes += [line(x, top + 5.4, x, top + 7.0 + tall, 0.6, INK, (1.2, 0.8)),
                   Words((name_room + 2.0, middle + CAP / 2), text, bold=True, colour="#ffffff" if over else INK)]
    return Drawing(width, HEIGHT, tuple(shapes))


def strip(width, values, wheel, first, zero):
    """Stems for values at consecutive spokes from index ``first``; ``zero`` (0 to 1) is where the zero line lies."""
    n = len(values)
    room, high = (width - 4.0) / n, float(np.abs(values).max())
    middle = HEIGHT * zero
    scale = (HEIGHT * max(zero, 1 - zero) - 7.0) / high
    shapes = [line(1.0, middle, width - 1.0, middle, 0.25, GREY)]
    for k, value in enumerate(values):
        side = "right" if first + k in wheel.on_side("right") else "left"
        x, y = 2.0 + (k + 0.5) * room, middle - float(value) * scale
        style = STYLES[side]
        shapes.append(line(x, middle, x, y, 0.5, style.colour, () if side == "right" else (1.2, 0.7)))
        shapes.append(disc(x, y, 1.1, style.colour, style.colour) if side == "right" else
                      box(x - 1.0, y - 1.0, 2.0, 2.0, "#ffffff", style.colour, 0.4))
    return shapes


def quarter_turn(width):
    """Tension changes of the spokes around one that is tightened."""
    wheel = front()
    before = equilibrium(wheel, np.zeros(wheel.n))
    after = equilibrium(wheel, one_turn(wheel, 17, 0.25), start=before)
    near = slice(11, 22)
    shapes = strip(width, np.round(after.tension - before.tension, 1)[near], wheel, 11, 0.68)
    shapes.append(words(width / 2 + 3.0, 4.0, f"+{told('quarter_turn')[1]:.0f} N", "left"))
    return Drawing(width, HEIGHT, tuple(shapes))


def gap_is_twice(width):
    """The gauge with its gap at the hub."""
    return gauge_picture("hub", told("gap_is_twice")[1] * 1e-3)(width)


def near_flange(width):
    """The two flanges and spokes to the rim; line width shows tension, the spokes' angle is exaggerated."""
    wheel = dished_rear()
    tension = wheel_geometry(wheel).tension
    middle, top, base = width / 2, 4.0, HEIGHT - 6.0
    shapes = [box(middle - 4.0, top - 3.0, 8.0, 4.0, PALE, INK, 0.3),
              line(middle, top, middle, base + 1.0, 0.25, GREY, (1.0, 0.8))]
    for side, sign in (("right", 1.0), ("left", -1.0)):
        x = middle + sign * wheel.hub.flange(side).offset * 1e3 * 0.5
        mean = float(tension[wheel.on_side(side)].mean())
        shapes += [line(middle, top + 1.0, x, base, mean / 700.0, STYLES[side].colour),
                   line(x, base - 2.0, x, base + 2.0, 1.0),
                   words(x, base + 4.0, f"{wheel.hub.flange(side).offset * 1e3:.0f}")]
    shapes.append(line(middle - 20.0, base, middle + 20.0, base, 0.5))
    return Drawing(width, HEIGHT, tuple(shapes))


def which_flange(width):
    """Arrows for the rim's shift by a quarter turn of either side; the near side's tension change in words."""
    far, far_cost, near, near_cost = told("which_flange")
    shapes = []
    for y, name, moved_by, cost in ((4.0, "far side", far, far_cost), (21.0, "near side", near, near_cost)):
        shapes.append(words(1.0, y, f"{name}, +{cost:.0f} N", "left"))
        shapes += arrow(((1.0, y + 6.0), (1.0 + moved_by / far * (width - 22.0), y + 6.0)), 1.2, INK, 3.5)
        shapes.append(words(3.0 + moved_by / far * (width - 22.0), y + 6.0, f"{moved_by:.2f}", "left"))
    return Drawing(width, HEIGHT, tuple(shapes))


def which_way(width):
    """Highest tension for either way to centre, with the limit."""
    _, near, limit, *_, both = told("which_way")
    return bars(width, (("tighten near", near, f"{near:.0f}"), ("loosen far first", both, f"{both:.0f}")), limit)


def loosen_first(width):
    """Highest tension on the way in either order, with the limit."""
    first, last, limit = told("loosen_first")
    return bars(width, (("loosen first", first, f"{first:.0f}"), ("tighten first", last, f"{last:.0f}")), limit)


def true_before_dish(width):
    """The rim with two waves under the gauge's two feet."""
    x = np.linspace(0.0, 1.0, 41)
    y = 20.0 - 5.0 * np.cos(4 * np.pi * x)
    shapes = [line(4.0, 20.0, width - 4.0, 20.0, 0.25, GREY, (1.0, 0.8)),
              Stroke(tuple((4.0 + float(a) * (width - 8.0), float(b)) for a, b in zip(x, y, strict=True)), 0.8),
              box(2.5, 5.5, width - 5.0, 2.0, GREY, INK)]
    shapes += [line(at, 7.5, at, 15.0, 1.0) for at in (4.0, width - 4.0)]
    shapes.append(words(width / 2, 31.0, f"false gap {told('true_before_dish')[1]:.2f} mm"))
    return Drawing(width, HEIGHT, tuple(shapes))


def tighter_is_not_stiffer(width):
    """Lateral stiffness against tension: the three points in the text, and the wheel with a slack spoke."""
    first, at_first, second, at_second, end, slack = told("tighter_is_not_stiffer")
    points = [(at_first, first), (at_second, second), (end, 0.0)]
    left, base, high = 4.0, HEIGHT - 6.0, HEIGHT - 10.0

    def place(tension, stiffness):
        return left + tension / 2900.0 * (width - left - 2.0), base - stiffness / 160.0 * high

    shapes = [line(left, base, width, base, 0.3), line(left, base, left, base - high, 0.3),
              Stroke(tuple(place(*point) for point in points), 0.6)]
    shapes += [disc(*place(*point), 1.0) for point in points]
    shapes.append(disc(*place(150.0, slack), 1.2, "#ffffff", INK, 0.4))
    shapes += [words(place(150.0, slack)[0] + 2.5, place(150.0, slack)[1], "slack", "left"),
               words(width - 1.0, base + 3.4, "tension", "right"), words(left + 1.0, 2.2, "stiffness", "left")]
    return Drawing(width, HEIGHT, tuple(shapes))


def broken_spoke(width):
    """The rim of a front wheel near a broken spoke."""
    wheel = without(front(), 17)
    lateral = np.round(equilibrium(wheel, np.zeros(wheel.n)).lateral * 1e3, 3)
    x = np.linspace(2.0, width - 2.0, wheel.n)
    y = HEIGHT / 2 + 6.0 - lateral * 6.0 * np.sign(lateral[np.abs(lateral).argmax()])
    at = int(np.abs(lateral).argmax())
    shapes = [line(2.0, HEIGHT / 2 + 6.0, width - 2.0, HEIGHT / 2 + 6.0, 0.25, GREY, (1.0, 0.8)),
              Stroke(tuple(zip(map(float, x), map(float, y), strict=True)), 0.8),
              words(float(x[at]) + 6.0, float(y[at]), f"{told('broken_spoke')[0]:.2f} mm", "left")]
    return Drawing(width, HEIGHT, tuple(shapes))


def bent_rim(width):
    """Run-out left by the best turns of a bent rim, and of a straight rim that was as far out."""
    bend, left, *_, straight = told("bent_rim")
    return bars(width, (("bent", bend, f"{bend:.1f}"), ("after the best turns", left, f"{left:.2f} mm"),
                        ("a straight rim", straight, f"{straight:.2f}")))


PICTURES = {picture.__name__: picture for picture in (
    quarter_turn, gap_is_twice, near_flange, which_flange, which_way, loosen_first, true_before_dish,
    tighter_is_not_stiffer, broken_spoke, bent_rim)}
