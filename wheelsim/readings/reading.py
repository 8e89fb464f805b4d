"""One set of readings of a wheel, as the tools showed it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, Self, TypeAlias

from wheelsim.readings.chart import Chart, chart_size
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.tone import tension_of_spoke
from wheelsim.units import KGF
from wheelsim.wheel.parts import Spokes, Wheel
from wheelsim.wheel.rules import Fault, Part, require

TYRE = ("off", "inflated")
BySpoke: TypeAlias = tuple[tuple[int, float], ...]  # (spoke number, value)
Dial: TypeAlias = Literal["lateral", "radial"]
SpokeTool: TypeAlias = Literal["lateral", "radial", "tension"]  # read spoke by spoke
RANGE = (0.0, 1e4)  # of a tension that is read; own choice: no spoke bears more [N]
TensionUnit: TypeAlias = Literal["kgf", "meter", "Hz"]


def all_round(read: BySpoke, n: int) -> bool:
    """Whether a dial was read at half of the n stations or more: between them the rim can then hardly do otherwise."""
    return 2 * len(read) >= n


@dataclass(frozen=True)
class Shown:
    """What a tool showed of a spoke's tension where that isn't newtons: kgf, a meter's own scale, or a tone in Hz.

    ``chart`` is the meter's.
    """

    spoke: int
    value: float
    unit: TensionUnit
    chart: Chart | None = None

    def newtons(self, wheel: Wheel) -> float:
        """The spoke's tension; raises ValueError where the meter has no chart, or none for such a spoke. [N]"""
        if self.unit == "kgf":
            return self.value * KGF
        if self.unit == "Hz":
            return tension_of_spoke(wheel, self.spoke, self.value)
        column = None if self.chart is None else self.chart.column(_size(wheel.spokes, self.spoke))
        if column is None:
            raise ValueError(f"spoke {self.spoke}: the meter shows {self.value:g}, and no chart says what that is in N")
        return column.newtons(self.value)


@dataclass(frozen=True)
class Reading(Part):
    """What the bench read at one time; what was not read is empty or None.

    Parameters
    ----------
    lateral, radial : tuple of (int, float)
        (spoke number, dial) at some or all spokes; plus right, plus outward; any zero. [m]
    tension : tuple of (int, float)
        (spoke number, tension) of the spokes whose tension a tool showed in newtons. [N]
    extremes : frozenset of str
        "lateral", "radial" where only the highest and the lowest spot were read: all else lies between.
    dial_radius : float or None
        Where the lateral dial touches, such as the brake track; None for the section's centre. [m]
    after_pass : int or None
        Number of the pass after which this was read, 0 for none; None: not told.
    read_again : frozenset of int
        Spokes that were doubted, read again, and stand.
    shown : tuple of Shown
        What a tool showed of a tension in another unit; ``in_newtons`` works out the tensions.
    gauge_again : bool
        Whether the gauge was read twice, and showed the same.
    twice : frozenset of (str, int)
        Kind ("lateral", "radial", "tension") and spoke of what was read twice, and showed the same.
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
    gauge_again: bool = False
    twice: frozenset[tuple[str, int]] = frozenset()

    def stands_at(self, kind: str) -> frozenset[int]:
        """Spokes at which what was read of this kind ("lateral", "radial", "tension") was read again, and stands."""
        return self.read_again | {spoke for name, spoke in self.twice if name == kind}

    @property
    def stands(self) -> frozenset[tuple[str, int]]:
        """Kind and spoke of all that was read again, and stands."""
        return frozenset((kind, spoke) for kind in ("lateral", "radial", "tension") for spoke in self.stands_at(kind))

    @property
    def by_tone(self) -> bool:
        """Whether tensions are told by the spokes' tones: good for differences, weak for the level."""
        return any(one.unit == "Hz" for one in self.shown)

    def spokes(self, tool: SpokeTool) -> tuple[int, ...]:
        """Numbers of the spokes at which this tool was read, rising."""
        other = (one.spoke for one in self.shown) if tool == "tension" else ()
        return tuple(sorted({*(spoke for spoke, _ in getattr(self, tool)), *other}))

    def in_newtons(self, wheel: Wheel) -> Self:
        """The reading with the tensions of ``shown`` worked out; a spoke that ``tension`` names is left as it is."""
        known = dict(self.tension)
        worked_out = {one.spoke: one.newtons(wheel) for one in self.shown if one.spoke not in known}
        return replace(self, tension=tuple(sorted((known | worked_out).items()))) if worked_out else self

    def _rules(self) -> Iterator[Fault | None]:
        for name, low, high, unit, scale in (
            ("lateral", -0.05, 0.05, "mm", 1e-3),
            ("radial", -0.05, 0.05, "mm", 1e-3),
            ("tension", *RANGE, "N", 1.0),
        ):
            for spoke, value in getattr(self, name):
                yield require(f"{name}.{spoke}", value, low, high, unit=unit, scale=scale)
        for one in self.shown:
            if one.unit == "kgf":
                yield newtons_fault(f"tension.{one.spoke}", one.value, one.value * KGF)
            elif one.unit == "meter" and one.chart is None and one.spoke not in dict(self.tension):
                yield Fault(f"tension.{one.spoke}", one.value, "expected the meter's chart with what it shows")
        for name in self.extremes:
            if len({spoke for spoke, _ in getattr(self, name)}) != 2:
                yield Fault(f"{name}", getattr(self, name), "expected the highest and the lowest spot, at two spokes")
        if self.dial_radius is not None:
            yield require("dial_radius", self.dial_radius, 0.05, 0.6, unit="mm", scale=1e-3)
        if self.tyre not in TYRE:
            yield Fault("tyre", self.tyre, 'expected "off" or "inflated"')


