"""Where the spokes of a lacing run, the tensions that balance, and the rules on both.

Vectors stand in the frame of their own rim station, in the order (lateral, tangential, radial):
plus right, plus clockwise as seen from the right, plus outward. In this order the frame is
right-handed, so cross products need no special care.
"""

from collections.abc import Sequence

import numpy as np

from wheelsim.arrays import Bools, Floats
from wheelsim.wheel.hub_rim_spokes import Hub, Rim, Spokes
from wheelsim.wheel.lacing import Laced, laced_spokes
from wheelsim.wheel.rules import Fault
from wheelsim.wheel.sides import SIGN, Side

LAT, TAN, RAD = 0, 1, 2


def placed(hub: Hub, rim: Rim, spokes: Spokes,
           laced: Sequence[Laced]) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats, Bools]:
    """Where each spoke runs: angle, side, lever, hub, axis, length, present."""
    angle = np.array([row.rim_angle for row in laced])
    hole_angle = np.array([row.hub_angle for row in laced])
    side = np.array([float(SIGN[row.side]) for row in laced])
    ahead = np.array([row.ahead for row in laced])
    present = np.array([not row.missing for row in laced])
    n = len(laced)
    lever = np.zeros((n, 3))
    lever[:, LAT] = rim.seat_offset + side * rim.drilling_offset
    lever[:, RAD] = rim.seat_radius - rim.section_radius
    hub_radius, hub_lateral = np.empty(n), np.empty(n)
    for name, sign in SIGN.items():
        mine = side == sign
        flange = hub.flange(name)
        trailing, leading = spokes.side(name).spoke_line
        hub_radius[mine] = flange.hole_circle / 2
        hub_lateral[mine] = sign * (flange.offset + np.where(ahead[mine] > 0, trailing, leading))
    turn = hole_angle - angle
    holes = np.stack([hub_lateral, hub_radius * np.sin(turn), hub_radius * np.cos(turn) - rim.section_radius], axis=1)
    run = holes - lever
    length = np.linalg.norm(run, axis=1)
    return angle, side, lever, holes, run / length[:, None], length, present


def balanced_tension(mean: float, named: Bools, radius: float, lever: Floats, axis: Floats, angle: Floats) -> Floats:
    """Tensions in equilibrium on a free rigid rim of that radius [m], the named side's mean as given. [N]"""
    pull = np.array([axis[named, LAT].sum(), axis[~named, LAT].sum()])
    tension = np.where(named, mean, -mean * pull[0] / pull[1])
    # Patterns without symmetry (uneven holes) need a little more than side means: the least
    # change that brings all six resultants to zero and keeps the named side's mean.
    rows = np.vstack([pull_resultants(angle, radius, lever, axis), named / named.sum()])
    rest = rows @ tension
    rest[6] = 0.0
    if np.abs(rest).max() > 1e-12 * max(mean, 1.0):
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


def placing_faults(hub: Hub, rim: Rim, spokes: Spokes, tension_side: Side, mean: float) -> list[Fault]:
    """Faults of the rules that need hub, rim and spokes together, and the mean tension of one side. [N]"""
    faults = []
    angle, side, lever, _, axis, length, _ = placed(hub, rim, spokes, laced_spokes(rim.hole_angles, spokes))
    for name, sign in SIGN.items():
        mine = side == sign
        if hub.flange(name).hole_circle / 2 > rim.seat_radius - 0.02:
            faults.append(Fault(f"hub.{name}.hole_circle", hub.flange(name).hole_circle,
                                "expected to lie at least 20 mm inside the nipple seats"))
        if (sign * axis[mine, LAT]).min() <= 1e-4:
            faults.append(Fault(f"hub.{name}.offset", hub.flange(name).offset,
                                f"expected further out than the {name} nipple seats, so that its spokes pull {name}"))
        segments = spokes.side(name).segments
        if len(segments) > 1:
            written = sum(part for _, part in segments)
            middle = float(np.median(length[mine]))
            if abs(written - middle) > 0.010:
                faults.append(Fault(f"spokes.{name}.segments", round(written * 1e3, 1),
                                    f"seat to hub hole is {middle * 1e3:.1f} mm; lengths are scaled to it", "warning"))
    if not any(f.level == "error" for f in faults):
        tension = balanced_tension(mean, side == SIGN[tension_side], rim.section_radius, lever, axis, angle)
        if mean > 0 and tension.min() <= 0:
            faults.append(Fault("tension", mean, f"no balanced tension keeps every spoke pulling with this "
                                f"pattern of sides (spoke {int(tension.argmin()) + 1} would push)"))
    return faults
