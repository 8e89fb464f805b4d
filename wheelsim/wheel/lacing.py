"""Which rim hole is tied to which flange hole: the lacing as a graph.

Nodes are ``("rim", i)`` (i from 1, the spoke number), ``("right", k)`` and ``("left", k)`` (k from
0); a spoke is an edge that carries its number, side, lean and whether it is missing. Geometry and
structure read the wheel off this graph, so an edge taken away is noticed, not assumed.
"""

from functools import lru_cache
from itertools import pairwise
from typing import Literal, TypeAlias, TypedDict

import networkx as nx
import numpy as np

from wheelsim.wheel.hub_rim_spokes import Rim, Spokes
from wheelsim.wheel.rules import Fault
from wheelsim.wheel.sides import SIDES, Side

SIDE_OF: dict[str, Side] = {"R": "right", "L": "left"}
Node: TypeAlias = tuple[Literal["rim", "right", "left"], int]


class SpokeData(TypedDict):
    """What an edge of the lacing graph carries; ``ahead`` is +1 where the hub end is clockwise from the rim end."""

    spoke: int
    side: Side
    lean: Literal["trailing", "leading", "radial"]
    ahead: int
    missing: bool


class LacingError(ValueError):
    """The graph is not the lacing of a wheel: a hole holds no spoke, or more than one."""


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
def lacing_graph(rim: Rim, spokes: Spokes) -> nx.Graph:
    """The lacing as a frozen graph.

    Parameters
    ----------
    rim : Rim
    spokes : Spokes

    Returns
    -------
    networkx.Graph
        Nodes carry ``angle`` [rad]; edges ``spoke`` (from 1), ``side``, ``lean`` ("trailing",
        "leading" or "radial") and ``missing``.
    """
    graph = nx.Graph()
    graph.add_nodes_from((("rim", i + 1), {"angle": angle}) for i, angle in enumerate(rim.hole_angles))
    for side in SIDES:
        _lace_flange(graph, rim, spokes, side)
    return nx.freeze(graph)


def _lace_flange(graph: nx.Graph, rim: Rim, spokes: Spokes, side: Side) -> None:
    laced = spokes.side(side)
    numbers = [i + 1 for i, s in enumerate(spokes.sides) if SIDE_OF[s] == side]
    h = len(numbers)
    angles = np.array([rim.hole_angles[i - 1] for i in numbers])
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
        graph.add_node((side, hole), angle=float(hole_angle))
        lean = ("trailing" if ahead > 0 else "leading") if turned else "radial"
        graph.add_edge(("rim", number), (side, hole), spoke=number, side=side, lean=lean, ahead=ahead,
                       missing=number in spokes.missing)


def check_lacing(graph: nx.Graph) -> None:
    """Raise LacingError unless every hole holds exactly one spoke.

    A broken spoke keeps its edge, marked ``missing``: its hole is known, it only does not pull.
    """
    faulty = [(kind, number, degree) for (kind, number), degree in graph.degree if degree != 1]
    if faulty:
        kind, number, degree = faulty[0]
        where = f"rim hole {number}" if kind == "rim" else f"{kind} flange hole {number + 1}"
        raise LacingError(f"{where} holds {degree} spokes; expected one (a broken spoke is marked missing)")


def spoke_edges(graph: nx.Graph) -> list[tuple[Node, Node, SpokeData]]:
    """The spokes in order of their numbers: list of (rim node, flange node, edge attributes)."""
    check_lacing(graph)
    rows = []
    for a, b, data in graph.edges(data=True):
        rim_node, flange_node = (a, b) if a[0] == "rim" else (b, a)
        rows.append((rim_node, flange_node, data))
    return sorted(rows, key=lambda row: row[2]["spoke"])
