"""From turns to work: passes of one flange and one direction each, before they are put in order."""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.encoded import Encoded
from wheelsim.measures.view import View
from wheelsim.mechanics.windup import wind_up
from wheelsim.planning.programme import MOST_AT_ONCE
from wheelsim.planning.sides import SIGNS, Verb
from wheelsim.units import QUARTER
from wheelsim.wheel.parts import SIDES, Side, Wheel

Kind: TypeAlias = tuple[Side, Verb]
Parts: TypeAlias = dict[Kind, list[Turns]]  # the passes of each flange and direction

STILL = 1 / 8  # of a side's nipples, two of sixteen: with no more of them left out it is turned as a whole; own choice


@dataclass(frozen=True, eq=False)
class PlannedPass(Encoded):
    """Once round one flange, still to be done; what was done is a ``Pass`` of the job.

    Attributes
    ----------
    turns : (n,) ndarray
        [turn]
    after : View
        The wheel when the pass is done.
    peak_tension : float
        Highest tension on the way, nipple by nipple from the valve round. [N]
    half_way_true : float
        Lateral run-out to expect half-way round. [m]
    gauge_again : bool
        Whether the gauge is read again after it: the rim's wobble made the first reading doubtful.
    """

    number: int
    side: Side
    verb: Verb
    turns: Turns
    before: View
    after: View
    peak_tension: float
    half_way_true: float
    gauge_again: bool = False

    @property
    def wind_up(self) -> float:
        """How far its spokes twist, on average, before their nipples move on the thread. [turn]"""
        state, wheel = self.after.state, self.after.state.wheel
        twists = wind_up(wheel, (self.before.state.tension + state.tension) / 2, tighten=self.verb == "tighten")
        return float(twists[self.turns != 0].mean())

    @property
    def settles(self) -> bool:
        """Whether spokes are squeezed and the wheel is read after it: a tightened round is, before the next."""
        return self.verb == "tighten"


def rounds(turns: Turns, wheel: Wheel, alike_most: float = QUARTER) -> Parts:
    """Turns (n,) as passes by (side, verb), each nipple with its own amount; what a whole side takes by quarters.

    A side counts as whole without the few nipples that stay (``STILL``: stuck ones). With ``alike_most`` as large as a
    pass may be, in as few as can be.
    """
    out: Parts = {}
    for side in SIDES:
        mine = np.isin(np.arange(len(turns)), wheel.on_side(side))
        for verb, sign in SIGNS:
            left = np.where(mine, np.maximum(sign * turns, 0.0), 0.0)
            pulling, passes = wheel.pulling(side), []
            while left.max() > 1e-9:
                some = left[pulling][left[pulling] > 1e-9]
                whole = len(some) >= (1 - STILL) * len(pulling) and alike_most < MOST_AT_ONCE
                every = some.min() if whole else 0.0
                now = np.minimum(left, min(alike_most, every) if every > 1e-9 else MOST_AT_ONCE)
                passes.append(sign * now)
                left = left - now
            if passes:
                out[side, verb] = passes
    return out


def split(turns: Turns, wheel: Wheel, most: float = QUARTER) -> Parts:
    """Turns (n,) as lists of equal-amount passes by (side, verb), largest amounts first."""
    out: Parts = {}
    for side in SIDES:
        mine = np.zeros(len(turns), dtype=bool)
        mine[wheel.on_side(side)] = True
        for verb, sign in SIGNS:
            left = np.where(mine, np.maximum(sign * turns, 0.0), 0.0)
            passes: list[Turns] = []
            amount = most
            while left.max() > 1e-9:
                now = np.where(left > amount - 1e-9, 1.0, 0.0)
                if now.any():
                    passes.append(sign * amount * now)
                    left = left - amount * now
                else:
                    amount /= 2
            if passes:
                out[side, verb] = passes
    return out


def plain_passes(turns: Turns, wheel: Wheel) -> list[Turns]:
    """The passes of turns (n,), before any is parted to keep the way."""
    return [one for passes in rounds(turns, wheel).values() for one in passes]
