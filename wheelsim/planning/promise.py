"""What a plan promises: of the wheels that the readings allow, how many keep a limit.

A margin of so many standard deviations is the share of wheels that many deviations leave on one side (1: 84 of 100).
The highest of many spokes, each known to some newtons, lies above the highest of the wheel that fits best, so what is
kept from a limit is a quantile over drawn wheels and not a multiple of a deviation.
"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.estimation.estimate import Estimate
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import Quantity, measure
from wheelsim.mechanics.equilibrium import State
from wheelsim.readings.gauge import Gauge
from wheelsim.wheel.parts import SIDES, Wheel

DRAWS = 1000  # wheels drawn: a share is then known to about one per cent (binomial)
FROM_A_TENTH = 0.1  # of its limit: below that a run-out or spread is scatter rather than a pattern; own choice
# Of the highest tension allowed, by which a plan by hand may come nearer to it than the margin asks: a quarter turn of
# both sides, ten times that, is not made for less. Where fewer than half of the spokes were read it is more: what is
# kept then is mostly what reading on would settle, and a wheel is not left below its usual tension for it. Own choice.
GIVEN, GIVEN_FEW = 0.01, 0.04
DRAWN = (Quantity.TRUE, Quantity.ROUND, Quantity.SPREAD)


@dataclass(frozen=True, eq=False)
class Promise:
    """Drawn deviations from the wheel that fits the readings best.

    Attributes
    ----------
    margin : float
        Standard deviations.
    share : float
        Of the wheels drawn, so many shall keep each limit.
    lateral, radial, tension : (n, k) ndarray
        Deviations; nought where nothing was read of them or no margin is asked for. [m, N]
    given : float
        What is given away of that at the highest tension. [N]
    """

    wheel: Wheel
    margin: float
    share: float
    lateral: Floats
    radial: Floats
    tension: Floats
    given: float = 0.0

    def highest(self, tension: Floats) -> float:
        """What the highest spoke keeps below in the promised share of wheels, less what is given. [N]"""
        top = float(np.quantile((tension[:, None] + self.tension).max(axis=0), self.share))
        return max(top - self.given, float(tension.max()))

    def lowest(self, tension: Floats) -> float:
        """What the lowest spoke that is there keeps above, likewise. [N]"""
        there = np.concatenate([self.wheel.pulling(side) for side in SIDES])
        return float(np.quantile((tension[:, None] + self.tension)[there].min(axis=0), 1 - self.share))

    def given_up(self, tension: Floats, limits: Bounds) -> float:
        """How much of the margin tensions (n,) do without, that is given away. [N]"""
        return min(max(self.highest(tension) + self.given - limits.max_tension, 0.0), self.given)

    def short(self, tension: Floats, limits: Bounds) -> tuple[float, float]:
        """By how much tensions (n,) fail the promise: above the highest, below the lowest that is allowed. [N]"""
        return (max(self.highest(tension) - limits.max_tension, 0.0),
                max(limits.min_tension - self.lowest(tension), 0.0))

    def kept(self, lateral: Floats, radial: Floats, tension: Floats, limits: Bounds) -> dict[Quantity, float]:
        """What to keep from each limit for a wheel whose rim and spokes stand in this pattern. [m, N, fraction]

        Parameters
        ----------
        lateral, radial, tension : (n,) ndarray
            [m, N]
        limits : Bounds
            Run-outs and spread are looked at where they are as large as these: there the margin counts.
        """
        keep = {Quantity.GAP: self.margin * 2 * float(self.lateral.mean(axis=0).std()),
                Quantity.HIGHEST: self.highest(tension) - float(tension.max()),
                Quantity.LOWEST: self._low(tension) - self.lowest(tension)}
        mean = np.zeros_like(tension)
        for side in SIDES:
            mean[self.wheel.on_side(side)] = tension[self.wheel.pulling(side)].mean()
        at_hand = measure(self.wheel, lateral, radial, tension).limited
        for name in DRAWN:
            limit = limits.of(name)
            grown = limit / max(float(at_hand[name]), FROM_A_TENTH * limit)
            there = measure(self.wheel, grown * (lateral - lateral.mean())[:, None] + self.lateral,
                            grown * radial[:, None] + self.radial,
                            (mean + grown * (tension - mean))[:, None] + self.tension).limited[name]
            keep[name] = max(float(np.quantile(there, self.share)) - float(grown * at_hand[name]), 0.0)
        return keep

    def _low(self, tension: Floats) -> float:
        return float(min(tension[self.wheel.pulling(side)].min() for side in SIDES))


def promise_of(wheel: Wheel, found: Estimate, margin: float, read: dict[str, bool]) -> Promise:
    """The promise of a margin [standard deviations] on an estimate; ``read`` as from ``was_read``.

    What was not read has no margin: no turns could make up for it, and that it is taken, not read, is told.
    """
    state, draws = found.state, (DRAWS if margin > 0 else 2)
    lateral, radial, tension = found.draw(draws)
    tension_read = read["max_tension"] and margin > 0
    return Promise(wheel, margin, NormalDist().cdf(margin),
                   (lateral - state.edge[:, None]) * (margin > 0),
                   (radial - state.radial[:, None]) * (margin > 0 and read["radial_runout"]),
                   (tension - state.tension[:, None]) * tension_read)


def kept_from(bounds: Bounds, promise: Promise, state: State, gauge: Gauge | None,
              read: dict[str, bool]) -> dict[Quantity, float]:
    """What to keep from bounds, by quantity, of what was read of a state. [m, N, fraction]"""
    keep = {name: value for name, value in promise.kept(state.edge, state.radial, state.tension, bounds).items()
            if read.get(name)}
    return keep | kept_of_the_gap(gauge, read, promise.margin)


def kept_of_the_gap(gauge: Gauge | None, read: dict[str, bool], margin: float) -> dict[Quantity, float]:
    """What to keep from the gap where no dial was read: the gauge's own error, so many deviations of it. [m]

    Unread, the rim is taken as true, and the assumption is told; no turns could make up for it.
    """
    return {} if gauge is None or read["lateral_runout"] else {Quantity.GAP: margin * gauge.gap_sd}
