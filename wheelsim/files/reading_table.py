"""From a [[reading]] table to a Reading."""

from dataclasses import replace
from pathlib import Path

from wheelsim.files import schema
from wheelsim.files.chart import read_chart
from wheelsim.files.checking import Checker, Origin
from wheelsim.files.errors import FileError
from wheelsim.files.text import Tables
from wheelsim.files.wheel_tables import WheelFound
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import BySpoke, Dial, Reading, Shown, TensionUnit
from wheelsim.units import MM

DIALS: tuple[Dial, Dial] = ("lateral", "radial")
UNITS: dict[str, TensionUnit] = {"tension_kgf": "kgf", "meter": "meter", "tone_Hz": "Hz"}


def reading_from(raw: object, place: int, found: WheelFound, checker: Checker, folder: Path) -> Reading | None:
    """The reading; after faults, which are added to the checker, only the spokes that it names, or None.

    Parameters
    ----------
    raw : object
        What the file holds.
    place : int
        From 0, in the order of the file.
    found : WheelFound
        The wheel that was read, as far as it could be made.
    checker : Checker
    folder : Path
        Where the job file lies; a meter's chart is named from there.
    """
    where, prefix = f"reading[{place + 1}]", f"reading.{place}"
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.ReadingTable, raw, where)
    gauge = _gauge(raw["gauge"], checker, f"{where}.gauge", f"{prefix}.gauge") if "gauge" in raw else None
    ends = {name: _ends(name, raw, checker, where, f"{prefix}.{name}") for name in DIALS if f"{name}_mm" not in raw}
    fields = checker.fields(table, raw, where, prefix, found.n) | ends
    fields |= {name: () for name in (*DIALS, "tension") if fields.get(name) is None}
    fields["tension"], shown = _shown(table, fields["tension"], checker, where, prefix, folder)
    extremes = frozenset(name for name, read in ends.items() if len(read) == 2)
    reading = checker.make(Reading, prefix, **fields, gauge=gauge, shown=shown, extremes=extremes)
    return reading or Reading(lateral=_numbers(fields["lateral"]), radial=_numbers(fields["radial"]),
                              tension=_numbers(fields["tension"]),
                              shown=tuple(replace(one, value=0.0) if one.unit == "kgf" else one for one in shown))


def _numbers(pairs: BySpoke) -> BySpoke:
    """The numbers of the spokes, with a value that no rule refuses."""
    return tuple((spoke, 0.0) for spoke, _ in pairs)


def _gauge(raw: object, checker: Checker, where: str, prefix: str) -> Gauge | None:
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.GaugeTable, raw, where)
    fields = checker.fields(table, raw, where, prefix)
    if "high" not in fields:
        fields["high"] = fields["low"]  # a gap that was measured, not felt for
        checker.origins[f"{prefix}.high"] = checker.origins[f"{prefix}.low"]
    return checker.make(Gauge, prefix, **fields)


def _ends(name: str, raw: Tables, checker: Checker, where: str, prefix: str) -> BySpoke:
    """(spoke, dial [m]) pairs of the highest and the lowest spot, in order of the spokes."""
    ends: dict[str, schema.DialTable] = {}
    for end in ("high", "low"):
        key = f"{name}_{end}"
        if key in raw and checker.expect_table(raw[key], f"{where}.{key}"):
            place = ends[end] = checker.table(schema.DialTable, raw[key], f"{where}.{key}")
            number = Origin(f"{where}.{key}.spoke", raw[key].get("spoke"))
            # The higher's, where both name the same spoke.
            checker.origins.setdefault(f"{prefix}.{place.spoke}",
                                       Origin(f"{where}.{key}.mm", raw[key].get("mm"), number=number))
    if len(ends) == 2:
        high, low = ends["high"], ends["low"]
        if high.spoke == low.spoke:
            checker.add(f"{where}.{name}_low.spoke", low.spoke, f"expected another spoke than {name}_high")
            del ends["low"]
        if low.mm > high.mm:
            written = raw[f"{name}_low"]["mm"]
            checker.add(f"{where}.{name}_low.mm", written, f"expected at most {high.mm:g}, the highest")
    return tuple(sorted((place.spoke, place.mm * MM) for place in ends.values()))


def _shown(table: schema.ReadingTable, read: BySpoke, checker: Checker, where: str, prefix: str,
           folder: Path) -> tuple[BySpoke, tuple[Shown, ...]]:
    """What was read in newtons, as (spoke, tension) pairs, and what a tool showed otherwise, in order of the spokes."""
    key = next((key for key in UNITS if read and getattr(table, key) is not None), None)
    if key is None:
        return read, ()
    chart = None
    if key == "meter":
        if table.meter_chart is None:
            return (), ()
        checker.origins[f"{prefix}.meter_chart"] = Origin(f"{where}.meter_chart", table.meter_chart)
        try:
            chart = read_chart(folder / table.meter_chart)
        except FileError as error:
            checker.faults.extend(error.faults)
            return (), ()
    return (), tuple(Shown(spoke, value, UNITS[key], chart) for spoke, value in read)
