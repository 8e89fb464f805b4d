"""From the [rim] table to a Rim."""

import math

from wheelsim.files import schema
from wheelsim.files.checking import Checker, Origin
from wheelsim.files.text import Tables
from wheelsim.wheel.kinds import KINDS, STIFFNESS_KEYS
from wheelsim.wheel.parts import Joint, Rim, holes_fault

# In place of what failed, so that the rules of the rest are still asked; never kept.
SOME_ANGLES = tuple(i * math.pi / 4 for i in range(8))
SOME_STIFFNESSES = {"radial_bending": 100.0, "lateral_bending": 100.0, "torsion": 100.0, "stretch": 1e6}


def hole_count(raw: object) -> int | None:
    """Number of rim holes as far as it can be known, so that spokes and readings can be checked."""
    if not isinstance(raw, dict):
        return None
    count, angles = raw.get("holes"), raw.get("hole_angles_deg")
    if "holes" not in raw and isinstance(angles, list):
        count = len(angles)
    return count if type(count) is int and holes_fault(count) is None else None


def rim_from(raw: object, checker: Checker, where: str) -> Rim | None:
    """The rim, or None after its faults are added to the checker.

    Parameters
    ----------
    raw : object
        What the file holds at ``where``.
    checker : Checker
    where : str
        Dotted key.
    """
    if not checker.expect_table(raw, where):
        return None
    table = checker.table(schema.RimTable, raw, where)
    fields = checker.fields(table, raw, where, "rim")
    stiffness = _stiffnesses(table, raw, checker, where)
    counted = "holes" if "holes" in raw else "hole_angles_deg"
    checker.origins["rim.holes"] = Origin(f"{where}.{counted}", raw.get(counted))
    if table.section_radius_mm is None:
        fields["section_radius"] = fields["seat_radius"]
        checker.origins["rim.section_radius"] = checker.origins["rim.seat_radius"]
    if table.holes is not None:
        fault = holes_fault(table.holes)  # told before that many angles are made
        checker.translate([fault], "rim")
        # The valve lies midway between the last spoke and the first.
        fields["hole_angles"] = None if fault else tuple(
            (i + 0.5) * 2 * math.pi / table.holes for i in range(table.holes))
    angles = fields.pop("hole_angles", None)
    joint = None
    if "joint" in raw:
        joint = checker.part(Joint, schema.JointTable, raw["joint"], f"{where}.joint", "rim.joint")
    fields |= {"joint": joint, "hole_angles": angles or SOME_ANGLES, **(stiffness or SOME_STIFFNESSES)}
    rim = checker.make(Rim, "rim", **fields)
    return rim if angles is not None and stiffness and (joint or "joint" not in raw) else None


def _stiffnesses(table: schema.RimTable, raw: Tables, checker: Checker, where: str) -> dict[str, float] | None:
    """The rim's four stiffnesses in SI, from its kind or as written; None after faults are added."""
    kinds = ", ".join(f'"{name}"' for name in KINDS)
    written = {field: getattr(table, key) for field, key in STIFFNESS_KEYS.items() if key in raw}
    if f"{where}.kind" in checker.unjudged:
        return None
    if table.kind is None:
        if not written:
            checker.add(f"{where}.kind", None, f"expected a kind ({kinds}) or, instead, the four stiffnesses")
            return None
        absent = [key for field, key in STIFFNESS_KEYS.items() if field not in written]
        for key in absent:
            checker.add(f"{where}.{key}", None, "expected all four stiffnesses where no kind is given")
        return None if absent else written
    for key in (STIFFNESS_KEYS[field] for field in written):
        checker.add(f"{where}.{key}", raw[key], "expected instead of kind, not beside it")
    kind = KINDS.get(table.kind)
    if kind is None:
        checker.add(f"{where}.kind", table.kind, f"expected one of {kinds}")
    if kind is None or written:
        return None
    return {field: getattr(kind, field) for field in STIFFNESS_KEYS}
