"""Tighten or loosen, which side, and why: the plan in one answer, put into words by `report.words.verdict`."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Literal, TypeAlias

from wheelsim.arrays import Turns
from wheelsim.encoded import Encoded
from wheelsim.estimation.doubts import Doubt
from wheelsim.measures.bounds import Bounds, broken, within
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import Stands, View
from wheelsim.planning.hindrance import Blocking
from wheelsim.planning.sides import main_sides
from wheelsim.planning.stands_out import OddSpoke
from wheelsim.planning.ways import Way
from wheelsim.wheel.parts import SIDES, USUAL_WITHIN, Side
from wheelsim.wheel.sides import OTHER

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
class ReadFirst:
    """What was read or logged is in doubt and decides what is turned; it is read again first."""

    doubts: tuple[Doubt, ...]


@dataclass(frozen=True)
class NothingRead:
    """Nothing was read: as its file describes it, the wheel is true and centred."""


@dataclass(frozen=True)
class LeaveIt:
    """The wheel is within its limits and is left.

    ``unmet`` are aims that turns in these steps bring no nearer, ``unread`` limits of which not enough was read,
    ``read_before`` those that weren't read since the last pass. ``off_usual``: how far a slack or tight wheel lies from
    the usual tension, as a fraction of it, minus below; nought for any other.
    """

    unmet: tuple[Quantity, ...] = ()
    unread: tuple[Quantity, ...] = ()
    read_before: tuple[Quantity, ...] = ()
    off_usual: float = 0.0


@dataclass(frozen=True)
class SinceUnread:
    """By the prediction the wheel is within its limits, but it was not read since these passes."""

    passes: tuple[int, ...]


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
    ODD_SPOKE = "odd spoke"
    SPOKE_ABOVE = "spoke above limit"
    UNTRUE = "out of true"
    UNROUND = "out of round"
    UNEVEN = "uneven"
    NEW_SPOKE = "new spoke"


BY_SPOKES = {Quantity.TRUE: Reason.UNTRUE, Quantity.ROUND: Reason.UNROUND, Quantity.SPREAD: Reason.UNEVEN}


@dataclass(frozen=True, eq=False)
class Move:
    """The turns of a plan and what they do.

    Attributes
    ----------
    turns : (n,) ndarray
        [turn]
    before, after : View
    reason : Reason or None
        None: the plan was made for no limit or aim that this wheel misses.
    side : "right" or "left"
        Whose tension, or spread, tells the reason.
    refused : tuple of Way
        Ways to centre the rim that pass a limit.
    limits : Bounds
    first : "right" or "left"
        Flange of the first pass, for where no passes are told.
    odd : tuple of OddSpoke
        Spokes that stand out of their sides, where they are the reason.
    passes : tuple of (n,) ndarray
        Turns of each pass. [turn]
    beside : Reason or None
        For a rim off centre: what else is past its limit that single spokes mend.
    new : tuple of int
        Spokes that are missing, from 1: new ones are put in first.
    tensions_read : bool
        Whether enough tensions were read; else the mean of a side is mostly taken as usual.
    """

    turns: Turns
    before: View
    after: View
    reason: Reason | None
    side: Side
    refused: tuple[Way, ...]
    limits: Bounds
    first: Side = "right"
    odd: tuple[OddSpoke, ...] = ()
    passes: tuple[Turns, ...] = ()
    beside: Reason | None = None
    new: tuple[int, ...] = ()
    tensions_read: bool = True


ToRead: TypeAlias = GaugeUnread | RimUnread | ReadFirst | SinceUnread  # before anything is turned
Why: TypeAlias = ToRead | NothingRead | LeaveIt | NoneFound | NoneExists | Move


@dataclass(frozen=True, eq=False)
class Verdict(Encoded):
    """``side``: "right", "left", "both" or None. ``action``: "tighten", "loosen", "both", "read" or None."""

    side: str | None
    action: str | None
    why: Why


def verdict_of(status: Status, before: View | None, after: View | None, turns: Turns | None, ways: Sequence[Way],
               limits: Bounds, blocking: Sequence[Blocking], *, unmet: Collection[Quantity] = (), read: bool = True,
               aims: Bounds | None = None, unread: ToRead | None = None,
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
    unread : GaugeUnread, RimUnread or ReadFirst, optional
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
        off = before.stands_off if before is not None and abs(before.stands_off) > about(aims or limits) else 0.0
        return Verdict(None, None, LeaveIt(tuple(unmet), off_usual=off) if read else NothingRead())
    if status == "not found":
        return Verdict(None, None, NoneFound())
    if status == "none":
        return Verdict(None, None, NoneExists(tuple(blocking), before is not None))
    if before is None or after is None or turns is None:
        raise ValueError(f"status {status!r}; expected turns and the wheel before and after them")
    side, action = _main_move(before, turns)
    missed = broken(before.values, aims or limits)
    reason, told_of = _reason(before, limits, aims or limits, missed)
    refused = tuple(way for way in ways if way.outside or way.after is None)
    return Verdict(side, action, Move(turns, before, after, reason, told_of, refused, limits, first))


def explained(told: Verdict, aims: Bounds, read: Mapping[str, bool], odd: Sequence[OddSpoke],
              passes: Sequence[Turns], new: Collection[int] = (), since: tuple[int, ...] = (),
              read_before: tuple[Quantity, ...] = ()) -> Verdict:
    """The verdict with what is known beside its turns: the order of the passes, odd spokes, what was read.

    Parameters
    ----------
    told : Verdict
    aims : Bounds
    read : dict of str to bool
        As ``certainty.was_read``; what was not read is no reason.
    odd : sequence of OddSpoke
        Of the wheel before.
    passes : sequence of (n,) ndarray
        [turn]
    new : collection of int
        Spokes that are missing, from 1.
    since : tuple of int
        Numbers of the passes made after the last reading.
    read_before : tuple of Quantity
        Limits that were read, but not since the last pass.
    """
    why = told.why
    if isinstance(why, LeaveIt):
        if since:
            return Verdict(None, "read", SinceUnread(since))
        return replace(told, why=replace(why, unread=tuple(name for name in Quantity if not read.get(name, True)),
                                         read_before=read_before))
    if not isinstance(why, Move):
        return told
    why = replace(why, tensions_read=bool(read.get(Quantity.HIGHEST)))
    if new:
        return replace(told, why=replace(why, reason=Reason.NEW_SPOKE, passes=tuple(passes), new=tuple(new)))
    missed = [name for name in broken(why.before.values, aims) if read.get(name)]
    mended = tuple(one for one in odd if why.turns[one.spoke - 1] * one.turn > 0)
    alone = sum(abs(float(why.turns[one.spoke - 1])) for one in mended)
    if mended and (Quantity.GAP not in missed or alone > float(abs(why.turns).sum()) / 2):
        reason: Reason | None = Reason.ODD_SPOKE
        side = mended[0].side
    else:
        mended = ()
        reason, side = _reason(why.before, why.limits, aims, missed)
    past = [name for name in broken(why.before.values, why.limits) if name in missed]
    beside = _of_spokes(why.before, why.limits, past) if reason is Reason.OFF_CENTRE else None
    return replace(told, why=replace(why, reason=reason, side=side, odd=mended, passes=tuple(passes),
                                     beside=None if beside is None else BY_SPOKES[beside]))


def about(aims: Bounds) -> float:
    """How far a side's mean may lie from its usual tension, as a fraction, to be called about right."""
    return aims.off_usual if math.isfinite(aims.off_usual) else USUAL_WITHIN


