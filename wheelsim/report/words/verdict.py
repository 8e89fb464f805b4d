"""A plan's verdict in words: tighten or loosen, which side, and why."""

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.planning.hindrance import Blocking
from wheelsim.planning.verdict import (
    GaugeUnread,
    LeaveIt,
    Move,
    NoneExists,
    NoneFound,
    NothingRead,
    Reason,
    RimUnread,
    Verdict,
)
from wheelsim.planning.ways import Way
from wheelsim.report.words.passes import way_words
from wheelsim.report.words.shared import no_stable_words, spokes_words
from wheelsim.units import MM, turns_text
from wheelsim.wheel.parts import SIDES, Side, Wheel

MOST_NAMED = 4  # own choice: a side with at most so many exceptions is described as a whole side
MOST_REFUSED = 2  # own choice: rejected ways mentioned at most, so that the sentence stays readable


def verdict_words(told: Verdict) -> str:
    """The verdict and its reason, in one or two full sentences."""
    match told.why:
        case GaugeUnread():
            return "The gauge was not read, so where the rim stands isn't known: read it before anything is turned."
        case RimUnread(true, limit, gauge_off):
            return (f"The rim is out of true by {true / MM:.2f} mm or more (limit {limit / MM:.2f} mm): a gauge "
                    f"reading may be off by {gauge_off / MM:.2f} mm for it, and the dial was read at too few places to "
                    "true it by. Read the dial all round before anything is turned.")
        case NothingRead():
            return ("Nothing was read of this wheel: as its file describes it, true and centred, there is nothing to "
                    "do.")
        case LeaveIt(unmet):
            if not unmet:
                return "The wheel is where it should be; leave it."
            what = ", ".join(one.trade for one in unmet)
            return (f"Within its limits; no turns in these steps bring it nearer its aim in {what} and keep the margin "
                    "from every limit. Leave it.")
        case NoneFound():
            return "No plan was found that can be carried out; more time or a finer step may have one."
        case NoneExists(blocking, stands):
            alone = len(blocking) > 1 and all(one.alone for one in blocking)
            what = ("one of these would allow it, to fractions of a step: " if alone else "") + (
                ", or " if alone else "; ").join(map(blocking_words, blocking)) or "the limits contradict each other"
            return (f"No set of turns brings this wheel within its limits: {what}." if stands else
                    f"There is no wheel to plan from: {what}.")
        case Move():
            return _move(told.why)


def blocking_words(one: Blocking) -> str:
    """What a limit that prevents a plan would have to be."""
    if one.because:
        return f"{no_stable_words(one.because)}; it buckles at {one.limit:.0f} N on the right"
    digits = 0 if one.unit == "N" else 2 if abs(one.needed - one.limit) > 0.02 else 3
    needed, kept, stated = (f"{value:.{digits}f} {one.unit}" for value in (one.needed, one.limit, one.stated))
    tighter = "" if one.limit == one.stated else (f" (kept here; the limit is {stated}, less what the readings leave "
                                                  "unsure or what the wheel keeps already: --margin 0, --to limits)")
    return f"{Quantity(one.name).trade} would have to be {needed} instead of {kept}{tighter}"


def _move(why: Move) -> str:
    """The sentence for a plan that turns something: reason, turns, effect, rejected ways."""
    before, after = why.before, why.after
    moved = (f"gap {_gap(before, after)}, "
             f"right {before.mean['right']:.0f} to {after.mean['right']:.0f} N, "
             f"left {before.mean['left']:.0f} to {after.mean['left']:.0f} N on average")
    refused = [line for way in why.refused[:MOST_REFUSED] if (line := _refused(way, why))]
    start, reason = _instruction(before.state.wheel, why.turns, why.first), _reason(why)
    if reason is not None:
        start = f"{reason}, so {start[:1].lower()}{start[1:]}"
    return f"{start}: {moved}" + (f"; {'; '.join(refused)}" if refused else "") + "."


