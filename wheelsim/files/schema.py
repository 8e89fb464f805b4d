"""Shape and type of every table of a wheel or job file.

The rules of ranges are not here: the parts of the wheel state them. A key says by ``To`` which field of its part it
becomes and in what unit it is written. Scalars are strict. A table names the keys of which exactly one (``one_of``),
one or more (``at_least_one``), at most one (``at_most_one``) or all or none (``together``) may be written, those whose
entries are refused one by one (``entries``), and says of keys that stand ``elsewhere`` where they belong.
"""

import math
from collections.abc import Mapping
from functools import cache
from types import UnionType
from typing import Annotated, Any, ClassVar, Literal, Union, get_args, get_origin

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    field_validator,
)

from wheelsim.files.values import (
    IN_NEWTONS,
    PERCENT,
    THREAD,
    Counting,
    Entries,
    FromZero,
    Number,
    NumberOrFromLoad,
    OneOrTwo,
    PerSpoke,
    Positive,
    PositivePerSpoke,
    Segments,
    To,
    Turns,
    TurnsOfPass,
    TurnsOrFlag,
    Whole,
    lines,
    one_segment,
    pitch,
    radians,
    segments,
)
from wheelsim.units import BAR, KGF, MM

# In place of a value that was refused, so that the rest of its table is still read.
REFUSED = object()


class Table(BaseModel):
    """Base of the tables; a key that is another table is ``Any`` here and checked on its own."""

    # A table is built when the first of its kind is read: most files have few of them.
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, defer_build=True)
    one_of: ClassVar[tuple[tuple[str, ...], ...]] = ()
    at_least_one: ClassVar[tuple[tuple[str, ...], ...]] = ()
    at_most_one: ClassVar[tuple[tuple[str, ...], ...]] = ()
    together: ClassVar[tuple[tuple[str, ...], ...]] = ()
    entries: ClassVar[tuple[str, ...]] = ()
    elsewhere: ClassVar[Mapping[str, str]] = {}

    @classmethod
    @cache
    def becomes(cls) -> dict[str, To]:
        """Keys to what they become, in the order of the table; not those that are treated by themselves."""
        return {name: one for name, info in cls.model_fields.items() for one in info.metadata if isinstance(one, To)}

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
    contact_width_mm: Annotated[Number, To("contact_width", MM)] = Field(
        description="the width between the faces that touch frame or fork")
    left: Any = None
    right: Any = None


class FlangeTable(Table):
    one_of = (("flange_mm", "face_to_flange_mm"),)
    flange_mm: Annotated[Number | None, To("offset", MM)] = None
    face_to_flange_mm: Number | None = None
    hole_circle_mm: Annotated[Number, To("hole_circle", MM)] = Field(
        description="the diameter of the circle of spoke holes")


class RimTable(Table):
    one_of = (("holes", "hole_angles_deg"),)
    holes: Whole | None = None
    hole_angles_deg: Annotated[list[Number] | None, To("hole_angles", radians)] = None
    nipple_seat_diameter_mm: Annotated[Number, To("seat_radius", MM / 2, "a radius of {:g} mm; ", MM)] = Field(
        description="the diameter where the nipple heads sit")
    section_radius_mm: Annotated[Number | None, To("section_radius", MM)] = None
    edge_radius_mm: Annotated[Number | None, To("edge_radius", MM)] = None
    seat_offset_mm: Annotated[Number | None, To("seat_offset", MM)] = None
    drilling_offset_mm: Annotated[Number | None, To("drilling_offset", MM)] = None
    kind: Annotated[str | None, To("kind")] = None
    radial_bending_Nm2: Annotated[Number | None, To("radial_bending")] = None
    lateral_bending_Nm2: Annotated[Number | None, To("lateral_bending")] = None
    torsion_Nm2: Annotated[Number | None, To("torsion")] = None
    stretch_N: Annotated[Number | None, To("stretch")] = None
    joint: Any = None


class JointTable(Table):
    at_deg: Annotated[Number, To("angle", math.radians)] = 180.0
    arc_deg: Annotated[Number, To("arc", math.radians)] = Field(description="how much of the rim it takes, in degrees")
    stiffness: Annotated[Number, To("stiffness")] = Field(description="its stiffness as a multiple of the rim's")


class SpokesTable(Table):
    at_most_one = (("diameter_mm", "segments_mm"),)
    entries = ("missing",)
    first: Literal["right", "left"] | None = None
    sides: Annotated[str | None, To("sides")] = None
    left: Any = None
    right: Any = None
    diameter_mm: Annotated[Number | None, To("diameter", one_segment)] = None
    segments_mm: Annotated[Segments | None, To("segments", segments)] = None
    modulus_GPa: Annotated[Number | None, To("modulus", 1e9)] = None
    threads_per_inch: Annotated[Positive | None, To("thread_pitch", pitch, "a pitch of {:.4g} mm; ", MM)] = None
    missing: Annotated[list[Whole] | None, To("missing", frozenset)] = None


class SideTable(Table):
    one_of = (("cross", "angle_deg"),)
    at_most_one = (("diameter_mm", "segments_mm"),)
    cross: Annotated[Whole | None, To("cross")] = None
    angle_deg: Annotated[Number | None, To("angle", math.radians)] = None
    starts: Annotated[str | None, To("starts")] = None
    spoke_line_mm: Annotated[OneOrTwo | None, To("spoke_line", lines)] = None
    diameter_mm: Annotated[Number | None, To("diameter", one_segment)] = None
    segments_mm: Annotated[Segments | None, To("segments", segments)] = None


