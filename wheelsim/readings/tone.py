"""Tension from the note of a plucked spoke."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.wheel.geometry import side_name, wheel_geometry
from wheelsim.wheel.parts import Wheel

SPOKE_DENSITY = 7900.0  # stainless spring steel, value from memory [kg/m3]
ELEMENTS = 24  # of each part of a spoke, shorter toward its ends, where a clamped spoke bends most


@lru_cache(maxsize=1024)  # a job is made anew for each question, and a spoke takes some milliseconds
def tension_of_spoke(wheel: Wheel, spoke: int, tone: float) -> float:
    """Tension of a spoke of a wheel, by number, that rings at a tone [Hz]; as ``tension_from_tone``. [N]"""
    geometry = wheel_geometry(wheel)
    segments = wheel.spokes.side(side_name(geometry.side[spoke - 1])).segments
    return tension_from_tone(tone, float(geometry.length[spoke - 1]), segments, wheel.spokes.modulus)


def tension_from_tone(tone: float, length: float, segments: Sequence[tuple[float, float]], modulus: float) -> float:
    """Tension of a spoke that rings at a tone, held fast at both ends.

    Parameters
    ----------
    tone : float
        Lowest note. [Hz]
    length : float
        Free length, seat to hub hole. [m]
    segments : sequence of (float, float)
        Diameter and proportion of length of each part. [m]
    modulus : float
        [Pa]

    Returns
    -------
    float
        [N] Zero where the spoke would ring that low without tension.

    Notes
    -----
    See ``tensions_from_tone``. A spoke is neither quite clamped nor free to turn at its ends, which alone is worth up
    to a fifth of the tension, and touches its neighbours at the crossing: trust differences between spokes, not the
    level.
    """
    return tensions_from_tone(tone, length, segments, modulus)[0]


def tensions_from_tone(tone: float, length: float, segments: Sequence[tuple[float, float]],
                       modulus: float) -> tuple[float, float]:
    """Tension of a spoke that rings at a tone, its ends clamped, and pinned; the truth lies between. [N]

    Parameters as in ``tension_from_tone``.

    Notes
    -----
    A string with bending stiffness and parts of different thickness, by beam elements: at a given tone the tensions at
    which it can ring are eigenvalues of (omega^2 M - K) v = T G v, K the bending, G the string stiffness; the largest
    belongs to the lowest note.

    References
    ----------
    O. C. Zienkiewicz, The Finite Element Method (Hermite beam element with axial force; value from memory).
    """
    from scipy.linalg import eigh  # a job without tones is read without it

    diameters, parts = np.array(segments, dtype=float).T
    lengths = length * parts / parts.sum()
    bending, string, mass = _matrices(diameters, lengths, modulus)
    with np.errstate(over="ignore", invalid="ignore"):
        moving = np.square(2 * np.pi * np.float64(tone)) * mass - bending
    if not np.isfinite(moving).all():
        return float("inf"), float("inf")
    size = len(mass)
    out = []
    for held in ((0, 1, size - 2, size - 1), (0, size - 2)):
        free = np.setdiff1d(np.arange(size), held)
        at = np.ix_(free, free)
        out.append(max(float(eigh(moving[at], string[at], eigvals_only=True, subset_by_index=[len(free) - 1] * 2)[0]),
                       0.0))
    return out[0], out[1]


def _matrices(diameters: Floats, lengths: Floats, modulus: float) -> tuple[Floats, Floats, Floats]:
    """Bending, string (per newton) and mass matrices of a stepped spoke; displacement and slope at each node."""
    size = 2 * (ELEMENTS * len(diameters) + 1)
    bending, string, mass = (np.zeros((size, size)) for _ in range(3))
    place, steps = 0, -np.diff(np.cos(np.linspace(0.0, np.pi, ELEMENTS + 1))) / 2
    for diameter, part in zip(diameters, lengths, strict=True):
        for step in part * steps:
            scale = np.array([1.0, step, 1.0, step])
            both = np.outer(scale, scale)
            stiff = modulus * np.pi * diameter**4 / 64 / step**3
            heavy = SPOKE_DENSITY * np.pi * diameter**2 / 4 * step / 420
            at = slice(place, place + 4)
            bending[at, at] += stiff * both * BEND
            string[at, at] += both * STRETCHED / (30 * step)
            mass[at, at] += heavy * both * WEIGHT
            place += 2
    return bending, string, mass


# The element's matrices for unit length, slopes times the length.
BEND = np.array([[12, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]], dtype=float)
STRETCHED = np.array([[36, 3, -36, 3], [3, 4, -3, -1], [-36, -3, 36, -3], [3, -1, -3, 4]], dtype=float)
WEIGHT = np.array([[156, 22, 54, -13], [22, 4, 13, -3], [54, 13, 156, -22], [-13, -3, -22, 4]], dtype=float)
