"""From turns to work: passes of one flange, one direction and one amount each.

Loosening comes before tightening wherever the limits allow it; at the end of every pass a spoke
that was within its limit still is, and one that came in above has not risen.
"""

from dataclasses import dataclass

import numpy as np

from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.truing.view import View, view
from wheelsim.units import QUARTER, turns_text
from wheelsim.wheel.parts import SIDES

SPANNER = {
    "tighten": "clockwise seen from the tyre side",
    "loosen": "anticlockwise seen from the tyre side",
}


@dataclass(frozen=True, eq=False)
class Pass:
    """Once round one flange.

    Attributes
    ----------
    turns : (n,) ndarray
        [turn]
    after : View
        The wheel when the pass is done.
    peak_tension : float
        Highest tension on the way, nipple by nipple from the valve round. [N]
    """

    number: int
    side: str
    verb: str
    turns: np.ndarray
    before: View
    after: View
    peak_tension: float

    @property
    def action(self):
        """The instruction, in one sentence."""
        wheel = self.before.state.wheel
        spokes = np.flatnonzero(self.turns) + 1
        amount = turns_text(abs(self.turns[spokes[0] - 1]))
        whole = len(spokes) == sum(i + 1 not in wheel.spokes.missing for i in wheel.on_side(self.side))
        which = "every spoke" if whole else f"spoke{'s' * (len(spokes) > 1)} {number_list(spokes)}"
        return (f"{self.side.capitalize()} flange, {self.verb} {amount}, {which}, from the valve round; "
                f"turn the spanner {SPANNER[self.verb]}.")

    def as_dict(self):
        return {"number": self.number, "action": self.action, "turns": [float(t) for t in self.turns],
                "after": self.after.as_dict(), "peak_tension_N": round(self.peak_tension, 3)}


def number_list(numbers):
    """Numbers in words, runs of three and more shortened: ``1, 3-5, 9``."""
    runs = []
    for number in sorted(int(k) for k in numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(a) if a == b else f"{a}, {b}" if b == a + 1 else f"{a}-{b}" for a, b in runs)


def split(turns, wheel, most=QUARTER):
    """Turns (n,) as lists of equal-amount passes by (side, verb), largest amounts first."""
    out = {}
    for side in SIDES:
        mine = np.zeros(len(turns), dtype=bool)
        mine[wheel.on_side(side)] = True
        for verb, sign in (("loosen", -1.0), ("tighten", 1.0)):
            left = np.where(mine, np.maximum(sign * turns, 0.0), 0.0)
            passes, amount = [], most
            while left.max() > 1e-9:
                now = left > amount - 1e-9
                if now.any():
                    passes.append(sign * amount * now)
                    left = left - amount * now
                else:
                    amount /= 2
            if passes:
                out[side, verb] = passes
    return out


def order_passes(state, turns, bounds, most=QUARTER):
    """An order of passes that keeps within bounds at the end of each.

    Parameters
    ----------
    state : State
        As received.
    turns : (n,) ndarray
        [turn]
    bounds : Bounds
        The tension limits that hold on the way.
    most : float
        Largest amount of one pass. [turn]

    Returns
    -------
    passes : tuple of Pass
    sound : bool
        False if no order keeps every spoke within; the passes then take the plain order, loosening first.
    """
    work = split(turns, state.wheel, most)
    kinds = sorted(work, key=lambda kind: (kind[1] != "loosen", -view(state).mean[kind[0]]))
    keeps = _Keeper(state.tension, bounds)
    for floor in (True, False):
        found = _follow(state, work, kinds, keeps, floor)
        if found is not None:
            return _numbered(found), True
    return _numbered(_plain(state, work, kinds)), False


class _Keeper:
    """Whether tensions keep what the bounds ask of a way from the tensions as received."""

    def __init__(self, received, bounds):
        slight = 1e-3
        self.top = np.maximum(bounds.max_tension, received) + slight
        self.low = np.where(received >= bounds.min_tension - slight, bounds.min_tension - slight, -np.inf)
        self.limit = bounds.max_tension + slight

    def holds(self, before, after, floor):
        # Once a spoke has come down within the limit it stays there.
        top = np.where(before <= self.limit, self.limit, np.minimum(self.top, before + 1e-3))
        return bool((after <= top).all() and (not floor or (after >= self.low).all()))


def _step(state, side, verb, turns):
    after = equilibrium(state.wheel, state.turns + turns, state.own_shape, start=state)
    spokes = np.flatnonzero(turns)
    way = state.tension[:, None] + np.cumsum(state.influence.tension[:, spokes] * turns[spokes], axis=1)
    peak = max(float(way.max()), float(state.tension.max()), float(after.tension.max()))
    return after, (side, verb, turns, state, after, peak)


def _follow(state, work, kinds, keeps, floor):
    """Depth first, loosening first; a count of passes done by kind is visited once."""
    seen = set()

    def go(done, at, steps):
        if all(done[k] == len(work[kind]) for k, kind in enumerate(kinds)):
            return steps
        for k, kind in enumerate(kinds):
            if done[k] == len(work[kind]):
                continue
            then = (*done[:k], done[k] + 1, *done[k + 1:])
            if then in seen:
                continue
            seen.add(then)
            after, step = _step(at, *kind, work[kind][done[k]])
            if keeps.holds(at.tension, after.tension, floor):
                found = go(then, after, [*steps, step])
                if found is not None:
                    return found
        return None

    return go((0,) * len(kinds), state, [])


def _plain(state, work, kinds):
    steps = []
    for kind in kinds:
        for turns in work[kind]:
            state, step = _step(state, *kind, turns)
            steps.append(step)
    return steps


def _numbered(steps):
    return tuple(Pass(k + 1, side, verb, turns, view(before), view(after), peak)
                 for k, (side, verb, turns, before, after, peak) in enumerate(steps))
