"""Shape and type of every table of a wheel or job file.

The rules of ranges are not here: the parts of the wheel state them. Scalars are strict. A table
names the keys of which exactly one (``one_of``), one or more (``at_least_one``), at most one
(``at_most_one``) or all or none (``together``) may be written, those whose entries are refused one by
one (``entries``), and says of keys that stand ``elsewhere`` where they belong.
"""

import math
import re
from collections.abc import Mapping
from types import UnionType
from typing import Annotated, Any, ClassVar, Literal, Union, get_args, get_origin

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    field_validator,
)

from wheelsim.units import MOST_TURNS, parse_turns

# In place of a value that was refused, so that the rest of its table is still read.
REFUSED = object()


def _by_spoke(value: object) -> dict[str, object]:
    """A list, one entry a spoke, as the table it stands for."""
    if isinstance(value, list):
        return {str(i + 1): entry for i, entry in enumerate(value)}
    if isinstance(value, dict):
        return value
    raise ValueError("expected a table such as { 7 = 0.6 }, or a list with one number a spoke")


def _spoke_number(key: str) -> int:
    if re.fullmatch(r"0|[1-9][0-9]{0,5}", key) is None:
        raise ValueError("expected the number of a spoke as the key, such as 7 = 0.6")
    return int(key)


def _turned(key: str) -> str:
    """Which nipples a pass turned: a spoke, a run of spokes or a side."""
    if re.fullmatch(r"right|left|[1-9][0-9]{0,5}(-[1-9][0-9]{0,5})?", key) is None:
        raise ValueError('expected a spoke, a run of spokes such as "7-9", or right or left as the key')
    return key


def _pair(value: object) -> list[object]:
    """One number for both, or the two numbers."""
    if isinstance(value, list):
        return value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return [value, value]
    raise ValueError("expected a number, or two as [trailing, leading]")


def _turns(value: object, number: ValidatorFunctionWrapHandler) -> float:
    if isinstance(value, str):
        try:
            return parse_turns(value)
        except ValueError as error:
            raise ValueError(str(error).rpartition("; ")[2]) from None
    turns: float = number(value)
    if abs(turns) > MOST_TURNS:
        raise ValueError(f"expected turns between -{MOST_TURNS} and {MOST_TURNS}")
    return turns


def _or_from_load(value: object, number: ValidatorFunctionWrapHandler) -> object:
    if isinstance(value, str) and value != "from load":
        raise ValueError('expected a number or "from load"')
    return value if isinstance(value, str) else number(value)


def _or_flag(value: object, table: ValidatorFunctionWrapHandler) -> object:
    return value if isinstance(value, bool) else table(value)


def _tables(value: object) -> list[object]:
    if not isinstance(value, list):
        raise ValueError("expected tables in double brackets, such as [[reading]] or [[pass]]")
    return value


Number = Annotated[float, Field(allow_inf_nan=False)]
Positive = Annotated[float, Field(allow_inf_nan=False, gt=0)]
Whole = Annotated[int, Field(ge=-(10**9), le=10**9)]
Counting = Annotated[int, Field(ge=1, le=10**9)]
Turns = Annotated[float, Field(allow_inf_nan=False), WrapValidator(_turns)]
SpokeKey = Annotated[int, BeforeValidator(_spoke_number)]
PerSpoke = Annotated[dict[SpokeKey, Number], BeforeValidator(_by_spoke)]
PositivePerSpoke = Annotated[dict[SpokeKey, Positive], BeforeValidator(_by_spoke)]
TurnsOfPass = Annotated[dict[Annotated[str, BeforeValidator(_turned)], Turns], BeforeValidator(_by_spoke)]
Pair = Annotated[list[Number], Field(min_length=2, max_length=2)]
Segments = list[Pair]


