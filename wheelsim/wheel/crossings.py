"""Which spokes cross which: the pairs a hand squeezes."""

import networkx as nx
import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Floats
from wheelsim.wheel.lacing_graph import laced_in, lacing_graph
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES


def crossing_graph(wheel: Wheel) -> nx.Graph:
    """Which spokes of a flange cross which, seen along the axle.

    Returns
    -------
    networkx.Graph
        Nodes are spoke numbers; an edge carries ``radius``, the distance of the crossing from the
        axle. [m] The outermost crossing of two spokes is the pair a hand squeezes.
    """
    laced = laced_in(lacing_graph(wheel.rim, wheel.spokes))
    crossings = nx.Graph()
    crossings.add_nodes_from(row.spoke for row in laced)
    for side in SIDES:
        rows = [row for row in laced if row.side == side and not row.missing]
        outer = wheel.rim.seat_radius * _direction([row.rim_angle for row in rows])
        inner = wheel.hub.flange(side).hole_circle / 2 * _direction([row.hub_angle for row in rows])
        along = inner - outer
        for i in range(len(rows)):
            for k in range(i + 1, len(rows)):
                det = along[i, 0] * along[k, 1] - along[i, 1] * along[k, 0]
                if abs(det) < 1e-12:
                    continue
                gap = outer[k] - outer[i]
                s = (gap[0] * along[k, 1] - gap[1] * along[k, 0]) / det
                t = (gap[0] * along[i, 1] - gap[1] * along[i, 0]) / det
                if 1e-9 < s < 1 - 1e-9 and 1e-9 < t < 1 - 1e-9:
                    point = outer[i] + s * along[i]
                    crossings.add_edge(rows[i].spoke, rows[k].spoke, radius=float(np.hypot(*point)))
    return crossings


def _direction(angles: ArrayLike) -> Floats:
    angles = np.asarray(angles)
    return np.stack([np.sin(angles), np.cos(angles)], axis=1)
