"""How a wheel whose stiffness is factored answers small turns of its nipples."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.structure import Factored, pull_direction
from wheelsim.wheel.geometry import LAT, RAD


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
    out : float
        How far outside the section's centre the edge lies. [m]
    """

    lateral: Floats
    radial: Floats
    tension: Floats
    twist: Floats
    out: float = 0.0

    @cached_property
    def edge(self) -> Floats:
        """Lateral shift of the rim's edge, which the section's twist moves too, (n, n). [m/turn]"""
        return self.lateral + self.out * self.twist if self.out else self.lateral


def influence_of(factor: Factored, axis: Floats, lever: Floats, stiffness: Floats, pitch: float,
                 tilted: Floats | None = None, out: float = 0.0) -> Influence:
    """Influence of a wheel whose stiffness is factored, spokes as given (n, ...).

    ``tilted`` (n, 3, 3) turns shifts of each station in the factor's frame into those that the hub sees.
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
    """Mean hoop compression that spoke pulls put in the rim, sum of T c2 / 2 pi. [N]"""
    return float(-(tension * axis[:, RAD]).sum() / (2 * np.pi))