def _main_move(before: View, turns: Turns) -> tuple[str, str]:
    """Side and action of most of the turns."""
    main = main_sides(before.state.wheel, turns)
    if not main:
        return "both", "both"
    actions = {"tighten" if value > 0 else "loosen" for value in main.values()}
    side = next(iter(main)) if len(main) == 1 else "both"
    return side, actions.pop() if len(actions) == 1 else "both"


def _reason(before: View, limits: Bounds, aims: Bounds,
            missed: Collection[Quantity]) -> tuple[Reason | None, Side]:
    """Why this side and this way: the tension comes first, then where the rim lies, then what single spokes mend.

    Tension decides how the dish is mended, so a slack or a tight wheel is called that whatever its dish is. The side is
    the one that usually has more tension; for a reason that lies on one side, that one.
    """
    usual = before.usual
    side = before.tighter_side if usual["right"] == usual["left"] else max(SIDES, key=lambda one: usual[one])
    stands = before.stands(about(aims))
    if stands is Stands.SLACK:
        return Reason.SLACK, side
    if not within(Quantity.HIGHEST, before.highest, limits.max_tension):
        off = {one: before.mean[one] - usual[one] for one in SIDES}
        if max(off.values()) > 0:
            return Reason.ABOVE_LIMIT, side if off[side] > 0 else OTHER[side]
        return Reason.SPOKE_ABOVE, side
    if stands is Stands.TIGHT:
        return Reason.TIGHT, side
    if Quantity.GAP in missed:
        return Reason.OFF_CENTRE, side
    worst = _of_spokes(before, aims, missed)
    if worst is None:
        return None, side
    uneven = max(SIDES, key=lambda one: before.spread[one])
    return BY_SPOKES[worst], uneven if worst is Quantity.SPREAD else side


def _of_spokes(before: View, bounds: Bounds, missed: Collection[Quantity]) -> Quantity | None:
    """Of true, round and spread the one that misses its bound by the largest factor; None if none does."""
    values = before.values
    return max((name for name in BY_SPOKES if name in missed), key=lambda name: values[name] / bounds.of(name),
               default=None)
