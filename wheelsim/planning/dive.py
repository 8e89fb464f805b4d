"""Whole steps from the relaxation, one nipple after another.

The nipple nearest to a whole step is held to that side of its value, the relaxation is solved again from where it
stood, and so on until all are whole. What comes out breaks few bounds, and exchanges of nipples mend those.

References
----------
T. Berthold, Primal heuristics for mixed integer programs, diploma thesis, TU Berlin, 2006: fractional diving. Cited
from memory.
"""

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.planning.highs import Relaxation, Watch
from wheelsim.planning.programme import Programme

WHOLE = 1e-6  # of a step
SHUFFLE = 0.15  # of a step, at random added to what a nipple misses: other dives; own choice


def dive(programme: Programme, watch: Watch, rng: np.random.Generator, shuffle: float = SHUFFLE) -> Turns | None:
    """Whole-step turns (n,) near the relaxation, which may break a bound by little; None where it has no answer.

    Parameters
    ----------
    programme : Programme
        By turns: each nipple for itself.
    watch : Watch
    rng : numpy Generator
        Of the order in which nipples are taken.
    shuffle : float
        How much chance there is in that order; none takes the nearest to a whole step first. [step]
    """
    n = programme.n
    relaxation = Relaxation(programme.model(), watch)
    lower, upper = -programme.upper[n:2 * n], programme.upper[:n].copy()
    x = relaxation.solve()
    while x is not None:
        value = x[:n] - x[n:2 * n]
        nearest = np.round(value)
        off = np.abs(value - nearest)
        open_ones = np.flatnonzero(off > WHOLE)
        if not len(open_ones) or not watch.left():
            return np.asarray(nearest * programme.task.step)
        spoke = int(open_ones[np.argmin(off[open_ones] + shuffle * rng.random(len(open_ones)))])
        if nearest[spoke] < value[spoke]:
            upper[spoke] = nearest[spoke]
        else:
            lower[spoke] = nearest[spoke]
        relaxation.bound(spoke, max(lower[spoke], 0.0), max(upper[spoke], 0.0))
        relaxation.bound(n + spoke, max(-upper[spoke], 0.0), max(-lower[spoke], 0.0))
        x = relaxation.solve()
        if x is None:
            return np.asarray(nearest * programme.task.step)
    return None
