"""Rim stiffness from the notes of the bare rim, hung free and tapped.

References
----------
M. Ford, PhD dissertation, Northwestern University, 2018, after S. Timoshenko, D. H. Young, Vibration
Problems in Engineering, 3rd ed., 1955: free ring, in its plane and out of it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

import numpy as np

from wheelsim.wheel.kinds import STIFFNESS_KEYS
from wheelsim.wheel.rules import Fault, Part, require

TONES = ("lateral2", "lateral3", "radial2")
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
    """

    radius: float
    mass: float
    lateral2: float
    lateral3: float
    radial2: float

    def _rules(self) -> Iterator[Fault | None]:
        yield require("radius", self.radius, 0.05, 0.6, unit="mm", scale=1e-3)
        yield require("mass", self.mass, 0.02, 10.0, unit="g", scale=1e-3)
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
    whole = 2 * np.pi * t.radius**3 * t.mass
    ratio = (t.lateral3 / t.lateral2) ** 2
    mu = (16 - ratio) / (9 * ratio - 64)
    torsion = (4 * mu + 1) / 36 * whole * t.lateral2**2
    return 5 / 36 * whole * t.radial2**2, torsion / mu, torsion
