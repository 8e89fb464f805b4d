"""Linear response of a wheel to small turns of its nipples, from its factored stiffness."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.structure import Factored, pull_direction
from wheelsim.wheel.geometry import LAT, RAD


@dataclass(frozen=True, eq=False)
class Influence:
    """Change per turn of one nipple (influence matrices). Row: where it is observed; column: the nipple turned.

    Attributes
    ----------
    lateral, radial : (n, n) ndarray
        Shift of the section's centre, plus right and plus outward. [m/turn]
    tension : (n, n) ndarray
        [N/turn]
    twist : (n, n) ndarray
        Rotation of the rim's section about the tangent, right-hand rule toward rising spoke numbers. [rad/turn]
    out : float
        Distance of the rim's edge outside the section's centre. [m]
    """

    lateral: Floats
    radial: Floats
    tension: Floats
    twist: Floats
    out: float = 0.0

    @cached_property
    def edge(self) -> Floats:
        """Lateral shift of the rim's edge: that of the section's centre plus the part from twist, (n, n). [m/turn]"""
        return self.lateral + self.out * self.twist if self.out else self.lateral


def influence_of(factor: Factored, axis: Floats, lever: Floats, stiffness: Floats, pitch: float,
                 tilted: Floats | None = None, out: float = 0.0) -> Influence:
    """Influence matrices from a factored stiffness.

    Parameters
    ----------
    factor : Factor or Updated
    axis, lever : (n, 3) ndarray
        Of the spokes, as in ``Geometry``. [1, m]
    stiffness : (n,) ndarray
        Of the spokes; 0 for one that does not pull. [N/m]
    pitch : float
        Of the thread. [m/turn]
    tilted : (n, 3, 3) ndarray, optional
        Rotation of each station's displacement from the factor's frame to the frame fixed to the hub.
    out : float
        As in ``Influence``. [m]
    """
    pull = pull_direction(axis, lever)
    n = len(pull)
    load = np.zeros((n, 6, n))
    load[np.arange(n), :, np.arange(n)] = (stiffness * pitch)[:, None] * pull
    shift = factor.solve(load)
    tension = -stiffness[:, None] * (pull[:, None, :] @ shift)[:, 0]
    tension[np.arange(n), np.arange(n)] += stiffness * pitch
    moved = shift[:, :3] if tilted is None else tilted @ shift[:, :3]
    return Influence(moved[:, LAT], moved[:, RAD], tension, shift[:, 4], out)


def compression(tension: Floats, axis: Floats) -> float:
    """Mean hoop compression from spoke tensions (n,): sum of their radial components over 2 pi. [N]"""
    return float(-(tension * axis[:, RAD]).sum() / (2 * np.pi))
