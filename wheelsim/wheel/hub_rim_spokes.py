"""The parts that a lacing ties together: hub, rim and spokes, frozen, in SI units, checked when they are made."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from wheelsim.wheel.rules import Fault, Part, is_number, require
from wheelsim.wheel.sides import SIDES, Side


@dataclass(frozen=True)
class Flange(Part):
    """One hub flange.

    Parameters
    ----------
    offset : float
        Distance of the flange from the hub's middle, plus toward its own side. [m]
    hole_circle : float
        Diameter of the circle of spoke holes. [m]
    """

    offset: float
    hole_circle: float

    def _rules(self) -> Iterator[Fault | None]:
        yield require("offset", self.offset, 0.0, 0.2, above=True, unit="mm", scale=1e-3)
        yield require("hole_circle", self.hole_circle, 0.0, 0.4, above=True, unit="mm", scale=1e-3)


@dataclass(frozen=True)
class Hub(Part):
    """Two flanges between the faces that touch frame or fork, ``contact_width`` apart. [m]"""

    contact_width: float
    left: Flange
    right: Flange

    def flange(self, side: Side) -> Flange:
        return self.left if side == "left" else self.right

    def _rules(self) -> Iterator[Fault | None]:
        fault = require("contact_width", self.contact_width, 0.0, 0.4, above=True, unit="mm", scale=1e-3)
        yield fault
        if fault is None:
            for side in SIDES:
                offset = self.flange(side).offset
                if offset > self.contact_width / 2:
                    yield Fault(f"{side}.offset", offset, f"expected inside the contact face, at most "
                                f"{self.contact_width * 500:g} mm from the hub's middle")


DIAL_REACH = 0.04  # a dial touches the rim: no further from its section's centre; a diameter is no radius [m]


def holes_fault(count: int) -> Fault | None:
    """Fault of the number of rim holes, or None; apart so that a file can be asked before it is built."""
    return None if 8 <= count <= 144 else Fault("holes", count, f"rim has {count} holes; expected 8 to 144")


@dataclass(frozen=True)
class Joint(Part):
    """An arc of the rim that is stiffer or softer than the rest: a joint, a sleeve, a weld, a bend.

    Parameters
    ----------
    angle : float
        Of its middle, clockwise from the valve as seen from the right. [rad]
    arc : float
        How much of the circumference it takes. [rad]
    stiffness : float
        All four stiffnesses there, as a multiple of the rim's.
    """

    angle: float
    arc: float
    stiffness: float

    def _rules(self) -> Iterator[Fault | None]:
        for name, low, high in (("angle", 0.0, 2 * math.pi), ("arc", math.radians(0.5), math.radians(90))):
            if require(name, getattr(self, name), low, high):
                yield Fault(name, getattr(self, name),
                            f"expected {math.degrees(low):g} to {math.degrees(high):g} degrees")
        yield require("stiffness", self.stiffness, 0.1, 10.0, unit="times the rim's")


@dataclass(frozen=True)
class Rim(Part):
    """The rim: an elastic ring with holes.

    Parameters
    ----------
    hole_angles : tuple of float
        Angle of each hole, clockwise from the valve as seen from the right, increasing. [rad]
    seat_radius, section_radius : float
        Where the nipple heads sit; where the section's centre runs. [m]
    seat_offset : float
        Seats off the rim's middle plane, plus right. [m]
    drilling_offset : float
        Each hole this far toward its own flange; negative is crossed drilling. [m]
    radial_bending, lateral_bending, torsion : float
        EI in the wheel's plane, EI out of it, GJ. [N m2]
    stretch : float
        EA. [N]
    joint : Joint or None
        Where the rim is not as stiff as elsewhere.
    edge_radius : float or None
        Where dial, gauge and brake touch it; None for the section's centre. [m]
    """

    hole_angles: tuple[float, ...]
    seat_radius: float
    section_radius: float
    radial_bending: float
    lateral_bending: float
    torsion: float
    stretch: float
    seat_offset: float = 0.0
    drilling_offset: float = 0.0
    kind: str | None = None
    joint: Joint | None = None
    edge_radius: float | None = None

    @property
    def edge_out(self) -> float:
        """How far outside the section's centre the edge lies. [m]"""
        return 0.0 if self.edge_radius is None else self.edge_radius - self.section_radius

    @property
    def holes(self) -> int:
        return len(self.hole_angles)

    def _rules(self) -> Iterator[Fault | None]:
        yield from self._hole_rules()
        yield require("seat_radius", self.seat_radius, 0.05, 0.6, unit="mm", scale=1e-3)
        yield require("section_radius", self.section_radius, 0.05, 0.6, unit="mm", scale=1e-3)
        if is_number(self.seat_radius) and is_number(self.section_radius) and (
            abs(self.seat_radius - self.section_radius) > 0.06
        ):
            yield Fault("section_radius", self.section_radius, "expected within 60 mm of the nipple seats")
        if self.edge_radius is not None and is_number(self.section_radius):
            yield require("edge_radius", self.edge_radius, self.section_radius - DIAL_REACH,
                          self.section_radius + DIAL_REACH, unit="mm", scale=1e-3)
        for name in ("radial_bending", "lateral_bending", "torsion"):
            yield require(name, getattr(self, name), 0.5, 1e5, unit="N.m2")
        yield require("stretch", self.stretch, 1e5, 1e9, unit="N")
        yield require("seat_offset", self.seat_offset, -0.02, 0.02, unit="mm", scale=1e-3)
        yield require("drilling_offset", self.drilling_offset, -0.02, 0.02, unit="mm", scale=1e-3)

    def _hole_rules(self) -> Iterator[Fault | None]:
        angles = self.hole_angles
        fault = holes_fault(len(angles))
        if fault:
            yield fault
            return
        if not all(is_number(angle) for angle in angles):
            yield Fault("hole_angles", angles, "expected numbers")
            return
        gaps = [b - a for a, b in zip(angles, (*angles[1:], angles[0] + 2 * math.pi), strict=True)]
        if min(gaps) < math.radians(0.2) or angles[0] < 0 or angles[-1] >= 2 * math.pi:
            yield Fault("hole_angles", [round(math.degrees(a), 3) for a in angles],
                        "expected rising angles from 0 up to 360 degrees, at least 0.2 degrees apart")
        elif max(gaps) > math.radians(90):
            yield Fault("hole_angles", round(math.degrees(max(gaps)), 3),
                        "expected no gap between holes wider than 90 degrees")


