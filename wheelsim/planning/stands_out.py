"""Which one or two nipples make a wheel uneven: turned back, they would leave the spokes of each side alike."""

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.estimation.known import Known
from wheelsim.mechanics.equilibrium import State
from wheelsim.wheel.parts import SIDES

MOST = 2  # nipples; own choice: with more the wheel is uneven, and none of them stands out
FROM = 0.2  # of its side's mean, by which such a nipple moves its own spoke; own choice: the usual limit of spread
EXPLAINED = 0.7  # of the variance of all tensions about their sides' means, by all of them; own choice


def stands_out(told: Known, state: State) -> tuple[int, ...]:
    """Spokes, from 1, that were read and whose nipples account for most of the unevenness, the worst first.

    Parameters
    ----------
    told : Known
    state : State
        The estimate.

    Notes
    -----
    Orthogonal matching pursuit on the influence of each nipple: an odd spoke moves its neighbours too, and the side's
    least alike need not be the one to turn.
    """
    wheel = told.job.wheel
    read = sorted({spoke - 1 for one in told.log for spoke, _ in one.reading.tension})
    if not read:
        return ()
    apart = _from_side_means(state, state.tension[:, None])[:, 0]
    columns = _from_side_means(state, state.influence.tension)
    mean = np.zeros(wheel.n)
    for side in SIDES:
        mean[wheel.on_side(side)] = max(float(state.tension[wheel.pulling(side)].mean()), 1.0)
    found: tuple[int, ...] = ()
    chosen: list[int] = []
    left = apart
    while len(chosen) < min(MOST, len(read)):
        gains = (columns.T @ left) ** 2 / np.maximum((columns**2).sum(axis=0), 1e-30)
        chosen.append(max((i for i in read if i not in chosen), key=lambda i: gains[i]))
        turns = np.linalg.lstsq(columns[:, chosen], apart, rcond=None)[0]
        left = apart - columns[:, chosen] @ turns
        own = np.abs(turns * columns[chosen, chosen])
        if (own < FROM * mean[chosen]).any():
            break
        if (left**2).sum() <= (1 - EXPLAINED) * (apart**2).sum():
            found = tuple(chosen[k] + 1 for k in np.argsort(-own))
    return found


def _from_side_means(state: State, values: Floats) -> Floats:
    """Values (n, k) less the mean of each side."""
    out = np.zeros_like(values)
    for side in SIDES:
        mine = state.wheel.pulling(side)
        out[mine] = values[mine] - values[mine].mean(axis=0)
    return out
