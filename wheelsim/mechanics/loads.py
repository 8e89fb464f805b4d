"""What a wheel in use does to its spokes: load on the ground, from the side, torque.

Linear about a state, hub held. A load acts at one station, on the section's centre or so far outside it
as the ground is; the worst place is looked for among the stations.

References
----------
M. Ford, PhD dissertation, Northwestern University, 2018: first slack spoke, share of the loaded spoke.
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
TWIST = 4  # turning about the rim's run, among a station's six
USUAL_TYRE = 0.028  # height [m]
DIRECTIONS: dict[Kind, tuple[int, float]] = {
    "radial": (RAD, -1.0), "right": (LAT, 1.0), "left": (LAT, -1.0), "torque": (TAN, 1.0),
}


@dataclass(frozen=True, eq=False)
class Loading:
    """Tension changes per newton of one kind of load.

    Attributes
    ----------
    tension : (n, n) ndarray
        Row the spoke, column the station loaded. [N/N]
    share : (n, n) ndarray
        Part of the load that each spoke takes up along it: its tension change times its direction
        cosine, against the load.
    """

    kind: Kind
    tension: Floats
    share: Floats


def loading(wheel: Wheel, kind: Kind, lever: float = 0.0) -> Loading:
    """Tension changes under a load at each station, at the nominal prestress.

    Parameters
    ----------
    wheel : Wheel
    kind : "radial", "right", "left" or "torque"
        The ground's push toward the axle; a push to one side; a force on the rim along it,
        clockwise seen from the right, hub held (braking; driving is the reverse).
    lever : float
        How far outside the section's centre a push to one side acts: it twists the rim too. [m]

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
    """How far outside the section's centre a push at the ground acts: the tyre's height, and the rim's edge. [m]

    Notes
    -----
    A tyre stands about as high as it is wide; without one stated it is ``USUAL_TYRE`` (common practice, no source).
    The rim's outer edge is taken as far outside the section's centre as the nipple seats lie inside it.
    """
    tyre = wheel.tyre
    height = USUAL_TYRE if tyre is None else tyre.height or tyre.width or USUAL_TYRE
    return height + max(wheel.rim.section_radius - wheel.rim.seat_radius, 0.0)


def first_slack(wheel: Wheel, kind: Kind, tension: ArrayLike | None = None, *, lever: float = 0.0,
                radial: float = 0.0) -> tuple[float, int, int]:
    """Least load of a kind at which a spoke goes slack.

    Parameters
    ----------
    wheel : Wheel
    kind : str
        As in ``loading``.
    tension : (n,) array_like, optional
        Of the spokes before the load; default the nominal. [N]
    lever : float
        As in ``loading``. [m]
    radial : float
        Load between ground and axle that acts at the same station all the while. [N]

    Returns
    -------
    load : float
        Infinite when no spoke loses tension; nought where the radial load alone makes one slack. [N]
    spoke, station : int
        Numbers from 1.
    """
    found = loading(wheel, kind, lever)
    rest = resting(wheel)
    there = np.repeat((rest.tension if tension is None else np.asarray(tension, dtype=float))[:, None], wheel.n, axis=1)
    if radial:
        there = there + radial * loading(wheel, "radial").tension
    losing = (found.tension < -1e-12) & rest.present[:, None]
    ratio = np.where(losing, np.maximum(there, 0.0) / np.where(losing, -found.tension, 1.0), np.inf)
    spoke, station = np.unravel_index(int(ratio.argmin()), ratio.shape)
    return float(ratio[spoke, station]), int(spoke) + 1, int(station) + 1


def least_tension(wheel: Wheel, radial: float) -> float:
    """Least tension at which no spoke goes slack under a radial wheel load anywhere round the rim.

    Parameters
    ----------
    wheel : Wheel
    radial : float
        Load between ground and axle. [N]

    Returns
    -------
    float
        A spoke with more stays taut. [N]
    """
    return float(radial * max(0.0, -loading(wheel, "radial").tension.min()))
