"""Wind-up: how far a spoke twists before its nipple moves on the thread."""

import math

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import SIDES, Wheel

FRICTION = 0.12  # coefficient, oiled steel on brass: 0.10 to 0.15, Shigley, table of thread friction (from memory)
HALF_ANGLE = math.radians(30)  # flank angle of a 60 degree thread [rad]
POISSON = 0.3  # steel: shear modulus E / (2 (1 + nu))


def screw_torque(load: float, diameter: float, lead: float, friction: float, half_angle: float = 0.0, *,
                 against: bool = True) -> float:
    """Torque that turns a nut on a loaded screw: thread friction only, no friction of a collar or seat.

    Parameters
    ----------
    load : float
        Along the screw. [N]
    diameter : float
        Mean diameter of the thread. [m]
    lead : float
        Advance per turn. [m]
    friction : float
        Coefficient.
    half_angle : float
        Flank angle; 0 for a square thread. [rad]
    against : bool
        True: the nut moves against the load (tighten); False: with it (loosen).

    Returns
    -------
    float
        Positive in the direction of turning; for loosening negative where the load drives the screw back by
        itself. [N m]

    References
    ----------
    R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, 8th ed., eqs. 8-1, 8-2 and 8-5 (numbers of
    the equations from memory).
    """
    rubs = friction / math.cos(half_angle)
    sign = 1.0 if against else -1.0
    return load * diameter / 2 * (sign * lead + math.pi * rubs * diameter) / (math.pi * diameter - sign * rubs * lead)


def wind_up(wheel: Wheel, tension: Floats, *, tighten: bool = True) -> Floats:
    """How far each spoke twists before its nipple moves on the thread.

    Parameters
    ----------
    wheel : Wheel
    tension : (n,) ndarray
        Of the spokes. [N]
    tighten : bool
        True for tightening, False for loosening (less, because the tension helps).

    Returns
    -------
    (n,) ndarray
        Twist of the spoke at its nipple, 0 where the spoke is missing or slack. [turn]

    Notes
    -----
    Torsion of a stepped shaft by the thread's friction torque. Assumes that the elbow holds the spoke; a straight-pull
    spoke may turn in the hub instead. The mean diameter of the rolled thread is taken as that of the wire it is rolled
    on (the spoke's first segment). Friction of real threads, dry or glued, may be half or twice the value used.
    """
    g, spokes = wheel_geometry(wheel), wheel.spokes
    shear = spokes.modulus / (2 * (1 + POISSON))
    out = np.zeros(wheel.n)
    for side in SIDES:
        mine = wheel.pulling(side)
        diameters, parts = np.array(spokes.side(side).segments, dtype=float).T
        # Twist per torque of shafts in series: sum of l / (G J), J = pi d^4 / 32.
        compliance = g.length[mine] * float(np.sum(parts / parts.sum() * 32 / (math.pi * diameters**4))) / shear
        torque = screw_torque(1.0, float(diameters[0]), spokes.thread_pitch, FRICTION, HALF_ANGLE, against=tighten)
        out[mine] = np.maximum(torque, 0.0) * np.maximum(np.asarray(tension)[mine], 0.0) * compliance / (2 * math.pi)
    return out
