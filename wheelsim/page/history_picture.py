"""The work so far as SVG: gap, true and highest spoke at each reading, what was predicted beside what was read."""

from collections.abc import Callable, Sequence
from html import escape

from wheelsim.measures.bounds import Bounds
from wheelsim.measures.view import View
from wheelsim.stand.assessment import VisitView
from wheelsim.units import MM

WIDE, HIGH, LEFT, RIGHT, TOP = 660, 96, 94, 110, 16  # of one panel


def history_picture(readings: Sequence[VisitView], limits: Bounds) -> str:
    """Three panels on one axis of readings; filled marks were read, hollow ones follow from all else."""
    gap = limits.gap / MM
    panels = (("gap, mm", lambda seen: seen.gap / MM, "gap", -gap, gap, 2),
              ("true, mm", lambda seen: seen.true / MM, "lateral_runout", 0.0, limits.lateral_runout / MM, 2),
              ("highest, N", lambda seen: seen.highest, "max_tension", None, limits.max_tension, 0))
    parts = [_panel(readings, k, *one) for k, one in enumerate(panels)]
    at = _places(len(readings))
    bottom = TOP + len(panels) * (HIGH + 14) + 8
    parts += [f'<text x="{x:.0f}" y="{bottom}" text-anchor="middle">'
              f'{"pass " + str(one.after_pass) if one.after_pass else "received"}</text>'
              for x, one in zip(at, readings, strict=True)]
    return (f'<svg viewBox="0 0 {WIDE} {bottom + 12}" width="{WIDE}" role="img" aria-label="{escape(_said(readings))}">'
            + "".join(parts) + "</svg>")


def _said(readings: Sequence[VisitView]) -> str:
    seen = [one.view for one in readings if one.view is not None]
    if not seen:
        return "history: no stable wheel explains the readings"
    return (f"history of {len(readings)} readings: gap {seen[0].gap / MM:+z.2f} to {seen[-1].gap / MM:+z.2f} mm, "
            f"true {seen[0].true / MM:.2f} to {seen[-1].true / MM:.2f} mm, "
            f"highest spoke {seen[0].highest:.0f} to {seen[-1].highest:.0f} N")


def _places(count: int) -> list[float]:
    step = (WIDE - LEFT - RIGHT) / max(count - 1, 1)
    return [LEFT + k * step for k in range(count)]


def _panel(readings: Sequence[VisitView], k: int, label: str, of: Callable[[View], float], name: str,
           low: float | None, high: float, digits: int) -> str:
    seen = [None if one.view is None else of(one.view) for one in readings]
    said = [None if one.predicted is None else of(one.predicted) for one in readings]
    held = [value for value in (*seen, *said, high, low) if value is not None]
    bottom, top = min(held), max(held)
    room = 0.1 * max(top - bottom, 0.1)
    below = TOP + k * (HIGH + 14) + HIGH

    def y(value: float) -> float:
        return below - HIGH * (value - bottom + room) / (top - bottom + 2 * room)

    floor = below if low is None else y(low)
    parts = [f'<rect x="{LEFT - 14}" y="{y(high):.1f}" width="{WIDE - LEFT - RIGHT + 28}" '
             f'height="{floor - y(high):.1f}" class="band"/>',
             f'<text x="4" y="{below - HIGH / 2 + 5:.0f}">{label}</text>',
             f'<text x="{WIDE - RIGHT + 20}" y="{y(high) + 5:.0f}">{high:.{digits}f}</text>']
    at = _places(len(readings))
    points = [(x, y(value)) for x, value in zip(at, seen, strict=True) if value is not None]
    parts.append(f'<polyline points="{" ".join(f"{x:.1f},{v:.1f}" for x, v in points)}" class="read"/>')
    for x, value, before, one in zip(at, seen, said, readings, strict=True):
        if before is not None:
            parts.append(f'<path d="M{x:.1f} {y(before) - 7:.1f} l7 7 l-7 7 l-7 -7 z" class="said"/>')
        if value is not None:
            parts.append(f'<circle cx="{x:.1f}" cy="{y(value):.1f}" r="5" '
                         f'class="{"as-read" if one.read[name] else "as-known"}"/>')
    if seen[-1] is not None:
        shift = 18 if abs(y(seen[-1]) - y(high)) < 16 else 5
        parts.append(f'<text x="{WIDE - RIGHT + 20}" y="{y(seen[-1]) + shift:.0f}" class="now">'
                     f'{seen[-1]:.{digits}f} now</text>')
    return "".join(parts)