def _reason(why: Move) -> str | None:
    """The reason for this side and direction, as the first part of the sentence; None if there is none to tell."""
    before, limit = why.before, why.limits.max_tension
    tension = f"{why.side} {before.mean[why.side]:.0f} N, usual {before.usual[why.side]:.0f} N"
    match why.reason:
        case Reason.SLACK:
            return f"The wheel is slack ({tension})"
        case Reason.ABOVE_LIMIT:
            return f"The wheel is too tight (highest {before.highest:.0f} N, limit {limit:.0f} N; {tension})"
        case Reason.TIGHT:
            return f"The wheel is tight ({tension})"
        case Reason.OFF_CENTRE:
            lies = "right" if before.off_target > 0 else "left"
            return f"The rim lies {lies}, its tension is about right ({tension})"
        case None:
            return None


def _refused(way: Way, why: Move) -> str:
    """Why a way to centre the rim is rejected: the first limit that it breaks."""
    if way.after is None:
        return f"to {way_words(way)} leaves no stable wheel"
    if way.outside[0] not in set(Quantity):
        return f"to {way_words(way)} is more than a nipple may be turned"
    quantity = Quantity(way.outside[0])
    value, limit = (_figure(one * quantity.per_si, quantity.unit)
                    for one in (way.after.values[quantity], why.limits.of(quantity)))
    return f"to {way_words(way)} would take the {quantity.trade} to {value} (limit {limit})"


def _figure(value: float, unit: str) -> str:
    return f"{value:.0f} {unit}" if unit in ("N", "%") else f"{value:.2f} {unit}"


def _gap(before: View, after: View) -> str:
    """The gauge's gap before and after; with a target dish also the sides and the distance left to the target."""
    was, now = (abs(seen.gap) / MM for seen in (before, after))
    if not after.target_dish:
        return f"{was:.1f} to {now:.1f} mm"
    here, there = ("right" if seen.gap > 0 else "left" for seen in (before, after))
    return (f"{was:.1f} mm (rim {here}) to {now:.1f} mm (rim {there}), {abs(after.off_target) / MM:.1f} mm from the "
            "target")


def _instruction(wheel: Wheel, turns: Turns, first: Side) -> str:
    """The turns side by side, loosening first, else the flange of the first pass:

    ``Loosen the left side 1/2, then tighten the right side 1/4``.
    """
    moves = []
    for side in sorted(SIDES, key=lambda one: one != first):
        mine = turns[wheel.on_side(side)]
        net, whole = float(mine.sum()), float(np.abs(mine).sum())
        if not whole:
            continue
        amounts, counts = np.unique(turns[wheel.pulling(side)], return_counts=True)
        verb = "tighten" if net > 0 else "loosen"
        usual = float(amounts[counts.argmax()])
        others = [i + 1 for i in wheel.pulling(side) if turns[i] != usual]
        if usual and len(others) <= MOST_NAMED:
            but = f" ({', '.join(_otherwise(k, turns[k - 1], usual) for k in others)})" if others else ""
            moves.append((usual > 0, f"{verb} the {side} side {turns_text(abs(usual))}{but}"))
        elif np.count_nonzero(mine) <= MOST_NAMED:
            for amount in np.unique(mine[mine != 0]):
                spokes = [i + 1 for i in wheel.on_side(side) if turns[i] == amount]
                moves.append((amount > 0, f"{'tighten' if amount > 0 else 'loosen'} {spokes_words(spokes)} by "
                              f"{turns_text(abs(float(amount)))}"))
        elif abs(net) > 0.5 * whole:
            moves.append((net > 0, f"{verb} the {side} side, some spokes more than others"))
        else:
            moves.append((True, f"even out single spokes on the {side} side"))
    words = ", then ".join(words for _, words in sorted(moves, key=lambda move: move[0]))
    return words[:1].upper() + words[1:]


def _otherwise(spoke: int, turn: float, usual: float) -> str:
    """A spoke turned differently from its side: ``spoke 8 by 1/8``, ``not spoke 8``."""
    if not turn:
        return f"not spoke {spoke}"
    verb = "" if turn * usual > 0 else "tighten " if turn > 0 else "loosen "
    return f"{verb}spoke {spoke} by {turns_text(abs(float(turn)))}"