def newtons_fault(field: str, shown: float, newtons: float) -> Fault | None:
    """Fault if ``newtons`` [N], worked out from what a tool showed, is outside ``RANGE``; else None."""
    fault = require(field, newtons, *RANGE, unit="N")
    return fault and replace(fault, value=shown, expected=f"is {newtons:.5g} N; {fault.expected}")


def shown_faults(reading: Reading, spokes: Spokes | None, wheel: Wheel | None) -> Iterator[Fault | None]:
    """Faults of tones and a meter's numbers on these spokes: off the chart, or no tension of a spoke.

    Parameters
    ----------
    reading : Reading
    spokes : Spokes or None
        As far as they are known.
    wheel : Wheel or None
        Where it is known: without it no tone is judged.
    """
    without: dict[tuple[str, float], list[int]] = {}
    charts = {one.chart.name: one.chart for one in reading.shown if one.chart is not None}
    for one in reading.shown:
        field, within = f"tension.{one.spoke}", spokes is not None and 1 <= one.spoke <= len(spokes.sides)
        if one.unit == "Hz" and wheel is not None and within:
            yield newtons_fault(field, one.value, one.newtons(wheel))
        if one.chart is None or not (one.chart.for_all or within):
            continue
        size = _size(spokes, one.spoke) if spokes is not None and within else 0.0
        column = one.chart.column(size)
        if column is None:
            without.setdefault((one.chart.name, size), []).append(one.spoke)
        elif not column.holds(one.value):
            low, high = column.readings[0], column.readings[-1]
            words = "" if column.size is None else f" for {column.size:g} mm"
            yield Fault(field, one.value, f"expected from {low:g} to {high:g}, the range of {one.chart.name}{words}")
        else:
            yield newtons_fault(field, one.value, column.newtons(one.value))
    for (name, size), some in without.items():
        which = f"the middle of spoke{'s' if len(some) > 1 else ''} {', '.join(map(str, some))}"
        has = ", ".join(f"{column.size:g}" for column in charts[name].columns)
        yield Fault("meter_chart", name, f"expected a chart for {size:g} mm, {which}; {name} has {has}")


def _size(spokes: Spokes, spoke: int) -> float:
    """Diameter of a spoke where the meter sits, by its number. [mm]"""
    return chart_size(spokes.side("right" if spokes.sides[spoke - 1] == "R" else "left").segments)
