"""Tensions while the nipples of a pass are turned one by one.

The planner, the rule of thumb and the practice bench all judge by these functions.
"""

import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import within
from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.equilibrium import State
from wheelsim.wheel.parts import Wheel
from wheelsim.wheel.sides import SIDES

# A spoke that came in above the limit may rise by this much more on the way. Own choice: some four per cent of a usual
# limit, so that a wheel that came in too tight can be worked on at all. [N]
RISE_ABOVE = 50.0
ROUNDING = Quantity.HIGHEST.rounding  # [N]


def tension_on_the_way(state: State, after: State, turns: Turns) -> Floats:
    """Tension of each spoke after each nipple of a pass, turned in order of spoke numbers.

    Parameters
    ----------
    state, after : State
        Equilibrium before and after the pass.
    turns : (n,) ndarray
        Of the pass; k of them not 0. [turn]

    Returns
    -------
    (n, k) ndarray
        Row the spoke, column the number of nipples turned so far, less one. [N]

    Notes
    -----
    Linear steps by the influence matrix before the pass; the difference to the nonlinear equilibrium after it is spread
    evenly over the steps.
    """
    spokes = np.flatnonzero(turns)
    way = np.cumsum(state.influence.tension[:, spokes] * turns[spokes], axis=1)
    miss = after.tension - state.tension - way[:, -1]
    return state.tension[:, None] + way + miss[:, None] * np.arange(1, len(spokes) + 1) / len(spokes)


def highest_on_the_way(state: State, after: State, turns: Turns) -> Floats:
    """Highest tension of each spoke during a pass, its end included, (n,). [N]

    Parameters
    ----------
    state, after : State
        Equilibrium before and after the pass.
    turns : (n,) ndarray
        Of the pass; not all 0. [turn]
    """
    top: Floats = np.maximum(tension_on_the_way(state, after, turns).max(axis=1), after.tension)
    return top


def top_on_the_way(state: State, after: State, turns: Turns) -> Floats:
    """Tension of each spoke that is compared with its upper limit for this pass, (n,). [N]"""
    # Loosening raises some neighbours for a moment, which can't be avoided; for such a pass only its end counts.
    return highest_on_the_way(state, after, turns) if (turns > 0).any() else after.tension


def most_allowed(received: Floats, limit: float) -> Floats:
    """Highest tension allowed on the way, (n,): the limit; if received above it, that plus ``RISE_ABOVE``. [N]"""
    return np.where(within(Quantity.HIGHEST, received, limit), limit, received + RISE_ABOVE)


def passed_on_the_way(received: Floats, limit: float, state: State, after: State, turns: Turns) -> dict[int, float]:
    """Spokes that a pass takes above the highest tension allowed for them.

    Parameters
    ----------
    received : (n,) ndarray
        Tensions when the wheel came in. [N]
    limit : float
        Highest tension allowed. [N]
    state, after : State
        Equilibrium before and after the pass.
    turns : (n,) ndarray
        [turn]

    Returns
    -------
    dict of int to float
        By spoke number, the highest tension it reaches. [N]
    """
    top = top_on_the_way(state, after, turns)
    kept = within(Quantity.HIGHEST, top, most_allowed(received, limit))
    return {int(i) + 1: float(top[i]) for i in np.flatnonzero(~kept)}


def times_round(turned: ArrayLike, wheel: Wheel) -> int:
    """Number of passes in turns (k, n) made at one time: tightening and loosening count separately for each flange."""
    rows = np.reshape(turned, (-1, wheel.n))
    return sum(bool((sign * rows[:, wheel.on_side(side)] > 0).any()) for side in SIDES for sign in (1, -1))
