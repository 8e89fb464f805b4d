"""From a [[reading]] table to a Reading."""

from dataclasses import replace
from pathlib import Path

from wheelsim.files import schema
from wheelsim.files.chart import by_chart
from wheelsim.files.checking import Checker, Origin
from wheelsim.files.text import Tables
from wheelsim.files.wheel_tables import WheelFound
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import BySpoke, Reading, Shown, TensionUnit
from wheelsim.readings.tone import tension_from_tone
from wheelsim.units import KGF, MM
from wheelsim.wheel.geometry import side_name, wheel_geometry

THREAD = 1.0  # pitch of the axle that serves as a feeler [mm]
TENSIONS = ("tension_N", "tension_kgf", "meter", "tone_Hz")
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
    dials = {name: _dial(name, table, raw, found.n, checker, where, prefix) for name in ("lateral", "radial")}
    tension, shown = _tensions(table, raw, found, checker, where, prefix, folder)
    checker.trace(prefix, where, raw, {"tyre": "tyre", "dial_radius": "dial_radius_mm", "after_pass": "after_pass",
                                       "read_again": "read_again"})
    dial_radius = None if table.dial_radius_mm is None else table.dial_radius_mm * MM
    reading = checker.make(
        Reading, prefix, label=table.label, gauge=gauge, **dials, tension=tension, tyre=table.tyre,
        dial_radius=dial_radius, after_pass=table.after_pass, read_again=frozenset(table.read_again or ()),
        shown=shown,
        extremes=frozenset(name for name in ("lateral", "radial")
                           if f"{name}_high" in raw and f"{name}_low" in raw and len(dials[name]) == 2),
    )
    if reading:
        return reading
    return Reading(lateral=_numbers(dials["lateral"]), radial=_numbers(dials["radial"]), tension=_numbers(tension))


def _numbers(pairs: BySpoke) -> BySpoke:
    """The numbers of the spokes, with a value that no rule refuses."""
    return tuple((spoke, 0.0) for spoke, _ in pairs)


def _gauge(raw: object, checker: Checker, where: str, prefix: str) -> Gauge | None:
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.GaugeTable, raw, where)
    checker.trace(prefix, where, raw, {"set_on": "set_on", "gap_at": "gap_at"})
    if table.passes_mm is not None:
        assert table.stops_mm is not None, "both are there, NaN where refused"
        key, low, high = "passes_mm", table.passes_mm, table.stops_mm
    elif table.gap_mm is not None:
        key, low, high = "gap_mm", table.gap_mm, table.gap_mm
    else:
        assert table.gap_threads is not None, "one of the three is there, NaN where refused"
        key, low, high = "gap_threads", table.gap_threads * THREAD, table.gap_threads * THREAD
    via = f"is {low:g} mm; " if key == "gap_threads" else ""
    high_key = "stops_mm" if key == "passes_mm" else key
    checker.origins[f"{prefix}.low"] = Origin(f"{where}.{key}", raw.get(key), via)
    checker.origins[f"{prefix}.high"] = Origin(f"{where}.{high_key}", raw.get(high_key))
    return checker.make(Gauge, prefix, set_on=table.set_on, gap_at=table.gap_at, low=low * MM, high=high * MM)


def _dial(name: str, table: schema.ReadingTable, raw: Tables, n: int | None, checker: Checker, where: str,
          prefix: str) -> BySpoke:
    """(spoke, dial [m]) pairs of "lateral" or "radial", in order of the spokes."""
    key, prefix = f"{name}_mm", f"{prefix}.{name}"
    if key in raw:
        values = checker.trace_spokes(prefix, where, raw, key, getattr(table, key), n)
        return tuple((spoke, mm * MM) for spoke, mm in sorted(values.items()))
    ends: dict[str, schema.DialTable] = {}
    origins: dict[str, Origin] = {}
    for end in ("high", "low"):
        key = f"{name}_{end}"
        if key in raw and checker.expect_table(raw[key], f"{where}.{key}"):
            place = ends[end] = checker.table(schema.DialTable, raw[key], f"{where}.{key}")
            number = Origin(f"{where}.{key}.spoke", raw[key].get("spoke"))
            # The higher's, where both name the same spoke.
            origins.setdefault(f"{prefix}.{place.spoke}",
                               Origin(f"{where}.{key}.mm", raw[key].get("mm"), number=number))
    checker.origins.update(origins)
    if len(ends) == 2:
        high, low = ends["high"], ends["low"]
        if high.spoke == low.spoke:
            checker.add(f"{where}.{name}_low.spoke", low.spoke, f"expected another spoke than {name}_high")
            del ends["low"]
        if low.mm > high.mm:
            written = raw[f"{name}_low"]["mm"]
            checker.add(f"{where}.{name}_low.mm", written, f"expected at most {high.mm:g}, the highest")
    return tuple(sorted((place.spoke, place.mm * MM) for place in ends.values()))


def _tensions(table: schema.ReadingTable, raw: Tables, found: WheelFound, checker: Checker, where: str, prefix: str,
              folder: Path) -> tuple[BySpoke, tuple[Shown, ...]]:
    """(spoke, tension [N]) pairs in order of the spokes, and what a tool showed; none where they can't be worked out.
    """
    key, prefix = next((key for key in TENSIONS if key in raw), None), f"{prefix}.tension"
    if key is None:
        return (), ()
    values = checker.trace_spokes(prefix, where, raw, key, getattr(table, key), found.n)
    written = sorted(values.items())
    if key == "meter":
        if table.meter_chart is None:
            return (), ()
        chart = Origin(f"{where}.meter_chart", table.meter_chart)
        newtons = by_chart(written, prefix, chart, folder / table.meter_chart, found.spokes, checker)
    elif key == "tone_Hz":
        newtons = _by_tone(written, found)
    else:
        newtons = [value * (KGF if key == "tension_kgf" else 1.0) for _, value in written]
    if not newtons:
        return (), ()
    for (spoke, _), force in zip(written, newtons, strict=True):
        field = f"{prefix}.{spoke}"
        if key != "tension_N":
            checker.origins[field] = replace(checker.origins[field], via=f"is {force:.5g} N; ")
    unit = UNITS.get(key)
    return (tuple((spoke, force) for (spoke, _), force in zip(written, newtons, strict=True)),
            () if unit is None else tuple(Shown(spoke, value, unit) for spoke, value in written))


def _by_tone(written: list[tuple[int, float]], found: WheelFound) -> list[float]:
    """Tensions of spokes that ring at these tones; none without a wheel. [N]"""
    if found.wheel is None or found.n is None:
        return []
    geometry, spokes = wheel_geometry(found.wheel), found.wheel.spokes
    newtons = []
    for spoke, tone in written:
        # A number beyond the wheel is refused later, by the job's own rule.
        at = spoke - 1 if 1 <= spoke <= found.n else 0
        segments = spokes.side(side_name(geometry.side[at])).segments
        newtons.append(tension_from_tone(tone, float(geometry.length[at]), segments, spokes.modulus))
    return newtons
