"""What a small turn of each nipple does, and how stiff the wheel is at a point."""

from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.ring import ring_of
from wheelsim.mechanics.structure import Factor, Factored, factor_wheel, pull_direction, spoke_stiffness
from wheelsim.wheel.geometry import LAT, RAD, Geometry, wheel_geometry
from wheelsim.wheel.parts import Wheel


@dataclass(frozen=True, eq=False)
class Influence:
    """Change per turn: row where it is felt (spoke stations, section's centre), column the nipple.

    Attributes
    ----------
    lateral, radial : (n, n) ndarray
        Rim shift, plus right and plus outward. [m/turn]
    tension : (n, n) ndarray
        [N/turn]
    twist : (n, n) ndarray
        Rotation of the rim's section about its tangent, by the right-hand rule along the direction
        of rising spoke numbers. [rad/turn]
    """

    lateral: Floats
    radial: Floats
    tension: Floats
    twist: Floats


def influence_of(factor: Factored, axis: Floats, lever: Floats, stiffness: Floats, pitch: float) -> Influence:
    """Influence of a wheel whose stiffness is factored, spokes as given (n, ...)."""
    pull = pull_direction(axis, lever)
    n = len(pull)
    load = np.zeros((n, 6, n))
    load[np.arange(n), :, np.arange(n)] = (stiffness * pitch)[:, None] * pull
    shift = factor.solve(load)
    tension = -stiffness[:, None] * (pull[:, None, :] @ shift)[:, 0]
    tension[np.arange(n), np.arange(n)] += stiffness * pitch
    return Influence(shift[:, LAT], shift[:, RAD], tension, shift[:, 4])


def nominal_factor(wheel: Wheel) -> tuple[Factor, Geometry]:
    """Factor of the wheel at its nominal prestress, and its geometry."""
    g = wheel_geometry(wheel)
    tension = np.where(g.present, g.tension, 0.0)
    spokes = spoke_stiffness(g.axis, g.lever, g.length, g.stiffness, tension)
    return factor_wheel(ring_of(wheel.rim), spokes, compression(tension, g.axis)), g


def compression(tension: Floats, axis: Floats) -> float:
    """Mean hoop compression that spoke pulls put in the rim, sum of T c2 / 2 pi. [N]"""
    return float(-(tension * axis[:, RAD]).sum() / (2 * np.pi))


def influence(wheel: Wheel) -> Influence:
    """Rim shift and tension change per turn of every nipple, at the nominal prestress.

    Parameters
    ----------
    wheel : Wheel

    Returns
    -------
    Influence

    Raises
    ------
    Unstable
        If the wheel buckles at its nominal tension.

    Notes
    -----
    Linear, nothing slack: 1 to 2 per cent off at a quarter turn of a side. ``predict`` follows larger turns.
    """
    factor, g = nominal_factor(wheel)
    return influence_of(factor, g.axis, g.lever, g.stiffness, wheel.spokes.thread_pitch)


def point_stiffness(wheel: Wheel, spoke: int) -> tuple[float, float]:
    """Stiffness against a force at the section's centre at one spoke, hub held.

    Parameters
    ----------
    wheel : Wheel
    spoke : int
        Number, from 1.

    Returns
    -------
    lateral, radial : float
        At the wheel's own prestress. [N/m]
    """
    if not 1 <= spoke <= wheel.n:
        raise ValueError(f"spoke {spoke}: expected 1 to {wheel.n}")
    factor, _ = nominal_factor(wheel)
    load = np.zeros((wheel.n, 6, 2))
    load[spoke - 1, LAT, 0] = load[spoke - 1, RAD, 1] = 1.0
    shift = factor.solve(load)[spoke - 1]
    return 1 / float(shift[LAT, 0]), 1 / float(shift[RAD, 1])
