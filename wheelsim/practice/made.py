"""What is made of a wheel in practice: a turn, what the hand notices of it, what can't be meant."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TypedDict

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.report.words.shared import spokes_words
from wheelsim.units import parse_turns, turns_text
from wheelsim.wheel.parts import SIDES, Wheel


class PracticeError(ValueError):
    """Something asked of a session that can't be meant; nothing has changed."""


@dataclass(frozen=True, eq=False)
class Turned:
    """What a hand notices of a turn, without any tool.

    Attributes
    ----------
    turns : (n,) ndarray
        What was turned. [turn]
    seized : tuple of int
        Spokes whose nipple did not turn.
    slack : tuple of int
        Spokes that now hang loose.
    folded : bool
        The wheel would have lost its shape: it was then put back as it was.
    """

    turns: Turns
    seized: tuple[int, ...]
    slack: tuple[int, ...]
    folded: bool = False


@dataclass(frozen=True, eq=False)
class Made:
    """One turn that was made, of a whole side or of single nipples, and how often the wheel was read before."""

    turns: Turns
    whole: bool
    readings_before: int


def whole_sides(turns: Turns, wheel: Wheel, stuck: Collection[int] = frozenset()) -> bool:
    """Whether turns (n,) are of whole sides: every nipple of a side that can be turned, all alike, or none of it."""
    for side in SIDES:
        own = turns[[i for i in wheel.pulling(side) if i + 1 not in stuck]]
        if own.any() and np.ptp(own) > 1e-9:
            return False
    return bool(turns.any())


class BySides(TypedDict):
    """Turns as ``Session.turn`` takes them. [turn]"""

    right: float
    left: float
    spokes: dict[int, float]


def by_sides(turns: Turns, wheel: Wheel) -> BySides:
    """Turns (n,) as whole sides where all of a side's nipples turn alike, the others spoke by spoke."""
    out = BySides(right=0.0, left=0.0, spokes={})
    for side in SIDES:
        own = wheel.pulling(side)
        if np.ptp(turns[own]) < 1e-9:
            out[side] = float(turns[own[0]])
        else:
            out["spokes"] |= {int(i) + 1: float(turns[i]) for i in own if turns[i]}
    return out


def turn_words(right: float, left: float, spokes: Mapping[int, float] | None) -> str:
    """The command that makes these turns."""
    pairs: list[tuple[str | int, float]] = [("right", right), ("left", left), *(spokes or {}).items()]
    return "turn " + " ".join(f"{which} {_amount(float(turns))}" for which, turns in pairs if turns)


def _amount(turns: float) -> str:
    """Turns as they were: a third of one has no text in sixty-fourths that would make it again."""
    text = turns_text(turns)
    return text if parse_turns(text) == turns else repr(turns)


def turns_named(turns: Turns) -> str:
    """Turns nipple by nipple, equal ones together: ``loosen spoke 9 by 1/2; tighten spokes 3, 7 by 1/4``."""
    parts = []
    for amount in sorted({float(t) for t in turns if t}):
        spokes = [i + 1 for i, t in enumerate(turns) if t == amount]
        parts.append(f"{'tighten' if amount > 0 else 'loosen'} {spokes_words(spokes)} by "
                     f"{turns_text(abs(amount))}")
    return "; ".join(parts)
