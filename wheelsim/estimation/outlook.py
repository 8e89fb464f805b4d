"""Monte Carlo prediction of the wheel after turns.

Wheels are drawn from the posterior of the readings. To each are added the errors of the turns: the hand's error and
wind-up at every nipple, a turn that gives less than the thread's pitch, a rim stiffness that differs from its kind's.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Bools, Floats, Turns
from wheelsim.encoded import Encoded
from wheelsim.estimation.course import GAIN_SD, SMALL, SOFT_SD
from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.hand import misturn_sd
from wheelsim.measures.bounds import Bounds, within
from wheelsim.measures.on_the_way import tension_on_the_way
from wheelsim.measures.quantities import Measures, Quantity, measure
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.threads import one_thread
from wheelsim.wheel.parts import Wheel

DRAWS = 10_000  # own choice: standard error of a share at most half a per cent
LEVEL = (0.025, 0.975)  # quantiles of the intervals: 95 per cent
# Checks between passes are compared on every fourth draw. Own choice: 2,500 pairs, each with the same errors with and
# without a check, give the difference to half a per cent in a quarter of the time.
FEWER = 4
WORTH = 0.03  # a check between passes is advised if it adds this share of wheels within all limits: own choice
HIDDEN = 0.1  # of the wheels, that limits of what nobody read may cost before the chance is no longer told: own choice

_SEED = 1  # of the drawn wheels

_Three: TypeAlias = list[Floats]  # of lateral, radial and tension


@dataclass(frozen=True)
class Outlook(Encoded):
    """Distribution of the wheel after turns; intervals hold the middle 95 per cent of the drawn wheels.

    Attributes
    ----------
    chance_within : float
        Share of the wheels that end within every limit.
    gap : (float, float)
        Reading of the gauge, signed like the dish. [m]
    true : (float, float)
        Lateral run-out. [m]
    highest : (float, float)
        Highest tension at the end. [N]
    highest_on_the_way : (float, float)
        Highest tension after any nipple of any pass, the end included. [N]
    with_check : tuple of float
        ``chance_within`` if everything is read again once, after pass 1, after pass 2, ... up to the last but one. The
        errors made until then are taken as corrected, except for an error as large as that of the first readings.
    lateral, tension : (2, n) ndarray
        Lower and upper quantile at each spoke; lateral at the rim's edge, plus right. [m, N]
    draws : int
        Number of drawn wheels.
    inside : dict of Quantity to (draws,) ndarray
        Which of the drawn wheels end within the limit of each quantity.
    """

    chance_within: float
    gap: tuple[float, float]
    true: tuple[float, float]
    highest: tuple[float, float]
    highest_on_the_way: tuple[float, float]
    with_check: tuple[float, ...]
    draws: int
    lateral: Floats = field(repr=False, compare=False)
    tension: Floats = field(repr=False, compare=False)
    inside: Mapping[Quantity, Bools] = field(repr=False, compare=False, default_factory=dict)

    def hidden_by(self, unread: Collection[Quantity]) -> tuple[Quantity, ...]:
        """The quantities among these, of which not enough was read, that make ``chance_within`` as small as it is.

        Without their limits it would be larger by ``HIDDEN``; those are told that alone cost as much of it, else all.
        """
        told = [kept for name, kept in self.inside.items() if name not in unread]
        if not told or len(told) == len(self.inside):
            return ()
        of_read = np.logical_and.reduce(told)
        if of_read.mean() < self.chance_within + HIDDEN:
            return ()
        lost = {name: float((of_read & ~self.inside[name]).mean()) for name in self.inside if name in unread}
        return tuple(name for name, share in lost.items() if share >= HIDDEN) or tuple(lost)

    @property
    def check_after(self) -> int | None:
        """The earliest pass after which reading again gains (nearly) most; None if no check gains ``WORTH``."""
        if not self.with_check or max(self.with_check) < self.chance_within + WORTH:
            return None
        return next(k + 1 for k, chance in enumerate(self.with_check) if chance > max(self.with_check) - WORTH / 2)


@one_thread
def outlook(found: Estimate, states: Sequence[State], passes: Sequence[Turns], limits: Bounds,
            target_dish: float = 0.0, draws: int = DRAWS) -> Outlook:
    """Draw wheels from the posterior and follow them through the passes.

    Parameters
    ----------
    found : Estimate
        Of the wheel before the first pass.
    states : sequence of State
        The best estimate before the first pass and after each pass; one more than passes.
    passes : sequence of (n,) ndarray
        Turns of each pass, plus tightens. [turn]
    limits : Bounds
    target_dish : float
        Plus right. [m]
    draws : int
        Number of wheels to draw, even.

    Notes
    -----
    Errors are added linearly to the best estimate after the turns; random numbers have a fixed seed. A gain that was
    not learnt yet has a one-sided prior: a turn never gives more than the pitch.
    """
    after, here = states[-1], _of(states[-1])
    *drawn, learnt = found.deviations(draws, _SEED)

    def chance(errors: _Three) -> float:
        return _share(_kept(after, errors, limits, target_dish)[1])

    # Deviations from the best estimate: at last, and of fewer draws before the first pass and after each pass.
    last, along, peaks = drawn, [_some(drawn)], []
    for k, more in enumerate(_astray(found, learnt, states, passes)):
        then = [sofar + added for sofar, added in zip(last, more, strict=True)]
        peaks.append(_peak(states[k], states[k + 1], passes[k], last[2], then[2]))
        last = then
        along.append(_some(last))
    seen, inside = _kept(after, last, limits, target_dish)
    unbroken = _share(inside)
    with_check = []
    if len(passes) > 1:
        # A check removes all deviations until then but for an error like the first reading's (``drawn``). With and
        # without it are compared on the same draws (common random numbers), which makes the difference precise.
        unchecked = chance(along[-1])
        for k in range(1, len(passes)):
            since = [first + end - then for first, end, then in zip(along[0], along[-1], along[k], strict=True)]
            with_check.append(float(np.clip(unbroken + chance(since) - unchecked, 0.0, 1.0)))
    peak = np.maximum.reduce([seen.highest, *peaks])

    lateral, tension = (here[k] + np.quantile(last[k], LEVEL, axis=1) for k in (0, 2))
    return Outlook(unbroken, _interval(seen.gap), _interval(seen.true), _interval(seen.highest), _interval(peak),
                   tuple(with_check), draws, lateral, tension, inside)


class Chances:
    """``Outlook.chance_within`` alone, of several plans from one state, each taken as one pass.

    Parameters
    ----------
    found : Estimate
    limits : Bounds
    target_dish : float
        [m]
    draws : int
        Number of wheels, the same for each plan; even.
    """

    def __init__(self, found: Estimate, limits: Bounds, target_dish: float, draws: int) -> None:
        self._found, self._limits, self._target_dish = found, limits, target_dish
        *self._drawn, self._learnt = found.deviations(draws, _SEED)

    def of(self, before: State, after: State, turns: Turns) -> float:
        """Share of the wheels that end within every limit after turns (n,) from one state to another."""
        more, = _astray(self._found, self._learnt, [before, after], [turns])
        errors = [sofar + added for sofar, added in zip(self._drawn, more, strict=True)]
        return _share(_kept(after, errors, self._limits, self._target_dish)[1])


def _kept(after: State, errors: _Three, limits: Bounds, target_dish: float) -> tuple[Measures, dict[Quantity, Bools]]:
    """Quantities of a state with deviations (n, draws) added, and which of the wheels keep each limit."""
    seen = _measured(after.wheel, _of(after), errors, target_dish)
    return seen, {name: within(name, values, limits.of(name)) for name, values in seen.limited.items()
                  if name is not Quantity.OFF_USUAL}  # an aim, not a limit


def _some(errors: _Three) -> _Three:
    """Every fourth draw."""
    return [values[:, ::FEWER].copy() for values in errors]


def _interval(values: Floats) -> tuple[float, float]:
    low, high = np.quantile(values, LEVEL)
    return float(low), float(high)


def _share(inside: Mapping[Quantity, Bools]) -> float:
    """Share of the drawn wheels that keep every limit."""
    return float(np.logical_and.reduce(list(inside.values())).mean())


def _of(state: State) -> _Three:
    """Lateral position of the edge, radial position [m] and tension [N], (n,) each."""
    return [state.edge, state.radial, state.tension]


def _measured(wheel: Wheel, here: _Three, errors: _Three, target_dish: float) -> Measures:
    """Quantities of the best estimate ``here`` with deviations ``errors`` (n, draws) added."""
    lateral, radial, tension = (now[:, None] + off for now, off in zip(here, errors, strict=True))
    return measure(wheel, lateral, radial, np.maximum(tension, 0.0), target_dish=target_dish)


def _astray(found: Estimate, deviations: Floats, states: Sequence[State], passes: Sequence[Turns]) -> Iterator[_Three]:
    """Deviations that each pass adds through hand, thread and rim: lateral, radial, tension, each (n, draws).

    ``deviations`` (j, draws) are those of what was learnt, of the same wheels: a meter that shows too little makes
    tensions and what a turn gives look too small together.
    """
    rng, draws = np.random.default_rng(0), deviations.shape[1]
    learnt = dict(zip((one.name for one in found.learnt), deviations, strict=True))
    lost = learnt.get("gain_per_turn", -GAIN_SD * np.abs(rng.standard_normal(draws)))
    # Deviation of the logarithm of the stiffness.
    stiffer = learnt.get("lateral_stiffness", SOFT_SD * rng.standard_normal(draws))
    per_stiffness = _per_log_stiffness(states[0]) if any(one.any() for one in passes) else None
    influence = states[-1].influence
    for before, after, turns in zip(states[:-1], states[1:], passes, strict=True):
        turned = np.flatnonzero(turns)
        strays = misturn_sd(after.wheel, after.tension)[turned, None] * rng.standard_normal((len(turned), draws))
        causes = np.vstack([strays, lost, stiffer])
        three = []
        for k, (felt, was, now) in enumerate(zip((influence.edge, influence.radial, influence.tension), _of(before),
                                                 _of(after), strict=True)):
            softer = 0.0 * now if per_stiffness is None else per_stiffness[k] @ turns
            three.append(np.column_stack([felt[:, turned], now - was, softer]) @ causes)
        yield three


def _peak(before: State, after: State, turns: Turns, at_first: Floats, at_last: Floats) -> Floats:
    """Highest tension within a pass, (draws,).

    Looked at after the nipple where the best estimate has its maximum; the deviations there are interpolated between
    those before and after the pass.
    """
    if not turns.any():
        return np.zeros(at_first.shape[1])
    way = tension_on_the_way(before, after, turns)
    step = int(way.max(axis=0).argmax())
    share = (step + 1) / way.shape[1]
    top: Floats = (way[:, step, None] + (1 - share) * at_first + share * at_last).max(axis=0)
    return top


@lru_cache(maxsize=4)
def _per_log_stiffness(before: State) -> list[Floats] | None:
    """Derivative of the influence by the log of the rim's lateral stiffness: lateral, radial, tension, (n, n) each.

    None if the stiffer wheel is unstable.
    """
    rim, more = before.wheel.rim, float(np.exp(SMALL))
    wheel = replace(before.wheel, rim=replace(rim, lateral_bending=rim.lateral_bending * more,
                                              torsion=rim.torsion * more))
    try:
        stiffer = equilibrium(wheel, before.turns, before.own_shape, start=before).influence
    except Unstable:
        return None
    now = before.influence
    return [(there - here) / SMALL for there, here in ((stiffer.edge, now.edge), (stiffer.radial, now.radial),
                                                      (stiffer.tension, now.tension))]
