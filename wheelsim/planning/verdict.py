"""Tighten or loosen, which side, and why: the plan in one answer, put into words by `report.words.verdict`."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Literal, TypeAlias

from wheelsim.arrays import Turns
from wheelsim.encoded import Encoded
from wheelsim.measures.bounds import Bounds, broken
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import Stands, View
from wheelsim.planning.hindrance import Blocking
from wheelsim.planning.sides import main_sides
from wheelsim.planning.ways import Way
from wheelsim.wheel.parts import SIDES, USUAL_WITHIN, Side

Status: TypeAlias = Literal["proven", "best so far", "none", "not found", "nothing to do"]


@dataclass(frozen=True)
class GaugeUnread:
    """The gauge was not read, so where the rim stands isn't known."""


@dataclass(frozen=True)
class RimUnread:
    """The rim is out of true at the few places read, so far that the gauge can't be believed."""

    true: float  # of the places read, at least [m]
    limit: float  # [m]
    gauge_off: float  # what the wobble may set a gauge reading off by [m]


@dataclass(frozen=True)
class NothingRead:
    """Nothing was read: as its file describes it, the wheel is true and centred."""


@dataclass(frozen=True)
class LeaveIt:
    """The wheel is within its limits and is left; ``unmet`` are aims that turns in these steps bring no nearer."""

    unmet: tuple[Quantity, ...] = ()


@dataclass(frozen=True)
class NoneFound:
    """No plan was found that can be carried out."""


@dataclass(frozen=True)
class NoneExists:
    """No turns bring the wheel within its limits, for what blocks; ``stands`` False: it has no stable state at all."""

    blocking: tuple[Blocking, ...]
    stands: bool


class Reason(Enum):
    """Why this side and this way."""

    SLACK = "slack"
    ABOVE_LIMIT = "above limit"
    TIGHT = "tight"
    OFF_CENTRE = "off-centre"


@dataclass(frozen=True, eq=False)
class Move:
    """The turns of a plan and what they do.

    Attributes
    ----------
    turns : (n,) ndarray
        [turn]
    before, after : View
    reason : Reason or None
        None: neither tension nor dish, but true, round or spread.
    side : "right" or "left"
        Whose tension tells the reason.
    refused : tuple of Way
        Ways to centre the rim that pass a limit.
    limits : Bounds
    first : "right" or "left"
        Flange of the first pass.
    """

    turns: Turns
    before: View
    after: View
    reason: Reason | None
    side: Side
    refused: tuple[Way, ...]
    limits: Bounds
    first: Side = "right"


Why: TypeAlias = GaugeUnread | RimUnread | NothingRead | LeaveIt | NoneFound | NoneExists | Move


@dataclass(frozen=True, eq=False)
class Verdict(Encoded):
    """``side``: "right", "left", "both" or None. ``action``: "tighten", "loosen", "both", "read" or None."""

    side: str | None
    action: str | None
    why: Why


def verdict_of(status: Status, before: View | None, after: View | None, turns: Turns | None, ways: Sequence[Way],
               limits: Bounds, blocking: Sequence[Blocking], *, unmet: Collection[Quantity] = (), read: bool = True,
               aims: Bounds | None = None, unread: GaugeUnread | RimUnread | None = None,
               first: Side = "right") -> Verdict:
    """Verdict on a finished plan.

    Parameters
    ----------
    status : str
    before, after : View or None
    turns : (n,) ndarray or None
    ways : tuple of Way
    limits : Bounds
    blocking : tuple of Blocking
    unmet : tuple of Quantity
        Aims that stay unmet.
    read : bool
        Whether anything was read of the wheel.
    aims : Bounds, optional
        For how near to the usual tension the sides should end.
    unread : GaugeUnread or RimUnread, optional
        What must be read before anything is turned.
    first : "right" or "left"
        Flange of the first pass.

    Raises
    ------
    ValueError
        If a plan is found but its turns, or the wheel before or after them, are not given.
    """
    if unread:
        return Verdict(None, "read", unread)
    if status == "nothing to do":
        return Verdict(None, None, LeaveIt(tuple(unmet)) if read else NothingRead())
    if status == "not found":
        return Verdict(None, None, NoneFound())
    if status == "none":
        return Verdict(None, None, NoneExists(tuple(blocking), before is not None))
    if before is None or after is None or turns is None:
        raise ValueError(f"status {status!r}; expected turns and the wheel before and after them")
    side, action = _main_move(before, turns)
    reason, told_of = _reason(before, limits, aims or limits)
    refused = tuple(way for way in ways if way.outside or way.after is None)
    return Verdict(side, action, Move(turns, before, after, reason, told_of, refused, limits, first))


def _main_move(before: View, turns: Turns) -> tuple[str, str]:
    """Side and action of most of the turns."""
    main = main_sides(before.state.wheel, turns)
    if not main:
        return "both", "both"
    actions = {"tighten" if value > 0 else "loosen" for value in main.values()}
    side = next(iter(main)) if len(main) == 1 else "both"
    return side, actions.pop() if len(actions) == 1 else "both"


def _reason(before: View, limits: Bounds, aims: Bounds) -> tuple[Reason | None, Side]:
    """Why this side and this way: the tension comes first, then where the rim lies; and the side that usually has more.

    Tension decides how the dish is mended, so a slack or a tight wheel is called that whatever its dish is.
    """
    usual = before.usual
    side = before.tighter_side if usual["right"] == usual["left"] else max(SIDES, key=lambda one: usual[one])
    stands = before.stands(aims.off_usual if math.isfinite(aims.off_usual) else USUAL_WITHIN)
    if stands is Stands.SLACK:
        return Reason.SLACK, side
    if before.highest > limits.max_tension:
        return Reason.ABOVE_LIMIT, side
    if stands is Stands.TIGHT:
        return Reason.TIGHT, side
    return Reason.OFF_CENTRE if Quantity.GAP in broken(before.values, aims) else None, side
