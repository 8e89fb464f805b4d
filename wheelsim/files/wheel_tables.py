"""From the tables of a wheel file to a Wheel."""

import math
from dataclasses import dataclass, replace
from functools import partial

from wheelsim.files import schema
from wheelsim.files.checking import Checker, Origin
from wheelsim.files.rim_table import hole_count, rim_from
from wheelsim.files.text import Tables
from wheelsim.units import MM
from wheelsim.wheel.lacing import lacing_faults
from wheelsim.wheel.limits import Limits, default_aims
from wheelsim.wheel.parts import Flange, Hub, Load, SideSpokes, Spokes, Tyre, Wheel, tension_fault
from wheelsim.wheel.sides import SIDES, Side

# In place of a part that failed, so that the rules of the rest are still asked; never kept.
SOME_FLANGE = Flange(offset=1e-9, hole_circle=0.05)
SOME_SIDES = "RL" * 72
SOME_SIDE = SideSpokes(cross=0, segments=((2e-3, 1.0),))
SIZES = ("diameter", "segments")  # what a side's spokes are of
USE: tuple[tuple[str, type[Load | Tyre], type[schema.Table]], ...] = (("load", Load, schema.LoadTable),
                                                                      ("tyre", Tyre, schema.TyreTable))


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
    use = {key: checker.part(part, model, tables[key], f"{where}{key}", key)
           for key, part, model in USE if key in tables}
    sound = all(use.values()) and (aims or "aims" not in tables)
    if hub and rim and spokes and tension and limits and sound:
        side, newtons = tension
        title = name if top.name is None else top.name
        wheel = checker.make(Wheel, "", name=title, hub=hub, rim=rim, spokes=spokes, tension_side=side,
                             tension=newtons, limits=limits, aims=aims, **use)
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
    fields = checker.fields(table, raw, where, "hub")
    flanges = {side: _flange(raw.get(side), table.contact_width_mm, checker, side, f"{where}.{side}") for side in SIDES}
    made = {side: flange or SOME_FLANGE for side, flange in flanges.items()}
    hub = checker.make(Hub, "hub", **fields, **made)
    return hub if all(flanges.values()) else None


def _flange(raw: object, width: float, checker: Checker, side: Side, where: str) -> Flange | None:
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.FlangeTable, raw, where)
    fields = checker.fields(table, raw, where, f"hub.{side}")
    if table.face_to_flange_mm is not None:
        offset = width / 2 - table.face_to_flange_mm
        fields["offset"] = offset * MM
        checker.origins[f"hub.{side}.offset"] = Origin(f"{where}.face_to_flange_mm", raw["face_to_flange_mm"],
                                                       f"puts the flange {offset:g} mm from the hub's middle; ")
        if math.isnan(width):
            checker.unjudged.add(f"{where}.face_to_flange_mm")
    return checker.make(Flange, f"hub.{side}", **fields)


def _spokes(raw: object, n: int | None, checker: Checker, where: str) -> Spokes | None:
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.SpokesTable, raw, where)
    fields = checker.fields(table, raw, where, "spokes")
    sizes = {name: fields.pop(name) for name in SIZES if name in fields}
    made = {side: _side(raw.get(side), sizes, checker, side, where) for side in SIDES}
    sides = _side_letters(table, n, checker, where)
    if table.sides is None:
        checker.origins["spokes.sides"] = Origin(f"{where}.first", raw.get("first"))
    fields["sides"] = SOME_SIDES if sides is None else sides
    spokes = checker.make(Spokes, "spokes", **fields, **{side: laced or SOME_SIDE for side, laced in made.items()})
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


def _side(raw: object, common: Tables, checker: Checker, side: Side, where: str) -> SideSpokes | None:
    """One side's spokes; what they are of is ``common`` to both sides unless this one says its own."""
    at, prefix = f"{where}.{side}", f"spokes.{side}"
    if not checker.expect_table(raw, at):
        return None
    fields = checker.fields(checker.table(schema.SideTable, raw, at), raw, at, prefix)
    own = {name: fields.pop(name) for name in SIZES if name in fields}
    if "diameter_mm" not in raw and "segments_mm" not in raw:
        own, at = common, where
        checker.origins |= {f"{prefix}.{name}": checker.origins[f"spokes.{name}"] for name in SIZES}
    segments = next(iter(own.values()), None)
    written = checker.origins[f"{prefix}.segments"].value
    if "segments" in own and isinstance(written, list):
        for k, row in enumerate(written):
            origin = Origin(f"{at}.segments_mm[{k + 1}]", row)
            checker.origins[f"{prefix}.segments.{k}"] = checker.origins[f"{prefix}.diameter"] = origin
    elif segments is None and f"{at}.segments_mm" not in checker.unjudged:
        checker.add(f"{where}.diameter_mm", None, "expected this or segments_mm, here or for each side")
    fields = {"cross": None, **fields, "segments": SOME_SIDE.segments if segments is None else segments}
    laced = checker.make(SideSpokes, prefix, **fields)
    return None if segments is None else laced


def _tension(raw: object, checker: Checker, where: str) -> tuple[Side, float] | None:
    """(side, mean tension [N]), or None."""
    if not checker.expect_table(raw, where):
        return None
    fields = checker.fields(checker.table(schema.TensionTable, raw, where), raw, where, "tension")
    side = next(side for side in SIDES if side in fields)  # exactly one is there, NaN where refused
    checker.origins["tension"] = checker.origins[f"tension.{side}"]
    return side, fields[side]


def _limits(raw: object, checker: Checker, where: str, default: Limits | None) -> Limits | None:
    """Limits of the file, what is absent from the default and not judged without one; None after faults."""
    if not checker.expect_table(raw, where):
        return None
    prefix = where.rpartition(".")[2]
    fields = checker.fields(checker.table(schema.LimitsTable, raw, where), raw, where, prefix)
    stated = frozenset(fields)
    if default is None:
        for to in schema.LimitsTable.becomes().values():
            if to.field not in stated:
                fields[to.field] = math.nan
                checker.unjudged.add(checker.origins[f"{prefix}.{to.field}"].key)
    return checker.make(partial(replace, default or Limits()), prefix, stated=stated, **fields)
