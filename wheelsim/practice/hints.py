"""Hints: the likeliest cause of what is wrong with the wheel as it stands now.

A second hint names a move. It has been tried on the wheel: nipple by nipple it takes no spoke past a limit (nor further
past one), leaves no other spoke slack and reduces ``moves.distance``; where no such move is known, none is named.
"""

from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds, broken
from wheelsim.mechanics.equilibrium import State
from wheelsim.practice.causes import CAUSES
from wheelsim.practice.moves import Bench
from wheelsim.units import number_list

BESIDE = 2  # stations from a turned nipple within which a seized one is mentioned; own choice


@dataclass(frozen=True, eq=False)
class Hint:
    """What to think of.

    Attributes
    ----------
    cause : str
        A word or two for programs.
    words : str
        For the learner.
    turns : (n,) ndarray or None
        The move that a plain hint names. [turn]
    """

    cause: str
    words: str
    turns: Turns | None = None


def hint_for(state: State, limits: Bounds, stuck: frozenset[int] = frozenset(), received: Floats | None = None,
             plainly: bool = False) -> Hint:
    """The hint that fits the wheel now.

    Parameters
    ----------
    state : State
    limits : Bounds
    stuck : frozenset of int
        Nipples that can't be turned.
    received : (n,) ndarray, optional
        Tensions when the wheel came in; as it stands by default. [N]
    plainly : bool
        Say where and what to turn, not only why.

    Returns
    -------
    Hint
    """
    bench = Bench(state, limits, state.tension if received is None else received, stuck)
    wrong = set(broken(bench.seen.values, limits))
    if not wrong:
        return Hint("within", "Everything is within the limits now, as far as it can be: done.")
    # The last has words for any wheel.
    name, found = next((name, found) for name, cause in CAUSES if (found := cause(bench, wrong)) is not None)
    if not plainly:
        return Hint(name, found.why)
    tried = "" if found.turns is None else (
        " Tried on this wheel, which a hint knows without a tool's errors: no further tension limit is passed by it.")
    return Hint(name, f"{found.why} {found.where}{tried}{_seized(bench, found.turns)}", found.turns)


def _seized(bench: Bench, turns: Turns | None) -> str:
    """Words on seized nipples next to those that are turned."""
    turned = [] if turns is None else [int(j) for j in np.flatnonzero(turns)]
    near = [int(i) + 1 for i in np.flatnonzero(~bench.free) if any(bench.apart(int(i), j) <= BESIDE for j in turned)]
    if not near:
        return ""
    which = (f"The nipple of spoke {near[0]} is seized: never force it; its" if len(near) == 1 else
             f"The nipples of spokes {number_list(near)} are seized: never force them; their")
    return f" {which} neighbours, on either flange, can do most of the work."
