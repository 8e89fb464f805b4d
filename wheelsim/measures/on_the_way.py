"""What spokes stand while nipples are turned, and times round: one measure for learner, plan and rule."""

import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Floats, Turns
from wheelsim.mechanics.equilibrium import State
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES

RISE_ABOVE = 50.0  # how far a spoke above its limit may rise in passing [N]
SLIGHT = 1e-3  # rounding [N]


def tension_on_the_way(state: State, after: State, turns: Turns) -> Floats:
    """Tensions after each nipple from the valve round, (n, k) for k nipples turned (n,) from a state to one after. [N]

    Linear steps by the influence before, scaled in proportion so that the last one ends at the equilibrium after.
    """
    spokes = np.flatnonzero(turns)
    way = np.cumsum(state.influence.tension[:, spokes] * turns[spokes], axis=1)
    miss = after.tension - state.tension - way[:, -1]
    return state.tension[:, None] + way + miss[:, None] * np.arange(1, len(spokes) + 1) / len(spokes)


def highest_on_the_way(state: State, after: State, turns: Turns) -> Floats:
    """Highest tension of each spoke, nipple by nipple from the valve round, (n,). [N]

    Parameters
    ----------
    state, after : State
        Before and after.
    turns : (n,) ndarray
        What was turned between them; not all nought. [turn]
    """
    top: Floats = np.maximum(tension_on_the_way(state, after, turns).max(axis=1), after.tension)
    return top


def top_on_the_way(state: State, after: State, turns: Turns) -> Floats:
    """What counts of each spoke's tension when a turn is judged by its upper limit, (n,). [N]"""
    # Loosening lifts some neighbours in passing: no hand can help that, so only what stays counts.
    return highest_on_the_way(state, after, turns) if (turns > 0).any() else after.tension


def most_allowed(received: Floats, limit: float) -> Floats:
    """What spokes may have, (n,): the limit, or ``RISE_ABOVE`` over where they came in, if that was above it. [N]"""
    return np.where(received <= limit + SLIGHT, limit, received + RISE_ABOVE)


def passed_on_the_way(received: Floats, limit: float, state: State, after: State, turns: Turns) -> dict[int, float]:
    """Spokes that a turn takes above what they may have.

    Parameters
    ----------
    received : (n,) ndarray
        Tensions when the wheel came in. [N]
    limit : float
        [N]
    state, after : State
        Before and after.
    turns : (n,) ndarray
        [turn]

    Returns
    -------
    dict of int to float
        Spoke number to its highest tension. [N]
    """
    top = top_on_the_way(state, after, turns)
    return {int(i) + 1: float(top[i]) for i in np.flatnonzero(top > most_allowed(received, limit) + SLIGHT)}


def times_round(turned: ArrayLike, wheel: Wheel) -> int:
    """Passes in a list of turns (n,) made at one time: each flange and direction is once round."""
    rows = np.reshape(turned, (-1, wheel.n))
    return sum(bool((sign * rows[:, wheel.on_side(side)] > 0).any()) for side in SIDES for sign in (1, -1))
