"""Directions, lengths and balanced nominal tensions of the spokes.

Vectors stand in the frame of their own rim station, in the order (lateral, tangential, radial):
plus right, plus clockwise as seen from the right, plus outward. In this order the frame is
right-handed, so cross products need no special care.
"""

from dataclasses import dataclass
from functools import lru_cache

import networkx as nx
import numpy as np

from wheelsim.arrays import Bools, Floats
from wheelsim.wheel.lacing import lacing_graph, spoke_edges
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.rules import Fault
from wheelsim.wheel.sides import SIDES, SIGN, Side

LAT, TAN, RAD = 0, 1, 2


@dataclass(frozen=True, eq=False)
class Geometry:
    """The true, centred, nominally tensioned wheel as arrays, one row a spoke.

    Attributes
    ----------
    angle : (n,) ndarray
        Angle of each rim station, clockwise from the valve seen from the right. [rad]
    side : (n,) ndarray
        +1 right flange, -1 left.
    lever : (n, 3) ndarray
        Nipple seat from the section's centre. [m]
    hub : (n, 3) ndarray
        Hub hole from the section's centre. [m]
    axis : (n, 3) ndarray
        Unit vector from the seat to the hub hole.
    length : (n,) ndarray
        Seat to hub hole. [m]
    stiffness : (n,) ndarray
        Axial, E A / l of the butted spoke; 0 where it is missing. [N/m]
    tension : (n,) ndarray
        Nominal, of the complete wheel (a missing spoke's too), in equilibrium. [N]
    present : (n,) ndarray of bool
    """

    angle: Floats
    side: Floats
    lever: Floats
    hub: Floats
    axis: Floats
    length: Floats
    stiffness: Floats
    tension: Floats
    present: Bools


@lru_cache(maxsize=64)
def wheel_geometry(wheel: Wheel) -> Geometry:
    """Geometry of a wheel, read off its lacing graph; results are shared, so don't write to them."""
    return geometry_of(wheel, lacing_graph(wheel.rim, wheel.spokes))


def geometry_of(wheel: Wheel, graph: nx.Graph) -> Geometry:
    """Geometry of the wheel laced as ``graph`` says.

    Raises
    ------
    LacingError
        If a hole holds no spoke or more than one.
    """
    angle, side, lever, hub, axis, length, present = _placed(wheel, graph)
    stiffness = np.zeros(wheel.n)
    for name, sign in SIGN.items():
        mine = side == sign
        stiffness[mine] = _axial_stiffness(wheel.spokes.modulus, wheel.spokes.side(name).segments, length[mine])
    tension = _balanced_tension(wheel, side, lever, axis, angle)
    stiffness = np.where(present, stiffness, 0.0)
    arrays = (angle, side, lever, hub, axis, length, stiffness, tension, present)
    for array in arrays:
        array.flags.writeable = False
    return Geometry(*arrays)


def _placed(wheel: Wheel, graph: nx.Graph) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats, Bools]:
    """Where each spoke runs: angle, side, lever, hub, axis, length, present."""
    edges = spoke_edges(graph)
    rim = wheel.rim
    angle = np.array([graph.nodes[rim_node]["angle"] for rim_node, _, _ in edges])
    hole_angle = np.array([graph.nodes[hole]["angle"] for _, hole, _ in edges])
    side = np.array([1.0 if data["side"] == "right" else -1.0 for _, _, data in edges])
    ahead = np.array([data["ahead"] for _, _, data in edges])
    present = np.array([not data["missing"] for _, _, data in edges])
    n = len(edges)
    lever = np.zeros((n, 3))
    lever[:, LAT] = rim.seat_offset + side * rim.drilling_offset
    lever[:, RAD] = rim.seat_radius - rim.section_radius
    hub_radius, hub_lateral = np.empty(n), np.empty(n)
    for name, sign in SIGN.items():
        mine = side == sign
        flange = wheel.hub.flange(name)
        trailing, leading = wheel.spokes.side(name).spoke_line
        hub_radius[mine] = flange.hole_circle / 2
        hub_lateral[mine] = sign * (flange.offset + np.where(ahead[mine] > 0, trailing, leading))
    turn = hole_angle - angle
    hub = np.stack([hub_lateral, hub_radius * np.sin(turn), hub_radius * np.cos(turn) - rim.section_radius], axis=1)
    run = hub - lever
    length = np.linalg.norm(run, axis=1)
    return angle, side, lever, hub, run / length[:, None], length, present


