"""A plan's verdict in words: tighten or loosen, which side, and why."""

import numpy as np

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
    ReadFirst,
    Reason,
    RimUnread,
    SinceUnread,
    Verdict,
)
from wheelsim.planning.ways import Way
from wheelsim.report.words.estimation import read_again_words
from wheelsim.report.words.instruction import Clause, clauses_of
from wheelsim.report.words.measures import limit_words
from wheelsim.report.words.passes import way_words
from wheelsim.report.words.shared import no_stable_words, spokes_words
from wheelsim.units import MM, number_list
from wheelsim.wheel.parts import SIDES

MOST_REFUSED = 2  # own choice: rejected ways mentioned at most, so that the sentence stays readable


def verdict_words(told: Verdict) -> str:
    """The verdict and its reason, in one or two full sentences."""
    match told.why:
        case GaugeUnread():
            return "The gauge was not read, so where the rim stands isn't known: read it before anything is turned."
        case RimUnread(true, limit, gauge_off):
            gauge = f": a gauge reading may be off by {gauge_off / MM:.2f} mm for it" if gauge_off else ""
            return (f"The rim is out of true by {true / MM:.2f} mm or more (limit {limit / MM:.2f} mm){gauge}, and the "
                    "dial was read at too few places to true it by. Read the dial all round before anything is turned.")
        case ReadFirst(doubts):
            what = ", ".join(dict.fromkeys(map(read_again_words, doubts)))
            return f"Before anything is turned, read again and log: {what}. What is turned hangs on it."
        case NothingRead():
            return ("Nothing was read of this wheel: as its file describes it, true and centred, there is nothing to "
                    "do.")
        case SinceUnread(passes):
            return ("By the prediction nothing is left to turn, but the wheel was not read since pass "
                    f"{number_list(passes)}: read the gauge, the dial and a few tensions before it is signed off.")
        case LeaveIt(unmet, unread, read_before, off_usual):
            gaps = [f"{', '.join(map(limit_words, some))} not read{since}"
                    for some, since in ((unread, ""), (read_before, " since the last pass")) if some]
            so_far = f" so far as it was read ({'; '.join(gaps)})" if gaps else ""
            if not unmet and off_usual:
                return (f"The wheel is within its limits{so_far}, and within them it may stay; but its tension is "
                        f"{100 * abs(off_usual):.0f} % {'below' if off_usual < 0 else 'above'} the usual.")
            if not unmet:
                return f"The wheel is where it should be{so_far}; leave it."
            what = ", ".join(one.trade for one in unmet)
            return (f"Within its limits{so_far}; no turns in these steps bring it nearer its aim in {what} and keep "
                    "the margin from every limit. Leave it.")
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
    moves, reason = clauses_of(why), _reason(why)
    start = ", then ".join(one.words for one in moves)
    named = {one.spoke for one in why.odd} | set(why.new)
    if len(named) == 1 and {int(i) + 1 for i in np.flatnonzero(why.turns)} == named:
        start = start.replace(f"spoke {min(named)} ", "it ")  # the reason has just named it
    if why.new:
        start = f"{reason}, then {start}"
    elif reason is None or not _fits(why, moves[0]):
        start = f"{'' if reason is None else f'{reason}. '}{start[:1].upper()}{start[1:]}"
    else:
        start = f"{reason}, so {start}"
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
            beside = "" if why.beside is None else f" and is {_of_spokes(why, why.beside)}"
            stands = f"about right ({tension})" if why.tensions_read else "taken as usual"
            return f"The rim lies {lies}{beside}, its tension is {stands}"
        case Reason.ODD_SPOKE:
            words = " and ".join(f"spoke {one.spoke} is far too {'loose' if one.turn > 0 else 'tight'} "
                                 f"({one.tension:.0f} N, its side {one.others:.0f} N)" for one in why.odd)
            return f"{words[:1].upper()}{words[1:]}"
        case Reason.SPOKE_ABOVE:
            spoke = int(before.state.tension.argmax())
            its = next(side for side in SIDES if spoke in before.wheel.on_side(side))
            return (f"Spoke {spoke + 1} is too tight ({before.highest:.0f} N, limit {limit:.0f} N; its side "
                    f"{before.mean[its]:.0f} N)")
        case Reason.UNTRUE | Reason.UNROUND:
            return f"The rim is {_of_spokes(why, why.reason)}"
        case Reason.UNEVEN:
            return f"Spokes of the {why.side} side are {_of_spokes(why, why.reason)}"
        case Reason.NEW_SPOKE:
            one = len(why.new) == 1
            return (f"{spokes_words(why.new).capitalize()} {'is' if one else 'are'} missing: put "
                    f"{'a new one' if one else 'new ones'} in first")
        case None:
            return None


def _of_spokes(why: Move, reason: Reason) -> str:
    """What single spokes mend, and how much of it there is."""
    before = why.before
    if reason is Reason.UNEVEN:
        spread = max(before.spread.values()) if why.reason is not reason else before.spread[why.side]
        return f"uneven (spread {100 * spread:.0f} %)"
    return (f"out of true ({before.true / MM:.2f} mm)" if reason is Reason.UNTRUE else
            f"out of round ({before.round / MM:.2f} mm)")


def _fits(why: Move, first: Clause) -> bool:
    """Whether what is turned first follows from the reason by itself."""
    match why.reason:
        case Reason.SLACK:
            return first.way > 0
        case Reason.TIGHT | Reason.ABOVE_LIMIT:
            return first.way < 0
        case Reason.OFF_CENTRE:
            # A side that is tightened draws the rim to itself; one that is loosened lets it go.
            to_right = (first.side == "right") == (first.way > 0)
            return first.way == 0 or why.beside is not None or to_right == (why.before.off_target < 0)
        case Reason.ODD_SPOKE:
            return any(one.spoke in first.spokes and one.turn * first.way > 0 for one in why.odd)
        case Reason.SPOKE_ABOVE:
            return first.way < 0 and int(why.before.state.tension.argmax()) + 1 in first.spokes
        case _:
            return True


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
    """The gauge's gap before and after, and the sides where it changes them; with a target the distance left to it."""
    was, now = (abs(seen.gap) / MM for seen in (before, after))
    here, there = ("right" if seen.gap > 0 else "left" for seen in (before, after))
    if not after.target_dish:
        crossed = here != there and min(round(was, 1), round(now, 1)) > 0
        return f"{was:.1f} mm {here} to {now:.1f} mm {there}" if crossed else f"{was:.1f} to {now:.1f} mm"
    return (f"{was:.1f} mm (rim {here}) to {now:.1f} mm (rim {there}), {abs(after.off_target) / MM:.1f} mm from the "
            "target")
