"""What a key of a file may hold, and what it becomes. Scalars are strict; ranges are the parts' own rules."""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidatorFunctionWrapHandler, WrapValidator

from wheelsim.units import INCH, MM, MOST_TURNS, parse_turns

THREAD = 1.0 * MM  # pitch of the axle that serves as a feeler [m]
PERCENT = 0.01
IN_NEWTONS = "is {:.5g} N; "


@dataclass(frozen=True)
class To:
    """What a key becomes.

    Parameters
    ----------
    field : str
        Of the table's part.
    unit : float or callable
        Of the key in SI, or what makes the field's value of the written one.
    via : str
        In words, what the part's own rules judge where that isn't the written number: "is {:.5g} N; ".
    scale : float
        Unit of the number in ``via``.
    """

    field: str
    unit: float | Callable[[Any], Any] = 1.0
    via: str = ""
    scale: float = 1.0

    def value(self, written: Any) -> Any:
        """The field's value, in SI; a word stays as it is."""
        if callable(self.unit):
            return self.unit(written)
        return written if self.unit == 1.0 or isinstance(written, str) else written * self.unit

    def words(self, value: Any) -> str:
        """``via`` with the field's value in it."""
        return self.via and self.via.format(value / self.scale)


def pitch(threads_per_inch: float) -> float:
    """Of a thread. [m]"""
    return INCH / threads_per_inch


def segments(rows: list[list[float]]) -> tuple[tuple[float, float], ...]:
    """Diameter and length of each part of a spoke. [m]"""
    return tuple((diameter * MM, length * MM) for diameter, length in rows)


def one_segment(diameter: float) -> tuple[tuple[float, float], ...]:
    """The same of a spoke of one diameter: any length will do, it is a proportion. [m]"""
    return ((diameter * MM, 1.0),)


def radians(degrees: list[float]) -> tuple[float, ...]:
    """Angles. [rad]"""
    return tuple(math.radians(angle) for angle in degrees)


def lines(both: list[float]) -> tuple[float, ...]:
    """Of the trailing and the leading spokes. [m]"""
    return tuple(line * MM for line in both)


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
NumberOrFromLoad = Annotated[float, Field(allow_inf_nan=False), WrapValidator(_or_from_load)]
Whole = Annotated[int, Field(ge=-(10**9), le=10**9)]
FromZero = Annotated[int, Field(ge=0, le=10**9)]
Counting = Annotated[int, Field(ge=1, le=10**9)]
Turns = Annotated[float, Field(allow_inf_nan=False), WrapValidator(_turns)]
SpokeKey = Annotated[int, BeforeValidator(_spoke_number)]
PerSpoke = Annotated[dict[SpokeKey, Number], BeforeValidator(_by_spoke)]
PositivePerSpoke = Annotated[dict[SpokeKey, Positive], BeforeValidator(_by_spoke)]
TurnsOfPass = Annotated[dict[Annotated[str, BeforeValidator(_turned)], Turns], BeforeValidator(_by_spoke)]
Pair = Annotated[list[Number], Field(min_length=2, max_length=2)]
OneOrTwo = Annotated[Pair, BeforeValidator(_pair)]
Segments = list[Pair]
Entries = Annotated[list[Any], BeforeValidator(_tables)]  # of [[reading]], [[pass]]
TurnsOrFlag = Annotated[TurnsOfPass, WrapValidator(_or_flag)]  # true or false is kept as it is
