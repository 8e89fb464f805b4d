"""Tension from the note of a plucked spoke."""

from collections.abc import Sequence

import numpy as np

SPOKE_DENSITY = 7900.0  # stainless spring steel, value from memory [kg/m3]


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
    String law ``f = (1 / 2 L) sqrt(T / m)`` with the correction for stiffness at clamped ends,
    ``f (1 + 2 e + (4 + pi^2 / 2) e^2)``, ``e = sqrt(E I / T) / L``. A spoke is neither quite clamped nor
    free, and touches its neighbours at the crossing: trust differences between spokes more than the value.

    References
    ----------
    N. H. Fletcher, T. D. Rossing, The Physics of Musical Instruments, 2nd ed., 1998, sec. 2.18 (value from memory).
    """
    diameters, parts = np.array(segments, dtype=float).T
    share = parts / parts.sum()
    mass = SPOKE_DENSITY * float(np.sum(share * np.pi * diameters**2 / 4))
    bending = modulus * float(np.sum(share * np.pi * diameters**4 / 64))
    speed = 2 * length * tone
    string = mass * speed * speed
    if not np.isfinite(string):
        return float(string)
    low, high = 0.0, string
    for _ in range(60):
        middle = (low + high) / 2
        stiff = np.sqrt(bending / middle) / length if middle > 0 else np.inf
        rings = np.sqrt(middle) * (1 + 2 * stiff + (4 + np.pi**2 / 2) * stiff**2) if middle > 0 else np.inf
        low, high = (middle, high) if rings < np.sqrt(string) else (low, middle)
    return float(high) if high > 1e-6 * string else 0.0
