"""One set of readings of a wheel, in SI units."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, TypeAlias

from wheelsim.readings.gauge import Gauge
from wheelsim.wheel.rules import Fault, Part, require

TYRE = ("off", "inflated")
BySpoke: TypeAlias = tuple[tuple[int, float], ...]  # (spoke number, value)
Dial: TypeAlias = Literal["lateral", "radial"]
TensionUnit: TypeAlias = Literal["kgf", "meter", "Hz"]


def all_round(read: BySpoke, n: int) -> bool:
    """Whether a dial was read at half of the n stations or more: between them the rim can then hardly do otherwise."""
    return 2 * len(read) >= n


@dataclass(frozen=True)
class Shown:
    """What a tool showed of a spoke's tension where that isn't newtons: kgf, a meter's own scale, or a tone in Hz."""

    spoke: int
    value: float
    unit: TensionUnit


@dataclass(frozen=True)
class Reading(Part):
    """What the bench read at one time; what was not read is empty or None.

    Parameters
    ----------
    lateral, radial : tuple of (int, float)
        (spoke number, dial) at some or all spokes; plus right, plus outward; any zero. [m]
    tension : tuple of (int, float)
        (spoke number, tension) of some or all spokes. [N]
    extremes : frozenset of str
        "lateral", "radial" where only the highest and the lowest spot were read: all else lies between.
    dial_radius : float or None
        Where the lateral dial touches, such as the brake track; None for the section's centre. [m]
    after_pass : int or None
        Number of the pass after which this was read, 0 for none; None: not told.
    read_again : frozenset of int
        Spokes that were doubted, read again, and stand.
    shown : tuple of Shown
        What the tool showed where ``tension`` was worked out from that.
    """

    label: str = ""
    gauge: Gauge | None = None
    lateral: BySpoke = ()
    radial: BySpoke = ()
    tension: BySpoke = ()
    tyre: str = "off"
    dial_radius: float | None = None
    extremes: frozenset[str] = frozenset()
    after_pass: int | None = None
    read_again: frozenset[int] = frozenset()
    shown: tuple[Shown, ...] = ()

    @property
    def by_tone(self) -> bool:
        """Whether tensions are told by the spokes' tones: good for differences, weak for the level."""
        return any(one.unit == "Hz" for one in self.shown)

    def _rules(self) -> Iterator[Fault | None]:
        for name, low, high, unit, scale in (
            ("lateral", -0.05, 0.05, "mm", 1e-3),
            ("radial", -0.05, 0.05, "mm", 1e-3),
            ("tension", 0.0, 1e4, "N", 1.0),
        ):
            for spoke, value in getattr(self, name):
                yield require(f"{name}.{spoke}", value, low, high, unit=unit, scale=scale)
        for name in self.extremes:
            if len({spoke for spoke, _ in getattr(self, name)}) != 2:
                yield Fault(f"{name}", getattr(self, name), "expected the highest and the lowest spot, at two spokes")
        if self.dial_radius is not None:
            yield require("dial_radius", self.dial_radius, 0.05, 0.6, unit="mm", scale=1e-3)
        if self.tyre not in TYRE:
            yield Fault("tyre", self.tyre, 'expected "off" or "inflated"')