class Table(BaseModel):
    """Base of the tables; a key that is another table is ``Any`` here and checked on its own."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)
    one_of: ClassVar[tuple[tuple[str, ...], ...]] = ()
    at_least_one: ClassVar[tuple[tuple[str, ...], ...]] = ()
    at_most_one: ClassVar[tuple[tuple[str, ...], ...]] = ()
    together: ClassVar[tuple[tuple[str, ...], ...]] = ()
    entries: ClassVar[tuple[str, ...]] = ()
    elsewhere: ClassVar[Mapping[str, str]] = {}

    @field_validator("*", mode="wrap")
    @classmethod
    def _stand_in(cls, value: object, handler: ValidatorFunctionWrapHandler, info: ValidationInfo) -> object:
        """NaN for a refused number, which no rule of a part takes for a number; None for the rest."""
        if value is not REFUSED:
            return handler(value)
        assert info.field_name is not None, "a validator of fields is told which"
        kind = cls.model_fields[info.field_name].annotation
        kinds = get_args(kind) if get_origin(kind) in (Union, UnionType) else (kind,)
        plain = {get_args(one)[0] if get_origin(one) is Annotated else one for one in kinds}
        return math.nan if plain & {float, int} else None


class WheelFile(Table):
    elsewhere = dict.fromkeys(("reading", "work", "errors", "pass"), 'belongs in a job file, which has wheel = "..."')
    format: Counting = 1
    name: str | None = None
    hub: Any = None
    rim: Any = None
    spokes: Any = None
    tension: Any = None
    limits: Any = None
    aims: Any = None
    load: Any = None
    tyre: Any = None


class HubTable(Table):
    contact_width_mm: Number = Field(description="the width between the faces that touch frame or fork")
    left: Any = None
    right: Any = None


class FlangeTable(Table):
    one_of = (("flange_mm", "face_to_flange_mm"),)
    flange_mm: Number | None = None
    face_to_flange_mm: Number | None = None
    hole_circle_mm: Number = Field(description="the diameter of the circle of spoke holes")


class RimTable(Table):
    one_of = (("holes", "hole_angles_deg"),)
    holes: Whole | None = None
    hole_angles_deg: list[Number] | None = None
    nipple_seat_diameter_mm: Number = Field(description="the diameter where the nipple heads sit")
    section_radius_mm: Number | None = None
    edge_radius_mm: Number | None = None
    seat_offset_mm: Number = 0.0
    drilling_offset_mm: Number = 0.0
    kind: str | None = None
    radial_bending_Nm2: Number | None = None
    lateral_bending_Nm2: Number | None = None
    torsion_Nm2: Number | None = None
    stretch_N: Number | None = None
    joint: Any = None


class JointTable(Table):
    at_deg: Number = 180.0
    arc_deg: Number = Field(description="how much of the rim it takes, in degrees")
    stiffness: Number = Field(description="its stiffness as a multiple of the rim's")


class SpokesTable(Table):
    at_most_one = (("diameter_mm", "segments_mm"),)
    entries = ("missing",)
    first: Literal["right", "left"] | None = None
    sides: str | None = None
    left: Any = None
    right: Any = None
    diameter_mm: Number | None = None
    segments_mm: Segments | None = None
    modulus_GPa: Number = 200.0
    threads_per_inch: Positive = 56.0
    missing: list[Whole] = []


class SideTable(Table):
    one_of = (("cross", "angle_deg"),)
    at_most_one = (("diameter_mm", "segments_mm"),)
    cross: Whole | None = None
    angle_deg: Number | None = None
    starts: str = "trailing"
    spoke_line_mm: Annotated[Pair, BeforeValidator(_pair)] = [0.0, 0.0]
    diameter_mm: Number | None = None
    segments_mm: Segments | None = None


class TensionTable(Table):
    one_of = (("right_N", "left_N", "right_kgf", "left_kgf"),)
    right_N: Number | None = None
    left_N: Number | None = None
    right_kgf: Number | None = None
    left_kgf: Number | None = None


class LimitsTable(Table):
    """[limits] and [aims]; what is absent takes the defaults of the parts."""

    at_most_one = (("max_tension_N", "max_tension_kgf"), ("min_tension_N", "min_tension_kgf"))
    max_tension_N: Number | None = None
    max_tension_kgf: Number | None = None
    min_tension_N: Annotated[float, Field(allow_inf_nan=False), WrapValidator(_or_from_load)] | None = None
    min_tension_kgf: Number | None = None
    gap_mm: Number | None = None
    lateral_runout_mm: Number | None = None
    radial_runout_mm: Number | None = None
    side_spread_percent: Number | None = None
    tension_percent: Number | None = None


class LoadTable(Table):
    """Loads on the wheel in use."""

    radial_N: Number | None = None
    lateral_N: Number | None = None


class TyreTable(Table):
    """The tyre in use."""

    pressure_bar: Number | None = None
    width_mm: Number | None = None
    height_mm: Number | None = None


class JobFile(Table):
    elsewhere = dict.fromkeys(
        ("hub", "rim", "spokes", "tension", "limits", "aims"), "belongs in the wheel file, or under [wheel]"
    )
    format: Counting = 1
    wheel: Any = None
    reading: Annotated[list[Any], BeforeValidator(_tables)] = []
    work: Any = None
    errors: Any = None
    passes: Annotated[list[Any], BeforeValidator(_tables)] = Field([], alias="pass")


class GaugeTable(Table):
    one_of = (("gap_mm", "gap_threads", "passes_mm"),)
    together = (("passes_mm", "stops_mm"),)
    set_on: str = Field(description='"right" or "left"')
    gap_at: str = Field(description='"hub", "feet" (held level) or "one foot"')
    gap_mm: Number | None = None
    gap_threads: Number | None = None
    passes_mm: Number | None = None
    stops_mm: Number | None = None


class DialTable(Table):
    """The highest or the lowest place of the rim."""

    spoke: Whole = Field(description="the number of the nearest spoke")
    mm: Number = Field(description="what the dial shows there")


class ReadingTable(Table):
    at_most_one = (
        ("lateral_mm", "lateral_high"),
        ("lateral_mm", "lateral_low"),
        ("radial_mm", "radial_high"),
        ("radial_mm", "radial_low"),
        ("tension_N", "tension_kgf", "meter", "tone_Hz"),
    )
    together = (("meter", "meter_chart"),)
    entries = ("lateral_mm", "radial_mm", "tension_N", "tension_kgf", "meter", "tone_Hz", "read_again")
    label: str = ""
    gauge: Any = None
    lateral_mm: PerSpoke | None = None
    lateral_high: Any = None
    lateral_low: Any = None
    radial_mm: PerSpoke | None = None
    radial_high: Any = None
    radial_low: Any = None
    tension_N: PerSpoke | None = None
    tension_kgf: PerSpoke | None = None
    meter: PerSpoke | None = None
    meter_chart: str | None = None
    tone_Hz: PositivePerSpoke | None = None
    dial_radius_mm: Number | None = None
    tyre: str = "off"
    after_pass: Annotated[int, Field(ge=0, le=10**9)] | None = None
    read_again: list[Whole] = []


class WorkTable(Table):
    entries = ("stuck", "leave")
    step_turns: Turns = 0.25
    stuck: list[Whole] = []
    leave: list[Whole] = []
    margin: Number = 1.0
    target_dish_mm: Number = 0.0
    max_turns_per_nipple: Turns | None = None
    sides: str = "both"
    direction: str = "both"
    time_s: Number = 30.0


class ErrorsTable(Table):
    """How far this shop's tools and measures err, as standard deviations."""

    meter_percent: Number | None = None
    sides_percent: Number | None = None
    flange_mm: Number | None = None
    tone_percent: Number | None = None


class PassTable(Table):
    """Turns that were made (``turns``), that are planned and not made yet (``planned`` alone), or both."""

    at_least_one = (("turns", "planned"),)
    entries = ("turns", "planned")
    number: Counting = Field(description="a whole number from 1")
    turns: TurnsOfPass | None = None
    planned: Annotated[TurnsOfPass, WrapValidator(_or_flag)] | None = None  # or a bool, which _or_flag lets by
