"""Which rim hole is tied to which flange hole, spoke by spoke: the edges of the lacing.

Holes are ``("rim", i)`` (i from 1, the spoke number), ``("right", k)`` and ``("left", k)`` (k from 0). As a graph they
stand in ``lacing_graph``, apart, because networkx takes a tenth of a second to load and placing the spokes needs the
edges alone.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import pairwise
from typing import Literal, NamedTuple, TypeAlias

import numpy as np

from wheelsim.wheel.hub_rim_spokes import Rim, Spokes
from wheelsim.wheel.rules import Fault
from wheelsim.wheel.sides import SIDES, Side

SIDE_OF: dict[str, Side] = {"R": "right", "L": "left"}
Node: TypeAlias = tuple[Literal["rim", "right", "left"], int]


class Laced(NamedTuple):
    """One spoke in its two holes; ``ahead`` is +1 where the hub end is clockwise from the rim end."""

    spoke: int
    side: Side
    lean: Literal["trailing", "leading", "radial"]
    ahead: int
    missing: bool
    rim_hole: Node
    hub_hole: Node
    rim_angle: float  # [rad]
    hub_angle: float  # [rad]


class LacingError(ValueError):
    """No lacing of a wheel: a hole holds no spoke, or more than one."""


def lacing_faults(rim: Rim, spokes: Spokes) -> list[Fault]:
    """Faults of the lacing rules that need rim and spokes together."""
    faults = []
    if len(spokes.sides) != rim.holes:
        faults.append(Fault("spokes.sides", spokes.sides,
                            f"expected one letter for each of the {rim.holes} rim holes, not {len(spokes.sides)}"))
    # Of holes that alternate each flange has its half: where none of it fits, it is their number that is wrong.
    alternate = all(a != b for a, b in pairwise(spokes.sides))
    counted = {side: spokes.sides.count(side[0].upper()) for side in SIDES}
    wrong = alternate and any(spokes.side(side).cross and count % 2 for side, count in counted.items())
    if wrong:
        below = rim.holes // 4 * 4
        faults.append(Fault("rim.holes", rim.holes, "looks wrong: crossed spokes on sides that alternate take a "
                            f"multiple of four; expected {below} or {below + 4}"))
    for side, count in counted.items():
        cross = spokes.side(side).cross
        if not cross or wrong:
            continue
        lean = 360 * cross / count
        if count % 2:
            faults.append(Fault(f"spokes.{side}.cross", cross,
                                f"expected 0: a flange of {count} holes (an odd number) can't pair crossed spokes"))
        elif lean > 90:
            faults.append(Fault(f"spokes.{side}.cross", cross,
                                f"expected at most {count // 4}: {cross} crosses lean {lean:.0f} degrees on a "
                                f"flange of {count} holes, past the tangent"))
        elif lean == 90:
            faults.append(Fault(f"spokes.{side}.cross", cross,
                                f"{cross} crosses on {count} holes run at the tangent; spokes may lie over "
                                "their neighbours' heads", "warning"))
    if len(spokes.missing) > rim.holes // 3:
        faults.append(Fault("spokes.missing", sorted(spokes.missing), f"expected at most {rim.holes // 3} "
                            "missing spokes; with more the wheel is not one to true"))
    return faults


@lru_cache(maxsize=64)
def laced_spokes(hole_angles: tuple[float, ...], spokes: Spokes) -> tuple[Laced, ...]:
    """The spokes of a rim with these holes in order of their numbers, each hole checked to hold one."""
    rows = sorted(row for side in SIDES for row in _flange(hole_angles, spokes, side))
    degree = Counter(node for row in rows for node in (row.rim_hole, row.hub_hole))
    check_holes([(("rim", i + 1), degree[("rim", i + 1)]) for i in range(len(hole_angles))])
    check_holes(degree.items())
    return tuple(rows)


def _flange(hole_angles: tuple[float, ...], spokes: Spokes, side: Side) -> Iterator[Laced]:
    laced = spokes.side(side)
    numbers = [i + 1 for i, s in enumerate(spokes.sides) if SIDE_OF[s] == side]
    h = len(numbers)
    angles = np.array([hole_angles[i - 1] for i in numbers])
    step = 2 * np.pi / h
    phase = np.mean(angles - step * np.arange(h))
    for j, number in enumerate(numbers):
        # The hub end of a trailing spoke is ahead of (clockwise from) its rim end.
        ahead = 1 if (j % 2 == 0) == (laced.starts == "trailing") else -1
        if laced.cross is None:
            assert laced.angle is not None  # a rule of the part: exactly one of the two is given
            hole, hole_angle = j, angles[j] + ahead * laced.angle
            turned = laced.angle > 0
        else:
            hole = (j + ahead * laced.cross) % h
            hole_angle = phase + step * hole
            turned = laced.cross > 0
        yield Laced(number, side, ("trailing" if ahead > 0 else "leading") if turned else "radial", ahead,
                    number in spokes.missing, ("rim", number), (side, hole), hole_angles[number - 1],
                    float(hole_angle))


def check_holes(degrees: Iterable[tuple[Node, int]]) -> None:
    """Raise LacingError unless every hole holds exactly one spoke.

    A broken spoke keeps its hole, marked ``missing``: it only does not pull.
    """
    for (kind, number), degree in degrees:
        if degree != 1:
            where = f"rim hole {number}" if kind == "rim" else f"{kind} flange hole {number + 1}"
            raise LacingError(f"{where} holds {degree} spokes; expected one (a broken spoke is marked missing)")
