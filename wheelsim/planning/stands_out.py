"""Which one or two nipples make a wheel uneven: turned back, they would leave the spokes of each side alike."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.estimation.known import Known
from wheelsim.measures.quantities import usual_tension
from wheelsim.mechanics.equilibrium import State
from wheelsim.units import QUARTER
from wheelsim.wheel.parts import SIDES, Side

MOST = 2  # nipples; own choice: with more the wheel is uneven, and none of them stands out
FROM = 0.2  # of its side's mean, by which such a nipple moves its own spoke; own choice: the usual limit of spread
EXPLAINED = 0.7  # of the variance of all tensions about their sides' means, by all of them; own choice


@dataclass(frozen=True)
class OddSpoke:
    """A spoke that stands out of its side, and the turn that would bring its nipple back.

    Attributes
    ----------
    spoke : int
        Number, from 1.
    side : "right" or "left"
    tension, others : float
        Its own, and the mean of its side without the spokes that stand out. [N]
    turn : float
        In whole quarters, plus tightens. [turn]
    """

    spoke: int
    side: Side
    tension: float
    others: float
    turn: float


def odd_spokes(told: Known, state: State, about: float) -> tuple[OddSpoke, ...]:
    """The spokes that stand out of a wheel whose sides have about their usual tension, the worst first.

    Parameters
    ----------
    told : Known
    state : State
        The estimate.
    about : float
        Largest departure of a side's mean from its usual tension, a fraction; farther off, the sides come first.
    """
    wheel = told.job.wheel
    if wheel.spokes.missing:
        return ()  # beside a missing spoke its neighbours stand out without a fault of their own
    usual = usual_tension(wheel)
    mean = {side: float(state.tension[wheel.pulling(side)].mean()) for side in SIDES}
    if any(abs(mean[side] - usual[side]) > about * usual[side] for side in SIDES):
        return ()
    found = stands_out(told, state)
    if not found:
        return ()
    chosen = [spoke - 1 for spoke in found]
    out = []
    for i, turn in zip(chosen, evening_turns(state, chosen), strict=True):
        side: Side = next(one for one in SIDES if i in wheel.pulling(one))
        rest = [k for k in wheel.pulling(side) if k not in chosen]
        quarters = max(round(abs(float(turn)) / QUARTER), 1)
        out.append(OddSpoke(i + 1, side, float(state.tension[i]), float(state.tension[rest].mean()),
                            float(np.sign(turn)) * quarters * QUARTER))
    return tuple(out)


def evening_turns(state: State, spokes: Sequence[int]) -> Turns:
    """Turns of these nipples, (k,), that leave the spokes of each side most alike: linear least squares. [turn]

    ``spokes`` count from 0. None is turned past where its own spoke has its side's mean: unevenness beyond
    that has another cause.
    """
    columns = _from_side_means(state, state.influence.tension[:, list(spokes)])
    apart = _from_side_means(state, state.tension[:, None])[:, 0]
    turns = -np.linalg.lstsq(columns, apart, rcond=None)[0]
    own = -apart[list(spokes)] / columns[list(spokes), np.arange(len(spokes))]
    return np.asarray(np.clip(turns, np.minimum(own, 0.0), np.maximum(own, 0.0)))


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
