"""The wheel laid out flat as SVG for the page: position, tension and turns on one axis, each spoke to be tapped."""

from collections.abc import Callable
from html import escape

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.view import View
from wheelsim.units import MM, turns_text

WIDE, LEFT, RIGHT = 1000.0, 70.0, 12.0
POSITION, TENSION, TURNS, FOOT = (10.0, 150.0), (170.0, 390.0), (405.0, 475.0), 500.0

Height = Callable[[float], float]


def strip_svg(before: View, after: View, turns: Turns, limits: Bounds, doubted: frozenset[int] = frozenset()) -> str:
    """The strip; ``doubted`` are spokes whose reading is in doubt. Every spoke carries ``data-spoke``."""
    wheel, n = before.wheel, before.wheel.n
    across = LEFT + (WIDE - LEFT - RIGHT) * (np.arange(n) + 0.5) / n
    says = escape(_says(before, after))
    parts = [f'<svg class="strip" viewBox="0 0 {WIDE:g} {FOOT:g}" role="group" aria-label="{says}">']
    parts += _positions(before, after, limits, across)
    parts += _tensions(after, limits, across, doubted)
    parts += _turns(turns, across)
    step = (WIDE - LEFT - RIGHT) / n
    right = set(wheel.on_side("right"))
    for i, x in enumerate(across.tolist()):
        missing = i + 1 in wheel.spokes.missing
        tension = after.state.tension[i]
        name = (f"spoke {i + 1}, {'right' if i in right else 'left'}, "
                + ("missing" if missing else f"{tension:.0f} newtons")
                + (f", {turns_text(float(turns[i]), signed=True)} turn" if turns[i] else ""))
        parts.append(f'<text x="{x:.1f}" y="{FOOT - 6:g}" class="number">{i + 1}</text>'
                     f'<rect class="tap" data-spoke="{i + 1}" x="{x - step / 2:.1f}" y="0" width="{step:.1f}" '
                     f'height="{FOOT:g}" tabindex="0" role="button" aria-label="{name}"><title>{name}</title></rect>')
    return "".join(parts) + "</svg>"


def _says(before: View, after: View) -> str:
    return (f"The rim laid out flat from valve to valve. Gap {before.gap / MM:+.2f} to {after.gap / MM:+.2f} mm, "
            f"highest spoke {before.highest:.0f} to {after.highest:.0f} N")


def _line(x: float, y: float, to_x: float, to_y: float, kind: str) -> str:
    return f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{to_x:.1f}" y2="{to_y:.1f}" class="{kind}"/>'


def _scale(panel: tuple[float, float], low: float, high: float) -> Height:
    top, bottom = panel
    return lambda value: bottom - (value - low) / (high - low) * (bottom - top)


def _label(y: float, text: str) -> str:
    return f'<text x="{LEFT - 6:g}" y="{y + 5:.1f}" class="scale">{text}</text>'


def _positions(before: View, after: View, limits: Bounds, across: Floats) -> list[str]:
    target, band = before.target_dish, limits.lateral_runout / 2
    shown = (before.state.edge, after.state.edge)
    reach = 1.1 * max(float(max(np.abs(one - target).max() for one in shown)), 2 * band, limits.gap / 2)
    at = _scale(POSITION, target - reach, target + reach)
    top, bottom = at(target + band), at(target - band)
    width = WIDE - LEFT - RIGHT
    parts = [f'<rect class="band" x="{LEFT:g}" y="{top:.1f}" width="{width:g}" height="{bottom - top:.1f}"/>',
             _line(LEFT, at(target), WIDE - RIGHT, at(target), "axis"),
             _label(POSITION[0] + 6, f"+{reach / MM:.1f} mm"), _label(POSITION[1] - 6, f"-{reach / MM:.1f} mm")]
    for lateral, kind in zip(shown, ("was", "rim"), strict=True):
        points = " ".join(f"{x:.1f},{at(float(y)):.1f}" for x, y in zip(across, lateral, strict=True))
        parts.append(f'<polyline points="{points}" class="{kind}"/>')
    return parts


def _tensions(after: View, limits: Bounds, across: Floats, doubted: frozenset[int]) -> list[str]:
    wheel, tension = after.wheel, after.state.tension
    most = 1.12 * max(limits.max_tension, float(tension.max()))
    at = _scale(TENSION, 0.0, most)
    parts = [_line(LEFT, at(0.0), WIDE - RIGHT, at(0.0), "axis")]
    for value, kind, word in ((limits.max_tension, "limit", "most"), (limits.min_tension, "limit", "least")):
        parts += [_line(LEFT, at(value), WIDE - RIGHT, at(value), kind), _label(at(value), f"{value:.0f} N")]
        parts.append(f'<text x="{WIDE - RIGHT:g}" y="{at(value) - 4:.1f}" class="word">{word} allowed</text>')
    for side in ("right", "left"):
        usual = after.usual[side]
        parts.append(_line(LEFT, at(usual), WIDE - RIGHT, at(usual), f"usual {side}"))
    right = set(wheel.on_side("right"))
    for i, x in enumerate(across.tolist()):
        side = "right" if i in right else "left"
        y = at(float(tension[i]))
        parts.append(_line(x, at(0.0), x, y, f"stem {side}"))
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" class="{side}"/>' if side == "right" else
                     f'<rect x="{x - 5.5:.1f}" y="{y - 5.5:.1f}" width="11" height="11" class="{side}"/>')
        wrong = ("slack" if i + 1 in after.slack else "over" if tension[i] > limits.max_tension else
                 "?" if i + 1 in doubted else "")
        if wrong:
            parts.append(f'<text x="{x:.1f}" y="{y - 12:.1f}" class="wrong">{wrong}</text>')
    return parts


def _turns(turns: Turns, across: Floats) -> list[str]:
    reach = max(float(np.abs(turns).max()), 0.5)
    at = _scale(TURNS, -reach, reach)
    parts = [_line(LEFT, at(0.0), WIDE - RIGHT, at(0.0), "axis"), _label(at(0.0), "turns")]
    parts += [_line(float(across[i]), at(0.0), float(across[i]), at(float(turns[i])), "turn")
              for i in np.flatnonzero(turns)]
    return parts
