"""From turns to work: passes of one flange and one direction each, before they are put in order."""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.measures.view import View
from wheelsim.mechanics.windup import wind_up
from wheelsim.planning.programme import MOST_AT_ONCE
from wheelsim.planning.sides import SIGNS, Verb
from wheelsim.units import MM, QUARTER, number_list, turns_text
from wheelsim.wheel.parts import SIDES, Side, Wheel

Kind: TypeAlias = tuple[Side, Verb]
Parts: TypeAlias = dict[Kind, list[Turns]]  # the passes of each flange and direction

SETTLE = ("Settle: squeeze the spokes in parallel pairs, once round on both flanges; read gauge and dial again, and "
          "the tension of a few spokes, for some of it is lost.")
SPANNER: dict[Verb, str] = {
    "tighten": "clockwise seen from the tyre side",
    "loosen": "anticlockwise seen from the tyre side",
}


@dataclass(frozen=True, eq=False)
class PlannedPass:
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
    """

    number: int
    side: Side
    verb: Verb
    turns: Turns
    before: View
    after: View
    peak_tension: float
    half_way_true: float

    @property
    def wind_up(self) -> float:
        """How far its spokes twist, on average, before their nipples move on the thread. [turn]"""
        state, wheel = self.after.state, self.after.state.wheel
        twists = wind_up(wheel, (self.before.state.tension + state.tension) / 2, tighten=self.verb == "tighten")
        return float(twists[self.turns != 0].mean())

    @property
    def then(self) -> str | None:
        """What comes between this pass and the next, or None: a tightened round is settled before it is read."""
        return SETTLE if self.verb == "tighten" else None

    @property
    def action(self) -> str:
        """The instruction, in one sentence."""
        return f"{self.what}; turn the spanner {SPANNER[self.verb]}."

    @property
    def what(self) -> str:
        """The instruction without the spanner's direction."""
        wheel = self.before.state.wheel
        amounts = np.abs(self.turns)
        parts = []
        for amount in np.unique(amounts[amounts > 0])[::-1]:
            spokes = np.flatnonzero(amounts == amount) + 1
            whole = len(spokes) == len(wheel.pulling(self.side))
            which = "every spoke" if whole else f"spoke{'s' * (len(spokes) > 1)} {number_list(spokes)}"
            parts.append((turns_text(float(amount)), which))
        head = f"{self.side.capitalize()} flange, {self.verb}"
        if len(parts) == 1:
            return f"{head} {', '.join(parts[0])}, from the valve round"
        each = "; ".join(f"{amount} at {which}" for amount, which in parts)
        return f"{head}, once round from the valve: {each}; no others"

    def as_dict(self) -> dict[str, object]:
        return {"number": self.number, "action": self.action, "turns": [float(t) + 0.0 for t in self.turns],
                "after": self.after.as_dict(), "peak_tension_N": round(self.peak_tension, 3),
                "half_way_runout_mm": round(self.half_way_true / MM, 4), "then": self.then,
                "wind_up_deg": round(360 * self.wind_up, 1)}


def rounds(turns: Turns, wheel: Wheel, alike_most: float = QUARTER) -> Parts:
    """Turns (n,) as passes by (side, verb), each nipple with its own amount; a side turned alike by quarters."""
    out: Parts = {}
    for side in SIDES:
        mine = np.isin(np.arange(len(turns)), wheel.on_side(side))
        for verb, sign in SIGNS:
            left = np.where(mine, np.maximum(sign * turns, 0.0), 0.0)
            alike = np.ptp(left[wheel.pulling(side)]) < 1e-9
            passes = []
            while left.max() > 1e-9:
                now = np.minimum(left, alike_most if alike else MOST_AT_ONCE)
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
