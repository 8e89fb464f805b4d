"""Effect of an inflated tyre on the wheel: an even radial pressure on the rim that lowers the spokes' tension."""

from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.influence import resting
from wheelsim.mechanics.structure import pull_direction
from wheelsim.wheel.geometry import LAT, RAD, wheel_geometry
from wheelsim.wheel.parts import Wheel

PRACTICE = (0.10, 0.20)  # share of the mean tension lost when the tyre is inflated: common practice, no source
# Standard deviation of the loss by membrane theory, as a share of it. Own choice: cord angle, pressure and the fit of
# the beads are rarely known better.
THEORY_SD = 0.5


@dataclass(frozen=True, eq=False)
class Squeeze:
    """Changes per newton that the tyre takes off the mean tension; linear."""

    lateral: Floats  # (n,) shift of the rim at its section's centre, plus right [m/N]
    radial: Floats  # (n,) plus outward [m/N]
    tension: Floats  # (n,) of each spoke, mean -1 [N/N]


def squeeze(wheel: Wheel) -> Squeeze:
    """Changes under an even radial pressure on the rim, about the equilibrium of ``resting``."""
    lateral, radial, tension = _pressed(wheel)
    scale = -tension.sum() / np.count_nonzero(tension)
    return Squeeze(lateral / scale, radial / scale, tension / scale)


def _pressed(wheel: Wheel) -> tuple[Floats, Floats, Floats]:
    """Lateral, radial [m/N] and tension [N/N] change at each station, (n,), per newton of the tyre's hoop force."""
    rest, g = resting(wheel), wheel_geometry(wheel)
    load = np.zeros((wheel.n, 6))
    # Each station takes its share of the circumference: a hoop force S presses inward with S per radian.
    load[:, RAD] = -((np.roll(g.angle, -1) - np.roll(g.angle, 1)) % (2 * np.pi)) / 2
    shift = rest.factor.solve(load)
    return shift[:, LAT], shift[:, RAD], -rest.stiffness * np.sum(pull_direction(rest.axis, rest.lever) * shift, axis=1)


def membrane_loss(wheel: Wheel) -> float | None:
    """Loss of mean tension by membrane theory; None if the tyre's pressure or width isn't known. [N]

    Notes
    -----
    The air in a tube of radius a at pressure p pushes a cut through it apart with p pi a^2. A casing with cords at 45
    degrees pulls along the tube with twice that. The difference, p pi a^2, is the hoop force that presses on the rim.
    Textbook membrane theory, result from memory. Tight beads press harder than this.
    """
    tyre = wheel.tyre
    if tyre is None or tyre.pressure is None or tyre.width is None:
        return None
    hoop = tyre.pressure * np.pi * tyre.width**2 / 4
    tension = _pressed(wheel)[2]
    return float(-hoop * tension.sum() / np.count_nonzero(tension))


def expected_loss(wheel: Wheel) -> tuple[float, float]:
    """Expected share of the mean tension lost to an inflated tyre, and its standard deviation.

    Notes
    -----
    Without pressure and width: the middle and half the width of the range reported from practice. With them: mean and
    standard deviation of a mixture of practice and membrane theory with equal weights (own choice), since tight beads
    press harder than the membrane and loose ones don't.
    """
    middle, width = sum(PRACTICE) / 2, (PRACTICE[1] - PRACTICE[0]) / 2
    theory = membrane_loss(wheel)
    g = wheel_geometry(wheel)
    mean = float(g.tension[g.present].mean())
    if theory is None or mean <= 0:
        return middle, width
    share = min(theory / mean, 1.0)
    return (middle + share) / 2, float(np.sqrt((width**2 + (THEORY_SD * share) ** 2) / 2 + ((middle - share) / 2) ** 2))
