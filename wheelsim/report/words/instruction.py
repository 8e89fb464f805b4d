"""The turns of a plan in one sentence: whole sides and named spokes, in the order of the passes."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.planning.majority import majority_turn
from wheelsim.planning.verdict import Move
from wheelsim.report.words.shared import spokes_words
from wheelsim.units import turns_text
from wheelsim.wheel.parts import SIDES, Side, Wheel

MOST_NAMED = 4  # own choice: a side with at most so many exceptions is described as a whole side


@dataclass(frozen=True)
class Clause:
    """Clause of an instruction.

    Attributes
    ----------
    side : "right" or "left"
    way : int
        Of what is turned first: 1 to tighten, -1 to loosen, 0 where single spokes are evened out.
    spokes : frozenset of int
        From 1.
    words : str
    whole : bool
        Whether the side is turned as a whole: then a pass that turns single spokes of it is not yet this part.
    """

    side: Side
    way: int
    spokes: frozenset[int]
    words: str
    whole: bool = False


def clauses_of(why: Move) -> list[Clause]:
    """The turns side by side, in the order of the passes: ``loosen the left side 1/2``, ``tighten spoke 3 by 1/4``.

    Without passes what loosens comes first, else the flange of the first pass. Odd spokes, and those put in anew, are
    turned before all others and named by themselves.
    """
    wheel, ahead = why.before.state.wheel, [one.spoke - 1 for one in why.odd] + [spoke - 1 for spoke in why.new]
    parts = [part for side in sorted(SIDES, key=lambda one: one != why.first)
             for part in _of_side(wheel, why.turns, side, ahead)]
    made = []
    for part in parts:
        turned = [i - 1 for i in part.spokes]
        k = next((k for k, turns in enumerate(why.passes)
                  if np.count_nonzero(turns[turned]) > (len(turned) / 2 if part.whole else 0)), None)
        if k is not None and part.way:
            part = replace(part, way=1 if why.passes[k][turned].sum() > 0 else -1)
        order = (len(why.passes) if k is None else k, part.spokes.isdisjoint(i + 1 for i in ahead), part.way >= 0)
        made.append((order, part))
    return [part for _, part in sorted(made, key=lambda one: one[0])]


def _of_side(wheel: Wheel, turns: Turns, side: Side, ahead: list[int]) -> Iterator[Clause]:
    """What is done to a side: all of it, some spokes by name, or single spokes that are too many to name.

    ``ahead``: spokes, from 0, that are named by themselves unless they are turned as their side is.
    """
    usual = majority_turn(turns[wheel.pulling(side)])
    apart = [i for i in wheel.on_side(side) if i in ahead and turns[i] and turns[i] != usual]
    for amount in np.unique(turns[apart]):
        yield _named(side, [i for i in apart if turns[i] == amount], float(amount))
    turns = turns.copy()
    turns[apart] = 0.0
    mine = turns[wheel.on_side(side)]
    net, whole = float(mine.sum()), float(np.abs(mine).sum())
    if not whole:
        return
    spokes = frozenset(i + 1 for i in wheel.on_side(side) if turns[i])
    verb, way = ("tighten", 1) if net > 0 else ("loosen", -1)
    others = [i + 1 for i in wheel.pulling(side) if turns[i] != usual]
    if usual and len(others) <= MOST_NAMED:
        but = f" ({', '.join(_otherwise(k, turns[k - 1], usual) for k in others)})" if others else ""
        what = f"{verb} the {side} side {turns_text(abs(usual))}{but}"
        yield Clause(side, 1 if usual > 0 else -1, spokes, what, True)
    elif np.count_nonzero(mine) <= MOST_NAMED:
        for amount in np.unique(mine[mine != 0]):
            yield _named(side, [i for i in wheel.on_side(side) if turns[i] == amount], float(amount))
    elif abs(net) > 0.5 * whole:
        yield Clause(side, way, spokes, f"{verb} the {side} side, some spokes more than others")
    else:
        yield Clause(side, 0, spokes, f"even out single spokes on the {side} side")


def _named(side: Side, spokes: list[int], turn: float) -> Clause:
    """Spokes (from 0) that are all turned by as much."""
    numbers = [i + 1 for i in spokes]
    verb, way = ("tighten", 1) if turn > 0 else ("loosen", -1)
    return Clause(side, way, frozenset(numbers), f"{verb} {spokes_words(numbers)} by {turns_text(abs(turn))}")


def _otherwise(spoke: int, turn: float, usual: float) -> str:
    """A spoke turned differently from its side: ``spoke 8 by 1/8``, ``not spoke 8``."""
    if not turn:
        return f"not spoke {spoke}"
    verb = "" if turn * usual > 0 else "tighten " if turn > 0 else "loosen "
    return f"{verb}spoke {spoke} by {turns_text(abs(float(turn)))}"
