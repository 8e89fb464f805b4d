"""What each nipple may be turned by in a plan that costs less than one that is known.

Under a ceiling on the price, the largest and the smallest value that the relaxation lets a column have bound it for
branch and bound: most nipples are left two or three steps to choose from, and the tree is several times smaller.

References
----------
P. Belotti et al., Branching and bounds tightening techniques for non-convex MINLP, Optimization Methods and Software
24 (2009) 597-634: optimality-based bound tightening. Cited from memory.
"""

import numpy as np

from wheelsim.planning.highs import Relaxation, Watch
from wheelsim.planning.programme import Programme

SURELY_WHOLE = 1e-6  # of a step: what a value may miss a whole number by, for the solver's tolerance


def narrowed(programme: Programme, ceiling: float, watch: Watch) -> Programme | None:
    """The same programme with its turns bounded by what costs no more than a ceiling; None if nothing costs so little.

    Parameters
    ----------
    programme : Programme
    ceiling : float
        Price, in the programme's own measure. [turn]
    watch : Watch
        When its effort is spent, the bounds that are left stay as they were.
    """
    relaxation = Relaxation(programme.model(ceiling=ceiling), watch)
    for column in range(programme.size):
        relaxation.price(column, 0.0)
    lower, upper = programme.lower.copy(), programme.upper.copy()
    for plus, minus in programme.opposites():
        least, most = -upper[minus], upper[plus]
        for sign in (1.0, -1.0):
            if most - least <= 0 or not watch.left():
                continue
            relaxation.price(plus, -sign)
            relaxation.price(minus, sign)
            x = relaxation.solve()
            if x is None:
                return None
            edge = x[plus] - x[minus]
            if sign > 0:
                most = min(most, float(np.floor(edge + SURELY_WHOLE)))
            else:
                least = max(least, float(np.ceil(edge - SURELY_WHOLE)))
        relaxation.price(plus, 0.0)
        relaxation.price(minus, 0.0)
        if most < least:
            return None
        # Of the two columns of a nipple one is nought in the cheapest answer, so bounds on their difference are theirs.
        lower[plus], upper[plus] = max(least, 0.0), max(most, 0.0)
        lower[minus], upper[minus] = max(-most, 0.0), max(-least, 0.0)
        for column in (plus, minus):
            relaxation.bound(column, lower[column], upper[column])
    return Programme(programme.task, programme.fewest, programme.cuts, (lower, upper))