class TensionTable(Table):
    one_of = (("right_N", "left_N", "right_kgf", "left_kgf"),)
    right_N: Annotated[Number | None, To("right")] = None
    left_N: Annotated[Number | None, To("left")] = None
    right_kgf: Annotated[Number | None, To("right", KGF, IN_NEWTONS)] = None
    left_kgf: Annotated[Number | None, To("left", KGF, IN_NEWTONS)] = None


class LimitsTable(Table):
    """[limits] and [aims]; what is absent takes the defaults of the parts."""

    at_most_one = (("max_tension_N", "max_tension_kgf"), ("min_tension_N", "min_tension_kgf"))
    max_tension_N: Annotated[Number | None, To("max_tension")] = None
    max_tension_kgf: Annotated[Number | None, To("max_tension", KGF, IN_NEWTONS)] = None
    min_tension_N: Annotated[NumberOrFromLoad | None, To("min_tension")] = None
    min_tension_kgf: Annotated[Number | None, To("min_tension", KGF, IN_NEWTONS)] = None
    gap_mm: Annotated[Number | None, To("gap", MM)] = None
    lateral_runout_mm: Annotated[Number | None, To("lateral_runout", MM)] = None
    radial_runout_mm: Annotated[Number | None, To("radial_runout", MM)] = None
    side_spread_percent: Annotated[Number | None, To("side_spread", PERCENT)] = None
    tension_percent: Annotated[Number | None, To("off_usual", PERCENT)] = None


class LoadTable(Table):
    """Loads on the wheel in use."""

    radial_N: Annotated[Number | None, To("radial")] = None
    lateral_N: Annotated[Number | None, To("lateral")] = None


class TyreTable(Table):
    """The tyre in use."""

    pressure_bar: Annotated[Number | None, To("pressure", BAR)] = None
    width_mm: Annotated[Number | None, To("width", MM)] = None
    height_mm: Annotated[Number | None, To("height", MM)] = None


class JobFile(Table):
    elsewhere = dict.fromkeys(
        ("hub", "rim", "spokes", "tension", "limits", "aims"), "belongs in the wheel file, or under [wheel]"
    )
    format: Counting = 1
    wheel: Any = None
    reading: Entries = []
    work: Any = None
    errors: Any = None
    passes: Entries = Field([], alias="pass")


class GaugeTable(Table):
    one_of = (("gap_mm", "gap_threads", "passes_mm"),)
    together = (("passes_mm", "stops_mm"),)
    set_on: Annotated[str, To("set_on")] = Field(description='"right" or "left"')
    gap_at: Annotated[str, To("gap_at")] = Field(description='"hub", "feet" (held level) or "one foot"')
    gap_mm: Annotated[Number | None, To("low", MM)] = None
    gap_threads: Annotated[Number | None, To("low", THREAD, "is {:g} mm; ", MM)] = None
    passes_mm: Annotated[Number | None, To("low", MM)] = None
    stops_mm: Annotated[Number | None, To("high", MM)] = None


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
    label: Annotated[str | None, To("label")] = None
    gauge: Any = None
    lateral_mm: Annotated[PerSpoke | None, To("lateral", MM)] = None
    lateral_high: Any = None
    lateral_low: Any = None
    radial_mm: Annotated[PerSpoke | None, To("radial", MM)] = None
    radial_high: Any = None
    radial_low: Any = None
    tension_N: Annotated[PerSpoke | None, To("tension")] = None
    tension_kgf: Annotated[PerSpoke | None, To("tension")] = None
    meter: Annotated[PerSpoke | None, To("tension")] = None
    meter_chart: str | None = None
    tone_Hz: Annotated[PositivePerSpoke | None, To("tension")] = None
    dial_radius_mm: Annotated[Number | None, To("dial_radius", MM)] = None
    tyre: Annotated[str | None, To("tyre")] = None
    after_pass: Annotated[FromZero | None, To("after_pass")] = None
    read_again: Annotated[list[Whole] | None, To("read_again", frozenset)] = None


class WorkTable(Table):
    entries = ("stuck", "leave")
    step_turns: Annotated[Turns | None, To("step")] = None
    stuck: Annotated[list[Whole] | None, To("stuck", frozenset)] = None
    leave: Annotated[list[Whole] | None, To("leave", frozenset)] = None
    margin: Annotated[Number | None, To("margin")] = None
    target_dish_mm: Annotated[Number | None, To("target_dish", MM)] = None
    max_turns_per_nipple: Annotated[Turns | None, To("max_turns")] = None
    sides: Annotated[str | None, To("sides")] = None
    direction: Annotated[str | None, To("direction")] = None
    time_s: Annotated[Number | None, To("time")] = None


class ErrorsTable(Table):
    """How far this shop's tools and measures err, as standard deviations."""

    meter_percent: Annotated[Number | None, To("meter", PERCENT)] = None
    sides_percent: Annotated[Number | None, To("sides", PERCENT)] = None
    flange_mm: Annotated[Number | None, To("flange", MM)] = None
    tone_percent: Annotated[Number | None, To("tone", PERCENT)] = None


class PassTable(Table):
    """Turns that were made (``turns``), that are planned and not made yet (``planned`` alone), or both."""

    at_least_one = (("turns", "planned"),)
    entries = ("turns", "planned")
    number: Counting = Field(description="a whole number from 1")
    turns: TurnsOfPass | None = None
    planned: TurnsOrFlag | None = None
    gauge_again: bool | None = None