def _axial_stiffness(modulus: float, segments: tuple[tuple[float, float], ...], length: Floats) -> Floats:
    """E A / l of spokes in series; (diameter, length) proportions are scaled to each length. [N/m]"""
    diameters, parts = np.array(segments, dtype=float).T
    area = np.pi * diameters**2 / 4
    return modulus / float(np.sum(parts / parts.sum() / area)) / length


def _balanced_tension(wheel: Wheel, side: Floats, lever: Floats, axis: Floats, angle: Floats) -> Floats:
    """Nominal tensions in equilibrium on a free rigid rim, the named side's mean as given. [N]"""
    sign = 1.0 if wheel.tension_side == "right" else -1.0
    named = side == sign
    pull = np.array([axis[named, LAT].sum(), axis[~named, LAT].sum()])
    tension = np.where(named, wheel.tension, -wheel.tension * pull[0] / pull[1])
    # Patterns without symmetry (uneven holes) need a little more than side means: the least
    # change that brings all six resultants to zero and keeps the named side's mean.
    rows = np.vstack([pull_resultants(angle, wheel.rim.section_radius, lever, axis), named / named.sum()])
    rest = rows @ tension
    rest[6] = 0.0
    if np.abs(rest).max() > 1e-12 * max(wheel.tension, 1.0):
        tension = tension - np.linalg.lstsq(rows, rest, rcond=1e-10)[0]
    return tension


def pull_resultants(angle: Floats, radius: float | Floats, lever: Floats, force: Floats) -> Floats:
    """Resultant of one force a station, each column for a unit of its own station's force.

    Parameters
    ----------
    angle : (n,) ndarray
        [rad]
    radius : float or (n,) ndarray
        Of the section's centre. [m]
    lever : (n, 3) ndarray
        Point of application from the section's centre, station frame. [m]
    force : (n, 3) ndarray
        Station frame.

    Returns
    -------
    (6, n) ndarray
        Force along (right, forward, up) at zero angle up, then moment about the same axes
        through the hub's middle.
    """
    arm = lever + np.stack([np.zeros_like(angle), np.zeros_like(angle), np.broadcast_to(radius, angle.shape)], axis=1)
    s, c = np.sin(angle), np.cos(angle)
    zero, one = np.zeros_like(angle), np.ones_like(angle)
    # Columns: the station's (lateral, tangential, radial) axes in (right, forward, up).
    frame = np.array([[one, zero, zero], [zero, c, s], [zero, -s, c]])
    global_force = np.einsum("ijn,nj->in", frame, force)
    global_moment = np.einsum("ijn,nj->in", frame, np.cross(arm, force))
    return np.vstack([global_force, global_moment])


def geometry_faults(wheel: Wheel) -> list[Fault]:
    """Faults of the rules that need hub, rim and spokes together."""
    faults = []
    angle, side, lever, _, axis, length, _ = _placed(wheel, lacing_graph(wheel.rim, wheel.spokes))
    for name, sign in SIGN.items():
        mine = side == sign
        if wheel.hub.flange(name).hole_circle / 2 > wheel.rim.seat_radius - 0.02:
            faults.append(Fault(f"hub.{name}.hole_circle", wheel.hub.flange(name).hole_circle,
                                "expected to lie at least 20 mm inside the nipple seats"))
        if (sign * axis[mine, LAT]).min() <= 1e-4:
            faults.append(Fault(f"hub.{name}.offset", wheel.hub.flange(name).offset,
                                f"expected further out than the {name} nipple seats, so that its spokes pull {name}"))
        segments = wheel.spokes.side(name).segments
        if len(segments) > 1:
            written = sum(part for _, part in segments)
            middle = float(np.median(length[mine]))
            if abs(written - middle) > 0.010:
                faults.append(Fault(f"spokes.{name}.segments", round(written * 1e3, 1),
                                    f"seat to hub hole is {middle * 1e3:.1f} mm; lengths are scaled to it", "warning"))
    if not any(f.level == "error" for f in faults):
        tension = _balanced_tension(wheel, side, lever, axis, angle)
        if wheel.tension > 0 and tension.min() <= 0:
            faults.append(Fault("tension", wheel.tension, f"no balanced tension keeps every spoke pulling with this "
                                f"pattern of sides (spoke {int(tension.argmin()) + 1} would push)"))
    return faults


def side_name(sign: float) -> Side:
    """ "right" or "left" for +1 or -1."""
    return SIDES[0] if sign > 0 else SIDES[1]
