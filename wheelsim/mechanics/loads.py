"""Spoke tensions under load in use: weight on the ground, a push from the side, torque.

Linear about an equilibrium, hub held. A load acts at one spoke station, on the section's centre or at a given distance
outside it (the ground); the worst place is searched among the stations only, not between them.

References
----------
M. Ford, PhD dissertation, Northwestern University, 2018 (first slack spoke, share of the load that a spoke takes).
"""

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Floats
from wheelsim.mechanics.influence import resting
from wheelsim.mechanics.structure import pull_direction
from wheelsim.wheel.geometry import LAT, RAD, TAN
from wheelsim.wheel.parts import Wheel

Kind: TypeAlias = Literal["radial", "right", "left", "torque"]
TWIST = 4  # index of the rotation about the tangent among a station's six degrees of freedom
USUAL_TYRE = 0.028  # height of a tyre where none is stated: common practice, no source [m]
DIRECTIONS: dict[Kind, tuple[int, float]] = {
    "radial": (RAD, -1.0), "right": (LAT, 1.0), "left": (LAT, -1.0), "torque": (TAN, 1.0),
}


@dataclass(frozen=True, eq=False)
class Loading:
    """Tension changes per newton of one kind of load.

    Attributes
    ----------
    kind : "radial", "right", "left" or "torque"
    tension : (n, n) ndarray
        Row: the spoke; column: the station loaded. [N/N]
    share : (n, n) ndarray
        Part of the load that the spoke carries: the component of its tension change along the load's direction, per
        newton of load.
    """

    kind: Kind
    tension: Floats
    share: Floats


def loading(wheel: Wheel, kind: Kind, lever: float = 0.0) -> Loading:
    """Tension changes under a load at each station, about the equilibrium of ``resting``.

    Parameters
    ----------
    wheel : Wheel
    kind : "radial", "right", "left" or "torque"
        Force of the ground toward the axle; a push to the right or left; a tangential force on the rim, clockwise
        seen from the right (braking; driving is the reverse).
    lever : float
        For a push to one side: distance of its line of action outside the section's centre. It twists the rim too. [m]

    Returns
    -------
    Loading
    """
    component, sign = DIRECTIONS[kind]
    rest, n = resting(wheel), wheel.n
    load = np.zeros((n, 6, n))
    load[np.arange(n), component, np.arange(n)] = sign
    if component == LAT:
        load[np.arange(n), TWIST, np.arange(n)] = sign * lever
    shift = rest.factor.solve(load)
    tension = -rest.stiffness[:, None] * np.einsum("ia,iaj->ij", pull_direction(rest.axis, rest.lever), shift)
    return Loading(kind, tension, -sign * rest.axis[:, component, None] * tension)


def ground_lever(wheel: Wheel) -> float:
    """Distance from the section's centre out to the ground: half the rim's depth and the tyre's height. [m]

    Notes
    -----
    A tyre is taken as high as it is wide; where none is stated, ``USUAL_TYRE`` (common practice, no source). The rim's
    outer edge is taken as far outside the section's centre as the nipple seats lie inside it (own choice).
    """
    tyre = wheel.tyre
    height = USUAL_TYRE if tyre is None else tyre.height or tyre.width or USUAL_TYRE
    return height + max(wheel.rim.section_radius - wheel.rim.seat_radius, 0.0)


def first_slack(wheel: Wheel, kind: Kind, tension: ArrayLike | None = None, *, lever: float = 0.0,
                radial: float = 0.0) -> tuple[float, int, int]:
    """Smallest load of one kind, at the worst station, at which a spoke goes slack.

    Parameters
    ----------
    wheel : Wheel
    kind : str
        As in ``loading``.
    tension : (n,) array_like, optional
        Of the spokes before the load; default those of ``resting``. [N]
    lever : float
        As in ``loading``. [m]
    radial : float
        Constant load between ground and axle, at the same station. [N]

    Returns
    -------
    load : float
        Infinite if no spoke loses tension; 0 if the radial load alone makes one slack. [N]
    spoke, station : int
        The spoke that goes slack and the station loaded, numbers from 1; of several pairs alike, the first.

    Notes
    -----
    Linear up to the first slack spoke; says nothing about loads beyond.
    """
    found = loading(wheel, kind, lever)
    rest = resting(wheel)
    there = np.repeat((rest.tension if tension is None else np.asarray(tension, dtype=float))[:, None], wheel.n, axis=1)
    if radial:
        there = there + radial * loading(wheel, "radial").tension
    losing = (found.tension < -1e-12) & rest.present[:, None]
    ratio = np.where(losing, np.maximum(there, 0.0) / np.where(losing, -found.tension, 1.0), np.inf)
    # Spokes that the lacing's symmetry makes equal differ by rounding alone: the first of them, on every machine.
    spoke, station = np.unravel_index(int((ratio <= ratio.min() * (1 + 1e-9)).argmax()), ratio.shape)
    return float(ratio[spoke, station]), int(spoke) + 1, int(station) + 1


def least_tension(wheel: Wheel, radial: float) -> float:
    """Tension at and above which no spoke goes slack under a radial load, wherever on the rim it acts.

    Parameters
    ----------
    wheel : Wheel
    radial : float
        Load between ground and axle. [N]

    Returns
    -------
    float
        The largest tension that any spoke loses under this load. [N]
    """
    return float(radial * max(0.0, -loading(wheel, "radial").tension.min()))
