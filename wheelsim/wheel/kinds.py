"""Generic kinds of rim, for those who can't know a rim's stiffness.

The seven tapped alloy rims of M. Ford, "Reinventing the Wheel", PhD dissertation, Northwestern
University, 2018, fall into three groups by torsion. Two columns are derived: bending out of the
wheel's plane, GJ / mu of the same rows, and stretch, mass / (2 pi R) / (2700 kg/m3) of section times
69 GPa. A kind's range is the smallest and largest of its rows widened by 13 %, the most by which static tests of the
same rims differ in torsion. Out of the wheel's plane they came out up to 50 % stiffer (156 tapped against 234 N m2),
so that range reaches as far up. The value used is a round number inside it.
"""

from dataclasses import dataclass
from typing import TypeAlias

SOURCE = "Ford, PhD dissertation, Northwestern University, 2018: tapped rims"
SPREAD = 0.13
STATIC_OVER_TAPPED = 0.50  # of lateral bending, at most

Rows: TypeAlias = dict[str, tuple[float, float]]  # quantity to its (smallest, largest)


@dataclass(frozen=True)
class RimKind:
    """Stiffness of a generic rim: the value used, and the rows of the source it rests on.

    Bendings and torsion in N m2, stretch in N; ``rows`` maps each to (smallest, largest) measured.
    """

    name: str
    look: str
    radial_bending: float
    lateral_bending: float
    torsion: float
    stretch: float
    rows: Rows
    source: str

    def range(self, quantity: str) -> tuple[float, float]:
        """(low, high) within which a rim of this kind may well lie, in the unit of the quantity."""
        low, high = self.rows[quantity]
        up = STATIC_OVER_TAPPED if quantity == "lateral_bending" else SPREAD
        return low * (1 - SPREAD), high * (1 + up)


STIFFNESS_KEYS = {
    "radial_bending": "radial_bending_Nm2", "lateral_bending": "lateral_bending_Nm2",
    "torsion": "torsion_Nm2", "stretch": "stretch_N",
}  # as wheel files write them


def kinds_as_dict() -> dict[str, dict[str, object]]:
    """Every kind with what is used, the range and the source, under the keys of wheel files."""
    return {
        name: {"look": kind.look, "source": kind.source,
               **{key: {"used": getattr(kind, field), "range": list(kind.range(field))}
                  for field, key in STIFFNESS_KEYS.items()}}
        for name, kind in KINDS.items()
    }


def _rows(radial_bending: tuple[float, float], lateral_bending: tuple[float, float], torsion: tuple[float, float],
          stretch: tuple[float, float]) -> Rows:
    return {"radial_bending": radial_bending, "lateral_bending": lateral_bending,
            "torsion": torsion, "stretch": stretch}


KINDS = {
    kind.name: kind
    for kind in (
        RimKind("box alloy", "hollow section, about as wide as deep", 110.0, 200.0, 25.0, 7.0e6,
                _rows((103.0, 111.0), (151.0, 219.0), (26.3, 26.4), (7.1e6, 7.2e6)),
                f"{SOURCE}, rows 3 and 4 (R 217 and 304 mm)"),
        RimKind("shallow alloy", "light or low section, wider than deep", 120.0, 150.0, 17.0, 7.4e6,
                _rows((114.0, 131.0), (128.0, 157.0), (14.6, 19.2), (6.9e6, 7.9e6)),
                f"{SOURCE}, rows 5 to 7 (R 271 to 307 mm)"),
        RimKind("deep alloy", "hollow section, much deeper than wide", 290.0, 220.0, 95.0, 6.3e6,
                _rows((274.0, 310.0), (211.0, 231.0), (85.7, 103.6), (6.1e6, 6.4e6)),
                f"{SOURCE}, rows 1 and 2 (R 304 and 305 mm)"),
    )
}
