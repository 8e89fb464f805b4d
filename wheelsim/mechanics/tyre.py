"""What a tyre at pressure does to the wheel it sits on: it squeezes the rim evenly, all round."""

from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.influence import resting
from wheelsim.mechanics.structure import pull_direction
from wheelsim.wheel.geometry import LAT, RAD, wheel_geometry
from wheelsim.wheel.parts import Wheel

PRACTICE = (0.10, 0.20)  # share of the tension a tyre at pressure takes: common practice, no source
THEORY_SD = 0.5  # of what membrane theory says: cords, pressure, how tight the beads sit; our own choice


@dataclass(frozen=True, eq=False)
class Squeeze:
    """Changes (n,) under a tyre that takes one newton off the mean tension.

    Lateral and radial shift of the rim [m/N], tension of each spoke [N/N].
    """

    lateral: Floats
    radial: Floats
    tension: Floats


def squeeze(wheel: Wheel) -> Squeeze:
    """Changes under an even radial squeeze of the rim, at the nominal prestress."""
    lateral, radial, tension = _pressed(wheel)
    scale = -tension.sum() / np.count_nonzero(tension)
    return Squeeze(lateral / scale, radial / scale, tension / scale)


def _pressed(wheel: Wheel) -> tuple[Floats, Floats, Floats]:
    """Lateral, radial [m/N] and tension [N/N] change of each station per newton of hoop force pressed on the rim."""
    rest, g = resting(wheel), wheel_geometry(wheel)
    load = np.zeros((wheel.n, 6))
    # A station's share of the circumference, in radians: a hoop force S is a pull of S per radian.
    load[:, RAD] = -((np.roll(g.angle, -1) - np.roll(g.angle, 1)) % (2 * np.pi)) / 2
    shift = rest.factor.solve(load)
    return shift[:, LAT], shift[:, RAD], -rest.stiffness * np.sum(pull_direction(rest.axis, rest.lever) * shift, axis=1)


def membrane_loss(wheel: Wheel) -> float | None:
    """Mean tension that a tyre takes by membrane theory, None if its pressure or width isn't known. [N]

    Notes
    -----
    A tube of radius a at pressure p pushes its halves apart with p pi a^2; a casing of cords at 45
    degrees pulls along its run with twice that, so the rim is pressed with the difference, p pi a^2.
    Textbook membrane theory, value from memory. Bead wires that sit tight press harder.
    """
    tyre = wheel.tyre
    if tyre is None or tyre.pressure is None or tyre.width is None:
        return None
    hoop = tyre.pressure * np.pi * tyre.width**2 / 4
    tension = _pressed(wheel)[2]
    return float(-hoop * tension.sum() / np.count_nonzero(tension))


def expected_loss(wheel: Wheel) -> tuple[float, float]:
    """Share of the mean tension that an inflated tyre takes, and its standard deviation.

    Without pressure and width practice alone speaks. With them theory and practice are equally likely to be
    right, each with its own width, and the mean and standard deviation are those of both together: a tight
    bead presses harder than a membrane, a loose one no harder.
    """
    middle, width = sum(PRACTICE) / 2, (PRACTICE[1] - PRACTICE[0]) / 2
    theory = membrane_loss(wheel)
    g = wheel_geometry(wheel)
    mean = float(g.tension[g.present].mean())
    if theory is None or mean <= 0:
        return middle, width
    share = min(theory / mean, 1.0)
    return (middle + share) / 2, float(np.sqrt((width**2 + (THEORY_SD * share) ** 2) / 2 + ((middle - share) / 2) ** 2))
