"""Linear effect of a small turn of each nipple, and the stiffness of the wheel at one spoke."""

from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Bools, Floats
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.response import Influence as Influence
from wheelsim.mechanics.response import compression as compression
from wheelsim.mechanics.response import influence_of as influence_of
from wheelsim.mechanics.ring import ring_of
from wheelsim.mechanics.structure import Factor, Factored, factor_wheel, spoke_stiffness
from wheelsim.wheel.geometry import LAT, RAD, Geometry, wheel_geometry
from wheelsim.wheel.parts import Wheel


def nominal_factor(wheel: Wheel) -> tuple[Factor, Geometry]:
    """Factored stiffness of the complete wheel at its nominal tensions, and its geometry."""
    g = wheel_geometry(wheel)
    tension = np.where(g.present, g.tension, 0.0)
    spokes = spoke_stiffness(g.axis, g.lever, g.length, g.stiffness, tension)
    return factor_wheel(ring_of(wheel.rim), spokes, compression(tension, g.axis)), g


@dataclass(frozen=True, eq=False)
class Resting:
    """A wheel in equilibrium, ready for linear questions about it."""

    factor: Factored  # of the tangent stiffness
    axis: Floats  # (n, 3) unit vector from seat to hub hole, station frame
    lever: Floats  # (n, 3) from the section's centre to the seat [m]
    stiffness: Floats  # (n,) of each spoke along itself [N/m]
    tension: Floats  # (n,) [N]
    present: Bools  # (n,) False where a spoke is missing


def resting(wheel: Wheel) -> Resting:
    """The wheel at its nominal tensions; if spokes are missing, the equilibrium that it finds without them.

    Raises
    ------
    Unstable
        If there is no stable equilibrium.
    """
    if not wheel.spokes.missing:
        factor, g = nominal_factor(wheel)
        return Resting(factor, g.axis, g.lever, g.stiffness, g.tension, g.present)
    state = equilibrium(wheel)
    factored, axis, lever, stiffness = state.factored
    return Resting(factored, axis, lever, stiffness, state.tension, wheel_geometry(wheel).present)


def influence(wheel: Wheel) -> Influence:
    """Rim shift and tension change per turn of every nipple, at the equilibrium of ``resting``.

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
    Linear, so no spoke may go slack: 1 to 2 per cent off at a quarter turn of a whole side, more in proportion.
    ``predict`` solves the nonlinear equilibrium for larger turns.
    """
    if wheel.spokes.missing:
        return equilibrium(wheel).influence
    factor, g = nominal_factor(wheel)
    return influence_of(factor, g.axis, g.lever, g.stiffness, wheel.spokes.thread_pitch, out=wheel.rim.edge_out)


def point_stiffness(wheel: Wheel, spoke: int) -> tuple[float, float]:
    """Stiffness against a force on the rim at one spoke, through the section's centre, hub held.

    Parameters
    ----------
    wheel : Wheel
    spoke : int
        Number, from 1.

    Returns
    -------
    lateral, radial : float
        Force per displacement of that point, at the equilibrium of ``resting``. [N/m]

    Raises
    ------
    ValueError
        If the wheel has no spoke of that number.
    Unstable
        If there is no stable equilibrium.
    """
    if not 1 <= spoke <= wheel.n:
        raise ValueError(f"spoke {spoke}: expected 1 to {wheel.n}")
    load = np.zeros((wheel.n, 6, 2))
    load[spoke - 1, LAT, 0] = load[spoke - 1, RAD, 1] = 1.0
    shift = resting(wheel).factor.solve(load)[spoke - 1]
    return 1 / float(shift[LAT, 0]), 1 / float(shift[RAD, 1])
