"""Small moves of a hand, tried on the wheel as it stands before a hint names one."""

from collections.abc import Iterable, Sequence

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds, broken, within
from wheelsim.measures.on_the_way import most_allowed, top_on_the_way
from wheelsim.measures.quantities import Quantity, departures
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.units import QUARTER
from wheelsim.wheel.parts import SIDES

HALF, EIGHTH = 2 * QUARTER, QUARTER / 2
AMOUNTS = (QUARTER, EIGHTH, EIGHTH / 2)


def distance(seen: View, limits: Bounds) -> float:
    """How far a wheel is from its limits in one number: sum of squares of the limited quantities, each over its limit.

    Half is added for each limit that is broken. The weights are own choice.
    """
    state = seen.state
    here = np.concatenate([state.wheel.pulling(side) for side in SIDES]).astype(int)
    tension = state.tension[here]
    # A wave of run-out r has the variance r^2 / 8.
    return float(len(broken(seen.values, limits)) / 2
                 + (2 * seen.dish / limits.gap) ** 2
                 + 8 * np.var(state.lateral) / limits.lateral_runout**2
                 + 8 * np.var(state.radial) / limits.radial_runout**2
                 + 3 * np.mean(departures(state.wheel, state.tension)[here] ** 2) / limits.side_spread**2
                 + np.sum((np.maximum(tension / limits.max_tension - 1, 0) / 0.1) ** 2)
                 + np.sum((np.maximum(1 - tension / limits.min_tension, 0) / 0.3) ** 2))


class Bench:
    """The wheel as it stands, on which moves are tried.

    Parameters
    ----------
    state : State
    limits : Bounds
    received : (n,) ndarray
        Tensions when the wheel came in. [N]
    stuck : frozenset of int
        Nipples that can't be turned.
    """

    def __init__(self, state: State, limits: Bounds, received: Floats, stuck: frozenset[int] = frozenset()) -> None:
        self.state, self.limits = state, limits
        # A spoke that was taken past its limit earlier may not go higher; without this no move would be allowed at all.
        self.most = np.maximum(most_allowed(received, limits.max_tension), state.tension)
        self.seen, self.wheel = view(state), state.wheel
        self.free = np.array([i + 1 not in stuck for i in range(self.wheel.n)])
        self.distance = distance(self.seen, limits)
        self._known: dict[bytes, View | None] = {}  # what came of the moves tried so far

    def tried(self, turns: Turns) -> View | None:
        """The wheel after a move, a View.

        None where on the way a spoke goes above what it may have, or in the end below its least, or where one is
        left slack, or the wheel folds.
        """
        turns = np.where(self.free, turns, 0.0)
        if not turns.any():
            return None
        key = turns.tobytes()
        if key not in self._known:
            self._known[key] = self._tried(turns)
        return self._known[key]

    def _tried(self, turns: Turns) -> View | None:
        """The same, worked out."""
        try:
            after = equilibrium(self.wheel, self.state.turns + turns, self.state.own_shape, start=self.state)
        except Unstable:
            return None
        then = view(after)
        kept = within(Quantity.HIGHEST, top_on_the_way(self.state, after, turns), self.most)
        held, now = (within(Quantity.LOWEST, one.tension, self.limits.min_tension) for one in (self.state, after))
        return None if not kept.all() or (held & ~now).any() or set(then.slack) - set(self.seen.slack) else then

    def best(self, moves: Sequence[Turns]) -> Turns | None:
        """The move of those (n,) that brings the wheel nearest to good, or None if none brings it nearer. [turn]"""
        # Rounded, so that of equal moves the first is taken on any machine.
        found = [(round(distance(then, self.limits), 3), k) for k, move in enumerate(moves)
                 if (then := self.tried(move)) is not None]
        nearest = min(found, default=(np.inf, 0))
        return np.where(self.free, moves[nearest[1]], 0.0) if nearest[0] < round(self.distance, 3) else None

    # Moves ----------------------------------------------------------------------------------------------------------

    def whole(self, **sides: float) -> Turns:
        """Turns of whole sides, by name. [turn]"""
        turns = np.zeros(self.wheel.n)
        for side in SIDES:
            turns[self.wheel.pulling(side)] = sides.get(side, 0.0)
        return turns

    def single(self, spokes: Iterable[int], amount: float) -> Turns:
        """The same turn of spokes, counted from 0. [turn]"""
        turns = np.zeros(self.wheel.n)
        turns[list(spokes)] = amount
        return turns

    def around(self, station: int, right: float, left: float) -> list[Turns]:
        """Turns at a place of the rim: the free spokes of each side nearest to it, or half as much on two more.

        Returns
        -------
        list of (n,) ndarray
            For both widths, whole and halved, a quarter turn or half that.
        """
        out = []
        for size in (QUARTER, EIGHTH):
            for beside in (0, 1):
                turns = np.zeros(self.wheel.n)
                for side, sign in zip(SIDES, (right, left), strict=True):
                    own = [i for i in self.wheel.pulling(side) if self.free[i]]
                    if not own:
                        continue
                    middle = int(np.argmin([self.apart(spoke, station) for spoke in own]))
                    for k in range(-beside, beside + 1):
                        turns[own[(middle + k) % len(own)]] = sign * size * (0.5 if k else 1)
                out.append(turns)
        return out

    def apart(self, i: int, j: int) -> int:
        """Stations between two, the short way round."""
        return min((i - j) % self.wheel.n, (j - i) % self.wheel.n)

    def pairs(self) -> list[tuple[int, int]]:
        """Neighbours of one flange as (tight, loose), the most unlike first, a tight one beside one below the mean."""
        share, out = departures(self.wheel, self.state.tension), []
        for side in SIDES:
            own = self.wheel.pulling(side)
            for k in range(len(own)):
                i, j = own[k], own[(k + 1) % len(own)]
                tight, loose = (i, j) if share[i] > share[j] else (j, i)
                if share[tight] > 0 > share[loose] and self.free[tight] and self.free[loose]:
                    out.append((share[tight] - share[loose], int(tight), int(loose)))
        return [(tight, loose) for _, tight, loose in sorted(out, reverse=True)]
