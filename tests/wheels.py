"""Invented wheels that many tests build on."""

from dataclasses import replace

import numpy as np

from wheelsim.wheel.parts import Flange, Hub, Limits, Rim, SideSpokes, Spokes, Wheel


def make_wheel(n=36, *, right=35e-3, left=35e-3, cross=3, tension=1000.0, sides=None, angles=None, missing=(),
               seat_offset=0.0, drilling_offset=0.0, inset=0.0, diameter=2.0e-3, hole_circle=47e-3, radius=0.3055,
               bending=(110.0, 200.0), torsion=25.0, stretch=7e6, limits=None):
    """A wheel with 2.0 mm spokes at 200 GPa; a symmetric front unless told otherwise. [m], [N]

    ``cross`` is one number or (right, left); ``inset`` puts the seats that far inside the section's centre.
    """
    crosses = cross if isinstance(cross, tuple) else (cross, cross)
    angles = tuple(2 * np.pi * (np.arange(n) + 0.5) / n) if angles is None else tuple(angles)
    laced = {name: SideSpokes(k, ((diameter, 1.0),)) for name, k in zip(("right", "left"), crosses, strict=True)}
    return Wheel(
        "invented", Hub(0.135, Flange(left, hole_circle), Flange(right, hole_circle)),
        Rim(angles, radius - inset, radius, *bending, torsion, stretch, seat_offset, drilling_offset),
        Spokes(sides or "RL" * (n // 2), laced["left"], laced["right"], missing=frozenset(missing)),
        "right", tension, limits or Limits(),
    )


def front(**changes):
    """The symmetric 36-spoke front of the worked figures: EI 110/200, GJ 25, EA 7 MN, R 305.5, three cross."""
    return make_wheel(**changes)


def dished(n=32, **changes):
    """A dished rear: right flange near."""
    return make_wheel(n, **{"right": 19e-3, "left": 36e-3, "tension": 1050.0, **changes})


def two_to_one(**changes):
    """24 spokes, two right for one left."""
    return make_wheel(24, **{"sides": "RLR" * 8, "cross": (2, 0), "right": 20e-3, "left": 38e-3, **changes})


def paired(**changes):
    """20 spokes in pairs of holes 6 degrees apart."""
    pairs = np.radians(36.0 * np.arange(10) + 18.0)
    return make_wheel(20, **{"angles": np.sort(np.concatenate([pairs - np.radians(3), pairs + np.radians(3)])),
                             "cross": 2, **changes})


def with_limits(wheel, **limits):
    """The wheel with other limits. [SI]"""
    return replace(wheel, limits=Limits(**limits))


def side_turns(wheel, right=0.0, left=0.0):
    """Turns of whole sides, (n,)."""
    turns = np.zeros(wheel.n)
    turns[wheel.on_side("right")] = right
    turns[wheel.on_side("left")] = left
    return turns
