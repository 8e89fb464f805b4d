"""What may happen to a wheel when turns are made, rather than what should: the wheels that the readings allow, turned
by a hand that errs, on spokes that wind up, with a thread that gives less than its pitch and a rim that is not quite
as its kind.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.encoded import Encoded
from wheelsim.estimation.course import GAIN_SD, SMALL, SOFT_SD
from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.hand import misturn_sd
from wheelsim.measures.bounds import Bounds, within
from wheelsim.measures.on_the_way import tension_on_the_way
from wheelsim.measures.quantities import Measures, Quantity, measure
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.wheel.parts import Wheel

DRAWS = 10_000
LEVEL = (0.025, 0.975)  # of the intervals
FEWER = 4  # of the draws one in so many compares checks: 2,500 pairs tell half a per cent, in a quarter of the time
WORTH = 0.03  # more wheels within the limits than this, and a check between passes is worth its time: own choice

_Three: TypeAlias = list[Floats]  # of lateral, radial and tension


@dataclass(frozen=True)
class Outlook(Encoded):
    """Where a wheel may end: 95 per cent intervals over the drawn wheels.

    Attributes
    ----------
    chance_within : float
        Share of the wheels that end within every limit.
    gap : (float, float)
        What the gauge may show, signed like the dish. [m]
    true : (float, float)
        Lateral run-out. [m]
    highest : (float, float)
        Highest tension at the end. [N]
    highest_on_the_way : (float, float)
        Nipple by nipple through all passes, the end included. [N]
    with_check : tuple of float
        ``chance_within`` where all is read again after pass 1, 2, ... of those before the last, and what went astray by
        then is put right as well as it was read at first.
    lateral, tension : (2, n) ndarray
        Lower and upper end for each spoke, at the rim's edge. [m, N]
    draws : int
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

    @property
    def check_after(self) -> int | None:
        """The earliest pass after which reading again does nearly all it can, or None where it gains too little."""
        if not self.with_check or max(self.with_check) < self.chance_within + WORTH:
            return None
        return next(k + 1 for k, chance in enumerate(self.with_check) if chance > max(self.with_check) - WORTH / 2)


def outlook(found: Estimate, states: Sequence[State], passes: Sequence[Turns], limits: Bounds,
            target_dish: float = 0.0, draws: int = DRAWS) -> Outlook:
    """Draw the wheels that turns may end in.

    Parameters
    ----------
    found : Estimate
        Of the wheel before.
    states : sequence of State
        The likeliest wheel before and after each pass: one more than passes.
    passes : sequence of (n,) ndarray
        What is to be turned, pass by pass. [turn]
    limits : Bounds
    target_dish : float
        [m]

    Notes
    -----
    Errors are carried on linearly from the likeliest wheel after the turns; a gain not yet learnt is one-sided, for a
    turn never gives more than its pitch.
    """
    after, wheel = states[-1], states[-1].wheel
    drawn = [values - now[:, None] for values, now in zip(found.draw(draws, seed=1), _of(found.state), strict=True)]
    here = _of(after)
    astray = _astray(found, states, passes, draws)

    def chance(errors: _Three) -> tuple[Measures, float]:
        seen = _measured(wheel, here, errors, target_dish)
        kept = np.ones(errors[0].shape[1], dtype=bool)
        for name, values in seen.limited.items():
            if name is not Quantity.OFF_USUAL:  # an aim, not a limit
                kept &= within(name, values, limits.of(name))
        return seen, float(kept.mean())

    # Deviations before the first pass and after each; what a later check finds is put right, so only what comes after
    # it is left.
    along = [drawn]
    for one in astray:
        along.append([sofar + more for sofar, more in zip(along[-1], one, strict=True)])
    seen, unbroken = chance(along[-1])
    with_check = []
    if len(passes) > 1:
        # Each against the same draws without a check: the difference errs far less than either share.
        unchecked = chance([last[:, ::FEWER] for last in along[-1]])[1]
        for k in range(1, len(passes)):
            since = [first[:, ::FEWER] + last[:, ::FEWER] - then[:, ::FEWER]
                     for first, last, then in zip(drawn, along[-1], along[k], strict=True)]
            with_check.append(float(np.clip(unbroken + chance(since)[1] - unchecked, 0.0, 1.0)))
    peak = seen.highest
    for k, turns in enumerate(passes):
        peak = np.maximum(peak, _peak(states[k], states[k + 1], turns, along[k][2], along[k + 1][2]))

    def interval(values: Floats) -> tuple[float, float]:
        low, high = np.quantile(values, LEVEL)
        return float(low), float(high)

    return Outlook(unbroken, interval(seen.gap), interval(seen.true), interval(seen.highest), interval(peak),
                   tuple(with_check), draws, *(now + np.quantile(errors, LEVEL, axis=1) for now, errors in
                                               ((here[0], along[-1][0]), (here[2], along[-1][2]))))


def _of(state: State) -> _Three:
    return [state.edge, state.radial, state.tension]


def _measured(wheel: Wheel, here: _Three, errors: _Three, target_dish: float) -> Measures:
    lateral, radial, tension = (now[:, None] + off for now, off in zip(here, errors, strict=True))
    return measure(wheel, lateral, radial, np.maximum(tension, 0.0), target_dish=target_dish)


def _astray(found: Estimate, states: Sequence[State], passes: Sequence[Turns], draws: int) -> list[_Three]:
    """What each pass adds to the deviations by hand, thread and rim: lateral, radial, tension, each (n, draws)."""
    rng = np.random.default_rng(0)
    learnt = {one.name: one for one in found.learnt}
    if "gain_per_turn" in learnt:
        lost = learnt["gain_per_turn"].sd / learnt["gain_per_turn"].value * rng.standard_normal(draws)
    else:
        lost = -GAIN_SD * np.abs(rng.standard_normal(draws))
    stiffness = learnt.get("lateral_stiffness")
    # As a logarithm; that of a learnt value is its deviation over itself.
    stiffer = (SOFT_SD if stiffness is None else stiffness.sd / stiffness.value) * rng.standard_normal(draws)
    per_stiffness = _per_log_stiffness(states[0]) if any(one.any() for one in passes) else None
    influence = states[-1].influence
    out: list[_Three] = []
    for before, after, turns in zip(states[:-1], states[1:], passes, strict=True):
        turned = np.flatnonzero(turns)
        strays = misturn_sd(after.wheel, after.tension)[turned, None] * rng.standard_normal((len(turned), draws))
        three = []
        for k, (felt, was, now) in enumerate(zip((influence.edge, influence.radial, influence.tension), _of(before),
                                                 _of(after), strict=True)):
            errors = felt[:, turned] @ strays + np.outer(now - was, lost)
            if per_stiffness is not None:
                errors += np.outer(per_stiffness[k] @ turns, stiffer)
            three.append(errors)
        out.append(three)
    return out


def _peak(before: State, after: State, turns: Turns, at_first: Floats, at_last: Floats) -> Floats:
    """Highest tension within a pass, (draws,), by the deviations before and after it; at its likeliest worst nipple."""
    if not turns.any():
        return np.zeros(at_first.shape[1])
    way = tension_on_the_way(before, after, turns)
    step = int(way.max(axis=0).argmax())
    share = (step + 1) / way.shape[1]
    top: Floats = (way[:, step, None] + (1 - share) * at_first + share * at_last).max(axis=0)
    return top


def _per_log_stiffness(before: State) -> list[Floats] | None:
    """Change of the influence per logarithm of the rim's stiffness sideways: lateral, radial, tension, each (n, n)."""
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
