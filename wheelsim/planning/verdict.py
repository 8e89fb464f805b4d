"""Tighten or loosen, which side, and why: the plan in one sentence."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.measures.bounds import Bounds, broken
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import Stands, View
from wheelsim.planning.hindrance import Blocking
from wheelsim.planning.sides import main_sides
from wheelsim.planning.ways import Way, way_words
from wheelsim.units import MM, number_list, turns_text
from wheelsim.wheel.parts import SIDES, USUAL_WITHIN, Wheel

Status: TypeAlias = Literal["proven", "best so far", "none", "not found", "nothing to do"]

MOST_NAMED = 4  # so many exceptions still read as a whole side


@dataclass(frozen=True)
class Verdict:
    """``side``: "right", "left", "both" or None. ``action``: "tighten", "loosen", "both", "read" or None."""

    side: str | None
    action: str | None
    why: str

    def as_dict(self) -> dict[str, object]:
        return {"side": self.side, "action": self.action, "why": self.why}


def verdict_of(status: Status, before: View | None, after: View | None, turns: Turns | None, ways: Sequence[Way],
               limits: Bounds, blocking: Sequence[Blocking], *, unmet: Collection[str] = (), read: bool = True,
               aims: Bounds | None = None, unread: str | None = None) -> Verdict:
    """Verdict on a finished plan.

    Parameters
    ----------
    status : str
    before, after : View or None
    turns : (n,) ndarray or None
    ways : tuple of Way
    limits : Bounds
    blocking : tuple of Blocking
    unmet : tuple of str
        Aims that stay unmet.
    read : bool
        Whether anything was read of the wheel.
    aims : Bounds, optional
        For how near to the usual tension the sides should end.
    unread : str, optional
        What must be read before anything is turned.

    Raises
    ------
    ValueError
        If a plan is found but its turns, or the wheel before or after them, are not given.
    """
    if unread is not None:
        return Verdict(None, "read", unread)
    if status == "nothing to do":
        return Verdict(None, None, _leave_it(unmet, read))
    if status == "not found":
        return Verdict(None, None, "No plan was found that can be carried out; more time or a finer step may have one.")
    if status == "none":
        alone = len(blocking) > 1 and all(one.alone for one in blocking)
        what = ("one of these would allow it, to fractions of a step: " if alone else "") + (
            ", or " if alone else "; ").join(one.words for one in blocking) or "the limits contradict each other"
        if before is None:
            return Verdict(None, None, f"There is no wheel to plan from: {what}.")
        return Verdict(None, None, f"No set of turns brings this wheel within its limits: {what}.")
    if before is None or after is None or turns is None:
        raise ValueError(f"status {status!r}; expected turns and the wheel before and after them")
    side, action = _main_move(before, turns)
    return Verdict(side, action, _why(before, after, turns, ways, limits, aims or limits))


def _leave_it(unmet: Collection[str], read: bool) -> str:
    if not read:
        return "Nothing was read of this wheel: as its file describes it, true and centred, there is nothing to do."
    if unmet:
        what = ", ".join(Quantity(name).trade for name in unmet)
        return f"Within its limits; turns in these steps bring it no nearer its aim in {what}. Leave it."
    return "The wheel is where it should be; leave it."


def _main_move(before: View, turns: Turns) -> tuple[str, str]:
    """Side and action of most of the turns."""
    main = main_sides(before.state.wheel, turns)
    if not main:
        return "both", "both"
    actions = {"tighten" if value > 0 else "loosen" for value in main.values()}
    side = next(iter(main)) if len(main) == 1 else "both"
    return side, actions.pop() if len(actions) == 1 else "both"


def _instruction(wheel: Wheel, turns: Turns) -> str:
    """The moves of the sides in words, loosening first: ``Loosen left 1/2, then tighten right 1/4``."""
    moves = []
    for side in SIDES:
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
                moves.append((amount > 0, f"{'tighten' if amount > 0 else 'loosen'} spoke{'s' * (len(spokes) > 1)} "
                              f"{number_list(spokes)} by {turns_text(abs(float(amount)))}"))
        elif abs(net) > 0.5 * whole:
            moves.append((net > 0, f"{verb} the {side} side, some spokes more than others"))
        else:
            moves.append((True, f"even out single spokes on the {side} side"))
    words = ", then ".join(words for _, words in sorted(moves))
    return words[:1].upper() + words[1:]


def _figure(value: float, unit: str) -> str:
    return f"{value:.0f} {unit}" if unit in ("N", "%") else f"{value:.2f} {unit}"


def _otherwise(spoke: int, turn: float, usual: float) -> str:
    """A spoke that is turned otherwise than its side: ``spoke 8 by only 1/8``."""
    if not turn:
        return f"not spoke {spoke}"
    verb = "" if turn * usual > 0 else "tighten " if turn > 0 else "loosen "
    return f"{verb}spoke {spoke} by {turns_text(abs(float(turn)))}"


def _gap(before: View, after: View) -> str:
    """The gap as the gauge shows it before and after; for a frame built off-centre also sides and what is left."""
    was, now = (abs(seen.gap) / MM for seen in (before, after))
    if not after.target_dish:
        return f"{was:.1f} to {now:.1f} mm"
    here, there = ("right" if seen.gap > 0 else "left" for seen in (before, after))
    return (f"{was:.1f} mm (rim {here}) to {now:.1f} mm (rim {there}), {abs(after.off_target) / MM:.1f} mm from the "
            "target")


def _reason(before: View, limits: Bounds, aims: Bounds) -> str | None:
    """Why this side and this way, before what is done: the tension, then where the rim lies."""
    usual = before.usual
    side = before.tighter_side if usual["right"] == usual["left"] else max(SIDES, key=lambda one: usual[one])
    stands = before.stands(aims.off_usual if math.isfinite(aims.off_usual) else USUAL_WITHIN)
    tension = f"{side} {before.mean[side]:.0f} N, usual {usual[side]:.0f} N"
    if stands is Stands.SLACK:
        return f"The wheel is slack ({tension})"
    if before.highest > limits.max_tension:
        return f"The wheel is too tight (highest {before.highest:.0f} N, limit {limits.max_tension:.0f} N; {tension})"
    if stands is Stands.TIGHT:
        return f"The wheel is tight ({tension})"
    if Quantity.GAP in broken(before.values, aims):
        return f"The rim lies {'right' if before.off_target > 0 else 'left'}, its tension is about right ({tension})"
    return None


def _why(before: View, after: View, turns: Turns, ways: Sequence[Way], limits: Bounds, aims: Bounds) -> str:
    moved = (f"gap {_gap(before, after)}, "
             f"right {before.mean['right']:.0f} to {after.mean['right']:.0f} N, "
             f"left {before.mean['left']:.0f} to {after.mean['left']:.0f} N on average")
    refused = []
    for way in [way for way in ways if way.outside or way.after is None][:2]:
        if way.after is None:
            refused.append(f"to {way_words(way)} leaves no stable wheel")
            continue
        for name in way.outside[:1]:
            if name not in set(Quantity):
                refused.append(f"to {way_words(way)} is more than a nipple may be turned")
                continue
            quantity = Quantity(name)
            unit, scale = quantity.unit, quantity.per_si
            value = way.after.values[quantity]
            refused.append(f"to {way_words(way)} would take the {quantity.trade} to {_figure(value * scale, unit)} "
                           f"(limit {_figure(limits.of(quantity) * scale, unit)})")
    start, reason = _instruction(before.state.wheel, turns), _reason(before, limits, aims)
    if reason is not None:
        start = f"{reason}, so {start[:1].lower()}{start[1:]}"
    return f"{start}: {moved}" + (f"; {'; '.join(refused)}" if refused else "") + "."
