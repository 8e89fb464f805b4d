"""Directions, lengths and balanced nominal tensions of the spokes.

Vectors stand in the frame of their own rim station, as in ``placing``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from wheelsim.arrays import Bools, Floats
from wheelsim.wheel.lacing import Laced, laced_spokes
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.placing import LAT as LAT
from wheelsim.wheel.placing import RAD as RAD
from wheelsim.wheel.placing import TAN as TAN
from wheelsim.wheel.placing import balanced_tension, placed
from wheelsim.wheel.placing import pull_resultants as pull_resultants
from wheelsim.wheel.sides import SIDES, SIGN, Side


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
    """Geometry of a wheel, read off its lacing; results are shared, so don't write to them."""
    return geometry_of(wheel, laced_spokes(wheel.rim.hole_angles, wheel.spokes))


def geometry_of(wheel: Wheel, laced: Sequence[Laced]) -> Geometry:
    """Geometry of the wheel laced as the rows say, one a spoke in order."""
    angle, side, lever, hub, axis, length, present = placed(wheel.hub, wheel.rim, wheel.spokes, laced)
    stiffness = np.zeros(wheel.n)
    for name, sign in SIGN.items():
        mine = side == sign
        stiffness[mine] = _axial_stiffness(wheel.spokes.modulus, wheel.spokes.side(name).segments, length[mine])
    tension = balanced_tension(wheel.tension, side == SIGN[wheel.tension_side], wheel.rim.section_radius, lever, axis,
                               angle)
    stiffness = np.where(present, stiffness, 0.0)
    arrays = (angle, side, lever, hub, axis, length, stiffness, tension, present)
    for array in arrays:
        array.flags.writeable = False
    return Geometry(*arrays)


def _axial_stiffness(modulus: float, segments: tuple[tuple[float, float], ...], length: Floats) -> Floats:
    """E A / l of spokes in series; (diameter, length) proportions are scaled to each length. [N/m]"""
    diameters, parts = np.array(segments, dtype=float).T
    area = np.pi * diameters**2 / 4
    return modulus / float(np.sum(parts / parts.sum() / area)) / length


def side_name(sign: float) -> Side:
    """ "right" or "left" for +1 or -1."""
    return SIDES[0] if sign > 0 else SIDES[1]