@dataclass(frozen=True)
class SideSpokes(Part):
    """How one flange is laced, and with what.

    Parameters
    ----------
    cross : int or None
        Crosses of each spoke; None when ``angle`` is given instead.
    angle : float or None
        Straight-pull: angle at the axle between rim hole and hub end. [rad]
    starts : "trailing" or "leading"
        Which way the flange's first spoke leans.
    segments : tuple of (float, float)
        Diameter and length of each part of the spoke, nipple to hub; lengths are proportions. [m]
    spoke_line : tuple of two floats
        How far the trailing and the leading spokes leave the hub outward of the flange's middle. [m]
    """

    cross: int | None
    segments: tuple[tuple[float, float], ...]
    angle: float | None = None
    starts: str = "trailing"
    spoke_line: tuple[float, float] = (0.0, 0.0)

    def _rules(self) -> Iterator[Fault | None]:
        if (self.cross is None) == (self.angle is None):
            yield Fault("cross", self.cross, "expected exactly one of cross and angle_deg")
        elif self.cross is not None:
            if not isinstance(self.cross, int) or isinstance(self.cross, bool) or not 0 <= self.cross <= 12:
                yield Fault("cross", self.cross, "expected a whole number of crosses, 0 to 12")
        else:
            fault = require("angle", self.angle, 0.0, math.radians(100))
            if fault:
                yield Fault("angle", self.angle, "expected 0 to 100 degrees")
        if self.starts not in ("trailing", "leading"):
            yield Fault("starts", self.starts, 'expected "trailing" or "leading"')
        if not self.segments:
            yield Fault("segments", self.segments, "expected at least one diameter and length")
        for number, (diameter, length) in enumerate(self.segments):
            name = "diameter" if len(self.segments) == 1 else f"segments.{number}"
            yield require(name, diameter, 0.5e-3, 6e-3, unit="mm of diameter", scale=1e-3)
            yield require(name, length, 0.0, 1.0, above=True, unit="mm of length", scale=1e-3)
        for line in self.spoke_line:
            yield require("spoke_line", line, -0.02, 0.02, unit="mm", scale=1e-3)


@dataclass(frozen=True)
class Spokes(Part):
    """All spokes of a wheel.

    Parameters
    ----------
    sides : str
        One letter a rim hole from the valve on, "R" or "L".
    left, right : SideSpokes
    modulus : float
        Young's modulus. [Pa]
    thread_pitch : float
        [m]
    missing : frozenset of int
        Numbers (from 1) of broken or missing spokes.
    """

    sides: str
    left: SideSpokes
    right: SideSpokes
    modulus: float = 200e9
    thread_pitch: float = 25.4e-3 / 56
    missing: frozenset[int] = field(default_factory=frozenset)

    def side(self, side: Side) -> SideSpokes:
        return self.left if side == "left" else self.right

    def _rules(self) -> Iterator[Fault | None]:
        if set(self.sides) - {"R", "L"}:
            yield Fault("sides", self.sides, 'expected only the letters "R" and "L", one a spoke')
        elif min(self.sides.count("R"), self.sides.count("L")) < 3:
            yield Fault("sides", self.sides, "expected at least 3 spokes on each flange")
        yield require("modulus", self.modulus, 1e9, 1e12, unit="GPa", scale=1e9)
        yield require("thread_pitch", self.thread_pitch, 0.1e-3, 2e-3, unit="mm", scale=1e-3)
        for number in sorted(self.missing):
            if not 1 <= number <= len(self.sides):
                yield Fault("missing", number, f"expected spoke numbers from 1 to {len(self.sides)}")
