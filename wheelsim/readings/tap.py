"""Rim stiffness from the notes of the bare rim, hung free and tapped.

References
----------
M. Ford, PhD dissertation, Northwestern University, 2018, after S. Timoshenko, D. H. Young, Vibration
Problems in Engineering, 3rd ed., 1955: free ring, in its plane and out of it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.wheel.kinds import STIFFNESS_KEYS
from wheelsim.wheel.rules import Fault, Part, require

TONES = ("lateral2", "lateral3", "radial2")
MOST_STEPS, SETTLED = 50, 1e-10  # of Newton's method: steps at most, relative change at which it ends; own choice
TONE_SD = 0.005  # of a tone read off a phone or tuner: common practice, no source


@dataclass(frozen=True)
class Tones(Part):
    """What was heard and weighed.

    Parameters
    ----------
    radius : float
        Of the section's centre. [m]
    mass : float
        Of the bare rim. [kg]
    lateral2, lateral3 : float
        The two lowest tones when tapped from the side. [Hz]
    radial2 : float
        The lowest tone when tapped in the rim's plane. [Hz]
    height, width : float
        Of the section, radially and sideways: its parts' turning is then counted with; 0 leaves that out. [m]
    """

    radius: float
    mass: float
    lateral2: float
    lateral3: float
    radial2: float
    height: float = 0.0
    width: float = 0.0

    def _rules(self) -> Iterator[Fault | None]:
        yield require("radius", self.radius, 0.05, 0.6, unit="mm", scale=1e-3)
        yield require("mass", self.mass, 0.02, 10.0, unit="g", scale=1e-3)
        yield require("height", self.height, 0.0, 0.15, unit="mm", scale=1e-3)
        yield require("width", self.width, 0.0, 0.15, unit="mm", scale=1e-3)
        tones = [require(name, getattr(self, name), 1.0, 1e4, unit="Hz") for name in TONES]
        yield from tones
        if not any(tones) and not 8 / 3 < self.lateral3 / self.lateral2 < 4:
            low, high = self.lateral2 * 8 / 3, self.lateral2 * 4
            yield Fault("lateral3", self.lateral3, f"expected between {low:.0f} and {high:.0f} Hz, 8/3 to 4 times "
                        "the lower tone; else they are not waves two and three")


@dataclass(frozen=True)
class Tapped:
    """Stiffnesses with their standard deviations, as (value, sd). [N m2]"""

    radial_bending: tuple[float, float]
    lateral_bending: tuple[float, float]
    torsion: tuple[float, float]

    def as_dict(self) -> dict[str, dict[str, float]]:
        """Under the keys of wheel files."""
        return {STIFFNESS_KEYS[f.name]: dict(zip(("value", "sd"), getattr(self, f.name), strict=True))
                for f in fields(self)}


def stiffness_from_tones(tones: Tones, tone_sd: float = TONE_SD) -> Tapped:
    """Stiffness of a rim from its tones.

    Parameters
    ----------
    tones : Tones
    tone_sd : float
        Standard deviation of each tone, as a share of it.

    Returns
    -------
    Tapped
        Half a per cent in each tone can be several per cent in torsion and lateral bending: they hang
        on the small difference of the two lateral tones from a ratio of 4.
    """
    values = np.array(_stiffness(tones))
    spread = np.zeros(3)
    for name in TONES:
        nudged = replace(tones, **{name: getattr(tones, name) * (1 + 1e-6)})
        slope = (np.array(_stiffness(nudged)) - values) / 1e-6
        spread += (slope * tone_sd) ** 2
    return Tapped(*zip(values.tolist(), np.sqrt(spread).tolist(), strict=True))


def _stiffness(t: Tones) -> tuple[float, float, float]:
    """Radial bending, lateral bending and torsion. [N m2]"""
    whole = 2 * np.pi * t.radius**3 * t.mass
    ratio = (t.lateral3 / t.lateral2) ** 2
    mu = (16 - ratio) / (9 * ratio - 64)
    torsion = (4 * mu + 1) / 36 * whole * t.lateral2**2
    flat, lateral = 5 / 36 * whole * t.radial2**2, torsion / mu
    if t.height == 0.0 and t.width == 0.0:
        return flat, lateral, torsion
    up, _ = gyration(t.height, t.width)
    # In the plane the section turns with the rim's slope: (m^2 - 1)^2 k^2 / R^2 beside m^2 + 1.
    flat *= 1 + 9 / 5 * (up / t.radius) ** 2
    for _ in range(MOST_STEPS):
        low, next_one = (free_tone(m, lateral, torsion, t) for m in (2, 3))
        change = np.array([t.lateral2 / low, t.lateral3 / next_one])
        if np.abs(change - 1).max() < SETTLED:
            break
        lateral, torsion = _corrected(t, lateral, torsion, change)
    return flat, lateral, torsion


def gyration(height: float, width: float) -> tuple[float, float]:
    """Radii of gyration of a thin-walled box, its walls alike: of its height, and of its width. [m]"""
    if height + width == 0.0:
        return 0.0, 0.0
    return (float(np.sqrt(height**2 * (height + 3 * width) / (12 * (height + width)))),
            float(np.sqrt(width**2 * (width + 3 * height) / (12 * (height + width)))))


def free_tone(waves: int, lateral: float, torsion: float, t: Tones) -> float:
    """Lowest tone of the free rim from the side in so many waves, the section's rotary inertia counted. [Hz]

    Notes
    -----
    Lateral shift and twist as w cos(m theta) and p cos(m theta): bending p / R + m^2 w / R^2, torsion
    m (p / R + w / R^2), moving mass (1 + (m k_w / R)^2) w^2 + k_p^2 p^2 (Rayleigh's rotary inertia; derived here by
    Lagrange's equations).
    """
    up, across = gyration(t.height, t.width)
    m, radius = float(waves), t.radius
    line = t.mass / (2 * np.pi * radius)
    bend, turn = np.array([m**2 / radius**2, 1 / radius]), np.array([m / radius**2, m / radius])
    stiffness = lateral * np.outer(bend, bend) + torsion * np.outer(turn, turn)
    moving = line * np.array([1 + (m * across / radius) ** 2, up**2 + across**2])
    if moving[1] == 0.0:
        least = stiffness[0, 0] - stiffness[0, 1] ** 2 / stiffness[1, 1]
        return float(np.sqrt(least / moving[0]) / (2 * np.pi))
    root = 1 / np.sqrt(moving)
    return float(np.sqrt(np.linalg.eigvalsh(stiffness * np.outer(root, root))[0]) / (2 * np.pi))


def _corrected(t: Tones, lateral: float, torsion: float, change: Floats) -> tuple[float, float]:
    """A Newton step on the logarithms of lateral bending and torsion, toward tones ``change`` times as high."""
    step = 1e-5
    here = np.log([free_tone(m, lateral, torsion, t) for m in (2, 3)])
    slopes = np.stack([(np.log([free_tone(m, lateral * a, torsion * b, t) for m in (2, 3)]) - here) / step
                       for a, b in ((np.exp(step), 1.0), (1.0, np.exp(step)))], axis=1)
    more = np.clip(np.linalg.solve(slopes, np.log(change)), -0.7, 0.7)
    return lateral * float(np.exp(more[0])), torsion * float(np.exp(more[1]))
