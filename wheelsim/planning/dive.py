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


def dives(programme: Programme, watch: Watch, count: int) -> list[Turns]:
    """Whole-step turns near the relaxation, which may break a bound by little: (n,) each; none where it has no answer.

    Parameters
    ----------
    programme : Programme
        By turns: each nipple for itself.
    watch : Watch
        For all of them: once its effort is spent, a dive ends at the nearest whole steps.
    count : int
        The first takes the nipple nearest to a whole step first; in the others there is chance in the order.
    """
    rng, relaxation = np.random.default_rng(0), Relaxation(programme.model(), watch)
    found = [_dive(programme, relaxation, watch, rng, shuffle=0.0 if k == 0 else SHUFFLE) for k in range(count)]
    return [turns for turns in found if turns is not None]


def _dive(programme: Programme, relaxation: Relaxation, watch: Watch, rng: np.random.Generator,
          shuffle: float) -> Turns | None:
    """One of them.

    Parameters
    ----------
    relaxation : Relaxation
        Of the programme; what is changed in it is put back.
    rng : numpy Generator
        Of the order in which nipples are taken.
    shuffle : float
        How much chance there is in that order; none takes the nearest to a whole step first. [step]
    """
    n = programme.n
    lower, upper = -programme.upper[n:2 * n], programme.upper[:n].copy()
    held: list[int] = []
    x, turns = relaxation.solve(), None
    while x is not None:
        value = x[:n] - x[n:2 * n]
        nearest = np.round(value)
        off = np.abs(value - nearest)
        open_ones = np.flatnonzero(off > WHOLE)
        turns = np.asarray(nearest * programme.task.step)
        if not len(open_ones) or not watch.left():
            break
        spoke = int(open_ones[np.argmin(off[open_ones] + shuffle * rng.random(len(open_ones)))])
        if nearest[spoke] < value[spoke]:
            upper[spoke] = nearest[spoke]
        else:
            lower[spoke] = nearest[spoke]
        relaxation.bound(spoke, max(lower[spoke], 0.0), max(upper[spoke], 0.0))
        relaxation.bound(n + spoke, max(-upper[spoke], 0.0), max(-lower[spoke], 0.0))
        held.append(spoke)
        x = relaxation.solve()
    for spoke in held:
        for column in (spoke, n + spoke):
            relaxation.bound(column, programme.lower[column], programme.upper[column])
    return turns
