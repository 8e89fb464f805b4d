"""What spokes stand while nipples are turned, and times round: one measure for learner, plan and rule."""

import numpy as np

from wheelsim.truing.passes import RISE_ABOVE, tension_on_the_way
from wheelsim.wheel.parts import SIDES

SLIGHT = 1e-3  # rounding [N]


def highest_on_the_way(state, after, turns):
    """Highest tension of each spoke, nipple by nipple from the valve round, (n,). [N]

    Parameters
    ----------
    state, after : State
        Before and after.
    turns : (n,) ndarray
        What was turned between them; not all nought. [turn]
    """
    return np.maximum(tension_on_the_way(state, after, turns).max(axis=1), after.tension)


def passed_on_the_way(received, limit, state, after, turns):
    """Spokes that a turn takes above what they may have.

    Parameters
    ----------
    received : (n,) ndarray
        Tensions when the wheel came in: one above the limit then may rise ``RISE_ABOVE`` in passing. [N]
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
    # Loosening lifts some neighbours in passing: no hand can help that, so only what stays counts.
    top = highest_on_the_way(state, after, turns) if (turns > 0).any() else after.tension
    allowed = np.where(received <= limit + SLIGHT, limit, received + RISE_ABOVE)
    return {int(i) + 1: float(top[i]) for i in np.flatnonzero(top > allowed + SLIGHT)}


def times_round(turned, wheel):
    """Passes in a list of turns (n,) made at one time: each flange and direction is once round."""
    turned = np.reshape(turned, (-1, wheel.n))
    return sum(bool((sign * turned[:, wheel.on_side(side)] > 0).any()) for side in SIDES for sign in (1, -1))
