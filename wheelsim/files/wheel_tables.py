"""From the tables of a wheel file to a Wheel."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias, TypeVar

from wheelsim.files import schema
from wheelsim.files.checking import Checker, Origin
from wheelsim.files.rim_table import hole_count, rim_from
from wheelsim.files.text import Tables
from wheelsim.units import BAR, INCH, KGF, MM
from wheelsim.wheel.lacing import lacing_faults
from wheelsim.wheel.limits import Limits, default_aims
from wheelsim.wheel.parts import Flange, Hub, Load, SideSpokes, Spokes, Tyre, Wheel, tension_fault
from wheelsim.wheel.rules import Part
from wheelsim.wheel.sides import SIDES, Side

Used = TypeVar("Used", bound=Part)
Keys: TypeAlias = Mapping[str, tuple[str, float]]  # field of a part to its key in the file and the key's unit in SI

# In place of a part that failed, so that the rules of the rest are still asked; never kept.
SOME_FLANGE = Flange(offset=1e-9, hole_circle=0.05)
SOME_SIDES = "RL" * 72
SOME_SIDE = SideSpokes(cross=0, segments=((2e-3, 1.0),))

LIMITS: Keys = {
    "max_tension": ("max_tension_N", 1.0),
    "min_tension": ("min_tension_N", 1.0),
    "gap": ("gap_mm", MM),
    "lateral_runout": ("lateral_runout_mm", MM),
    "radial_runout": ("radial_runout_mm", MM),
    "side_spread": ("side_spread_percent", 0.01),
    "off_usual": ("tension_percent", 0.01),
}

UNITS_OF_TENSION = {"N": 1.0, "kgf": KGF}
LOAD: Keys = {"radial": ("radial_N", 1.0), "lateral": ("lateral_N", 1.0)}
TYRE: Keys = {"pressure": ("pressure_bar", BAR), "width": ("width_mm", MM), "height": ("height_mm", MM)}


@dataclass(frozen=True)
class WheelFound:
    """What a wheel file gave; None where it failed. ``n`` and ``spokes`` serve to check readings."""

    wheel: Wheel | None
    n: int | None
    spokes: Spokes | None

    @property
    def missing(self) -> frozenset[int]:
        return self.spokes.missing if self.spokes else frozenset()


NOTHING = WheelFound(None, None, None)


def wheel_from(tables: Tables, checker: Checker, where: str, name: str) -> WheelFound:
    """The wheel, or as much of it as could be made; faults are added to the checker.

    Parameters
    ----------
    tables : dict of str to object
        [hub], [rim], [spokes], ...
    checker : Checker
        Of the file that holds the tables.
    where : str
        "" in a wheel file, "wheel." in a job file.
    name : str
        For a wheel that writes none.

    Returns
    -------
    WheelFound
    """
    if checker.too_new(tables, where.rstrip(".")):
        return NOTHING
    top = checker.table(schema.WheelFile, tables, where.rstrip("."))
    n = hole_count(tables.get("rim"))
    hub = _hub(tables.get("hub"), checker, f"{where}hub")
    rim = rim_from(tables.get("rim"), checker, f"{where}rim")
    spokes = _spokes(tables.get("spokes"), n, checker, f"{where}spokes")
    tension = _tension(tables.get("tension"), checker, f"{where}tension")
    limits = _limits(tables.get("limits", {}), checker, f"{where}limits", Limits())
    aims = None
    if "aims" in tables:
        aims = _limits(tables["aims"], checker, f"{where}aims", default_aims(limits) if limits else None)
    load = _use(tables, "load", schema.LoadTable, Load, LOAD, checker, where)
    tyre = _use(tables, "tyre", schema.TyreTable, Tyre, TYRE, checker, where)
    sound = all(made or key not in tables for key, made in (("aims", aims), ("load", load), ("tyre", tyre)))
    if hub and rim and spokes and tension and limits and sound:
        side, newtons = tension
        title = name if top.name is None else top.name
        wheel = checker.make(Wheel, "", name=title, hub=hub, rim=rim, spokes=spokes, tension_side=side,
                             tension=newtons, limits=limits, aims=aims, load=load, tyre=tyre)
        return WheelFound(wheel, n, spokes)
    # The wheel's own rules that need not all of its parts.
    if rim and spokes:
        checker.translate(fault for fault in lacing_faults(rim, spokes) if fault.level == "error")
    if tension:
        checker.translate([tension_fault(tension[1])])
    return WheelFound(None, n, spokes)


def _hub(raw: object, checker: Checker, where: str) -> Hub | None:
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.HubTable, raw, where)
    width = table.contact_width_mm
    flanges = {side: _flange(raw.get(side), width, checker, side, f"{where}.{side}") for side in SIDES}
    checker.trace("hub", where, raw, {"contact_width": "contact_width_mm"})
    made = {side: flange or SOME_FLANGE for side, flange in flanges.items()}
    hub = checker.make(Hub, "hub", contact_width=width * MM, **made)
    return hub if all(flanges.values()) else None


def _flange(raw: object, width: float, checker: Checker, side: Side, where: str) -> Flange | None:
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.FlangeTable, raw, where)
    checker.trace(f"hub.{side}", where, raw, {"offset": "flange_mm", "hole_circle": "hole_circle_mm"})
    offset = table.flange_mm
    if offset is None:
        if math.isnan(width):
            checker.unjudged.add(f"{where}.face_to_flange_mm")
        assert table.face_to_flange_mm is not None, "one of the two is there, NaN where refused"
        offset = width / 2 - table.face_to_flange_mm
        checker.origins[f"hub.{side}.offset"] = Origin(
            f"{where}.face_to_flange_mm", raw["face_to_flange_mm"],
            f"puts the flange {offset:g} mm from the hub's middle; ")
    return checker.make(Flange, f"hub.{side}", offset=offset * MM, hole_circle=table.hole_circle_mm * MM)


def _spokes(raw: object, n: int | None, checker: Checker, where: str) -> Spokes | None:
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.SpokesTable, raw, where)
    made = {side: _side(raw.get(side), raw, table, checker, side, where) for side in SIDES}
    sides = _side_letters(table, n, checker, where)
    pitch = INCH / table.threads_per_inch
    checker.trace("spokes", where, raw, {
        "sides": "sides" if table.sides is not None else "first",
        "modulus": "modulus_GPa",
        "missing": "missing",
    })
    checker.origins["spokes.thread_pitch"] = Origin(
        f"{where}.threads_per_inch", raw.get("threads_per_inch"), f"a pitch of {pitch / MM:.4g} mm; ")
    spokes = checker.make(
        Spokes, "spokes",
        sides=SOME_SIDES if sides is None else sides,
        modulus=table.modulus_GPa * 1e9,
        thread_pitch=pitch,
        missing=frozenset(table.missing or ()),
        **{side: laced or SOME_SIDE for side, laced in made.items()},
    )
    return spokes if sides is not None and all(made.values()) else None


def _side_letters(table: schema.SpokesTable, n: int | None, checker: Checker, where: str) -> str | None:
    """One letter a spoke, or None."""
    if {f"{where}.first", f"{where}.sides"} & checker.unjudged:
        return None
    if table.sides is not None:
        if table.first is not None and table.sides[:1] != table.first[0].upper():
            checker.add(f"{where}.first", table.first, f"expected as sides begins, {table.sides[:1]!r}")
            return None
        return table.sides
    if table.first is None:
        checker.add(f"{where}.first", None, 'expected "right" or "left", or sides = "RL..." instead')
        return None
    if n is None:
        return None
    return (("RL" if table.first == "right" else "LR") * n)[:n]


def _side(raw: object, common_raw: Tables, common: schema.SpokesTable, checker: Checker, side: Side,
          where: str) -> SideSpokes | None:
    at = f"{where}.{side}"
    if not checker.expect_table(raw, at):
        return None
    own = checker.table(schema.SideTable, raw, at)
    source: schema.SideTable | schema.SpokesTable = own
    source_raw = raw
    if "diameter_mm" not in raw and "segments_mm" not in raw:
        at, source, source_raw = where, common, common_raw
    prefix = f"spokes.{side}"
    checker.trace(prefix, f"{where}.{side}", raw, {
        "cross": "cross", "angle": "angle_deg", "starts": "starts", "spoke_line": "spoke_line_mm"})
    checker.trace(prefix, at, source_raw, {"diameter": "diameter_mm", "segments": "segments_mm"})
    segments: tuple[tuple[float, float], ...] | None = None
    if source.diameter_mm is not None:
        # Proportions of a spoke of one diameter: any length will do.
        segments = ((source.diameter_mm * MM, 1.0),)
    elif source.segments_mm is not None:
        segments = tuple((diameter * MM, length * MM) for diameter, length in source.segments_mm)
        for k, row in enumerate(source_raw["segments_mm"]):
            origin = Origin(f"{at}.segments_mm[{k + 1}]", row)
            checker.origins[f"{prefix}.segments.{k}"] = checker.origins[f"{prefix}.diameter"] = origin
    elif f"{at}.segments_mm" not in checker.unjudged:
        checker.add(f"{where}.diameter_mm", None, "expected this or segments_mm, here or for each side")
    angle = None if own.angle_deg is None else math.radians(own.angle_deg)
    laced = checker.make(
        SideSpokes, prefix,
        cross=own.cross,
        segments=SOME_SIDE.segments if segments is None else segments,
        angle=angle,
        starts=own.starts,
        spoke_line=tuple(mm * MM for mm in own.spoke_line_mm or (math.nan, math.nan)),
    )
    return None if segments is None else laced


def _tension(raw: object, checker: Checker, where: str) -> tuple[Side, float] | None:
    """(side, mean tension [N]), or None."""
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.TensionTable, raw, where)
    for side in SIDES:
        for unit, newtons in UNITS_OF_TENSION.items():
            value: float | None = getattr(table, f"{side}_{unit}")
            if value is not None:
                via = f"is {value * newtons:.5g} N; " if unit != "N" else ""
                checker.origins["tension"] = Origin(f"{where}.{side}_{unit}", raw.get(f"{side}_{unit}"), via)
                return side, value * newtons
    raise AssertionError("one of them is there, NaN where refused")


def _use(tables: Tables, key: str, model: type[schema.Table], part: type[Used], fields: Keys, checker: Checker,
         where: str) -> Used | None:
    """[load] or [tyre] as a part; None where absent or after faults."""
    if key not in tables:
        return None
    raw = tables[key]
    if not checker.expect_table(raw, f"{where}{key}"):
        return None
    table = checker.table(model, raw, f"{where}{key}")
    checker.trace(key, f"{where}{key}", raw, {field: name for field, (name, _) in fields.items()})
    values = {field: getattr(table, name) for field, (name, _) in fields.items()}
    return checker.make(part, key, **{field: value if value is None else value * fields[field][1]
                                      for field, value in values.items()})


def _limits(raw: object, checker: Checker, where: str, default: Limits | None) -> Limits | None:
    """Limits of the file, what is absent from the default and not judged without one; None after faults."""
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.LimitsTable, raw, where)
    prefix = where.rpartition(".")[2]
    checker.trace(prefix, where, raw, {field: key for field, (key, _) in LIMITS.items()})
    fields: dict[str, object] = {}
    stated: set[str] = set()
    for field, (key, unit) in LIMITS.items():
        value = getattr(table, key)
        if key.endswith("_N") and (kilograms := getattr(table, f"{key[:-1]}kgf")) is not None:
            value = kilograms * KGF
            checker.origins[f"{prefix}.{field}"] = Origin(f"{where}.{key[:-1]}kgf", kilograms, f"is {value:.5g} N; ")
        if value is None and default is None:
            fields[field] = math.nan
            checker.unjudged.add(f"{where}.{key}")
        elif value is None:
            fields[field] = getattr(default, field)
        else:
            fields[field] = value * unit if isinstance(value, float) else value
            stated.add(field)
    return checker.make(Limits, prefix, stated=frozenset(stated), **fields)
