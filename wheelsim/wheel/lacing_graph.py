"""The lacing as a graph: holes are nodes, spokes edges."""

from functools import lru_cache

import networkx as nx

from wheelsim.wheel.hub_rim_spokes import Rim, Spokes
from wheelsim.wheel.lacing import Laced, check_holes, laced_spokes


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
        "leading" or "radial"), ``ahead`` and ``missing``.
    """
    graph = nx.Graph()
    for row in laced_spokes(rim.hole_angles, spokes):
        graph.add_node(row.rim_hole, angle=row.rim_angle)
        graph.add_node(row.hub_hole, angle=row.hub_angle)
        graph.add_edge(row.rim_hole, row.hub_hole, spoke=row.spoke, side=row.side, lean=row.lean, ahead=row.ahead,
                       missing=row.missing)
    return nx.freeze(graph)


def laced_in(graph: nx.Graph) -> tuple[Laced, ...]:
    """The spokes of a lacing graph in order of their numbers.

    Raises
    ------
    LacingError
        If a hole holds no spoke or more than one: an edge taken away is noticed, not assumed.
    """
    check_holes(graph.degree)
    rows = []
    for a, b, data in graph.edges(data=True):
        rim, hub = (a, b) if a[0] == "rim" else (b, a)
        rows.append(Laced(**data, rim_hole=rim, hub_hole=hub, rim_angle=graph.nodes[rim]["angle"],
                          hub_angle=graph.nodes[hub]["angle"]))
    return tuple(sorted(rows))
