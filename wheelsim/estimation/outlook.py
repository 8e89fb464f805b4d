"""What may happen to a wheel when turns are made, rather than what should: the wheels that the readings allow, turned
by a hand that errs, on spokes that wind up, with a thread that gives less than its pitch and a rim that is not quite
as its kind.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.estimation.course import GAIN_SD, SOFT_SD
from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.hand import misturn_sd
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import Quantity, measure
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.units import MM, rounded

DRAWS = 10_000
LEVEL = (0.025, 0.975)  # of the intervals


@dataclass(frozen=True)
class Outlook:
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
    draws : int
    """

    chance_within: float
    gap: tuple[float, float]
    true: tuple[float, float]
    highest: tuple[float, float]
    draws: int

    def as_dict(self) -> dict[str, object]:
        """For programs."""
        return {"chance_within": rounded(self.chance_within, 4),
                "gap_mm": [rounded(one / MM, 4) for one in self.gap],
                "lateral_runout_mm": [rounded(one / MM, 4) for one in self.true],
                "highest_N": [rounded(one, 2) for one in self.highest], "draws": self.draws}


def outlook(found: Estimate, before: State, after: State, passes: Sequence[Turns], limits: Bounds,
            target_dish: float = 0.0, draws: int = DRAWS) -> Outlook:
    """Draw the wheels that turns may end in.

    Parameters
    ----------
    found : Estimate
        Of the wheel before.
    before, after : State
        The likeliest wheel before and after the turns.
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
    rng = np.random.default_rng(0)
    wheel, n = after.wheel, after.wheel.n
    drawn = found.draw(draws, seed=1)
    shift = [values - now[:, None] for values, now in
             zip(drawn, (found.state.edge, found.state.radial, found.state.tension), strict=True)]
    times = np.sum([np.asarray(one) != 0 for one in passes], axis=0) if len(passes) else np.zeros(n)
    errors = (misturn_sd(wheel, after.tension) * np.sqrt(times))[:, None] * rng.standard_normal((n, draws))
    influence = after.influence
    learnt = {one.name: one for one in found.learnt}
    if "gain_per_turn" in learnt:
        lost = learnt["gain_per_turn"].sd / learnt["gain_per_turn"].value * rng.standard_normal(draws)
    else:
        lost = -GAIN_SD * np.abs(rng.standard_normal(draws))
    turned = np.sum(passes, axis=0) if len(passes) else np.zeros(n)
    soft = learnt["lateral_stiffness"].sd if "lateral_stiffness" in learnt else SOFT_SD
    softened = _softened(before, turned) if turned.any() else None
    softness = soft * rng.standard_normal(draws)
    out: list[Floats] = []
    for k, (felt, was, now) in enumerate(((influence.edge, before.edge, after.edge),
                                          (influence.radial, before.radial, after.radial),
                                          (influence.tension, before.tension, after.tension))):
        values = now[:, None] + shift[k] + felt @ errors + np.outer(now - was, lost)
        if softened is not None:
            values += np.outer(softened[k], softness)
        out.append(values)
    seen = measure(wheel, out[0], out[1], np.maximum(out[2], 0.0), target_dish=target_dish)
    within = np.ones(draws, dtype=bool)
    for name, values in seen.limited.items():
        if name is not Quantity.OFF_USUAL:
            within &= name.sign * values <= name.sign * limits.of(name) + name.rounding

    def interval(values: Floats) -> tuple[float, float]:
        low, high = np.quantile(values, LEVEL)
        return float(low), float(high)

    return Outlook(float(within.mean()), interval(seen.gap), interval(seen.true), interval(seen.highest), draws)


def _softened(before: State, turned: Turns) -> list[Floats] | None:
    """Change of what the turns do for a rim stiffer sideways by one in its logarithm: lateral, radial, tension."""
    step = 0.05
    rim = before.wheel.rim
    wheel = replace(before.wheel, rim=replace(rim, lateral_bending=rim.lateral_bending * (1 + step),
                                              torsion=rim.torsion * (1 + step)))
    try:
        stiffer = equilibrium(wheel, before.turns, before.own_shape, start=before).influence
    except Unstable:
        return None
    now = before.influence
    return [(there - here) @ turned / step for there, here in ((stiffer.edge, now.edge),
                                                              (stiffer.radial, now.radial),
                                                              (stiffer.tension, now.tension))]
