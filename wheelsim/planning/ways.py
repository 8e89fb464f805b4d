"""Tighten one side, loosen the other, or both: what each would do to dish and tension."""

from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.encoded import Encoded
from wheelsim.measures.bounds import Bounds, broken
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.task import Task
from wheelsim.wheel.parts import OTHER, SIDES, Side

DISH_MATTERS = (Quantity.GAP, Quantity.HIGHEST, Quantity.LOWEST)


@dataclass(frozen=True, eq=False)
class Way(Encoded):
    """Whole-side passes that centre the rim best in one way.

    ``tighten`` and ``loosen`` are the sides it does that to, or None. ``outside`` names the limits on gap and tension
    it breaks; true, round and spread it leaves alone. ``after`` is None when the wheel has no stable answer there.
    """

    tighten: Side | None
    loosen: Side | None
    right_turns: float
    left_turns: float
    after: View | None
    outside: tuple[str, ...]


def compare_ways(state: State, task: Task, limits: Bounds) -> tuple[Way, ...]:
    """The three ways to centre a rim that is off, or none if it is centred to less than half a step.

    Parameters
    ----------
    state : State
    task : Task
        For its step, free nipples and target.
    limits : Bounds

    Returns
    -------
    tuple of Way
    """
    centring = _Centring(state, task, limits)
    moves = centring.moves
    if centring.need < min((abs(move) for move in moves.values() if move), default=np.inf) / 2:
        return ()
    toward, away = centring.toward, centring.away
    both = _split_both(centring.need, abs(moves[toward]), abs(moves[away]))
    ways = []
    for tighten, loosen in ((centring.steps(toward), 0), (0, centring.steps(away)), both):
        if not (tighten or loosen) or (tighten and not task.highest.any()):
            continue
        way = centring.way(tighten, loosen)
        # A step of each side may be more than it takes: no way to centre a rim that it takes further off.
        if tighten and loosen and way.after is not None and abs(way.after.off_target) > 2 * centring.need:
            continue
        ways.append(way)
    # Correcting the number of steps may make two ways equal.
    return tuple({(way.right_turns, way.left_turns): way for way in reversed(ways)}.values())[::-1]


class _Centring:
    """Whole sides turned to bring one wheel's rim to the middle."""

    def __init__(self, state: State, task: Task, limits: Bounds) -> None:
        self.state, self.task, self.limits = state, task, limits
        influence, off = state.influence.edge.mean(axis=0), state.dish - task.target_dish
        self.free = {side: np.array([i for i in state.wheel.on_side(side) if task.free[i]], dtype=int)
                     for side in SIDES}
        # Dish per step. [m]
        self.moves = {side: float(influence[self.free[side]].sum()) * task.step for side in SIDES}
        self.toward: Side = "right" if off < 0 else "left"
        self.away = OTHER[self.toward]
        self.need = abs(off)

    def steps(self, side: Side) -> int:
        """Steps of one side alone that move the rim by what it is off; none where the side can't."""
        return round(self.need / abs(self.moves[side])) if self.moves[side] else 0

    def way(self, tighten: int, loosen: int) -> Way:
        """So many steps of tightening and loosening, mended once by what they leave, and what they do."""
        sides = self.toward if tighten else None, self.away if loosen else None
        turn, turns, after = self._taken(tighten, loosen)
        if after is not None:
            # Nonlinear over large turns: the number of steps is corrected once by what is left.
            left = (after.dish - self.task.target_dish) * (-1 if self.toward == "right" else 1)
            move = self.moves[self.toward] if tighten else self.moves[self.away]
            more = round(left / abs(move)) if move else 0
            if more and min(tighten + more * bool(tighten), loosen + more * (not tighten)) >= 0:
                turn, turns, after = self._taken(tighten + more * bool(tighten), loosen + more * (not tighten))
        if after is None:
            return Way(*sides, turn["right"], turn["left"], None, ("stability",))
        outside: list[str] = [name for name in broken(after.values, self.limits) if name in DISH_MATTERS]
        if (turns > np.maximum(self.task.highest, 0) + 1e-9).any() or (turns < self.task.lowest - 1e-9).any():
            outside.append("max_turns")
        return Way(*sides, turn["right"], turn["left"], after, tuple(outside))

    def _taken(self, tighten: int, loosen: int) -> tuple[dict[Side, float], Turns, View | None]:
        """Turns of each side, of each nipple (n,), and the wheel after them, None where it has no stable answer."""
        state, step = self.state, self.task.step
        turn = {self.toward: tighten * step, self.away: -loosen * step}
        turns = np.zeros(len(self.task.free))
        for side in SIDES:
            turns[self.free[side]] = turn[side]
        try:
            after = equilibrium(state.wheel, state.turns + turns, state.own_shape, start=state)
        except Unstable:
            return turn, turns, None
        return turn, turns, view(after, self.task.target_dish)


def _split_both(need: float, up: float, down: float) -> tuple[int, int]:
    """Whole steps of tightening and loosening, as even as can be, that move the rim by ``need``."""
    if not up or not down:
        return 0, 0
    best: tuple[tuple[int, int, float], int, int] | None = None
    for tighten in range(1, int(need / up) + 2):
        for loosen in range(1, int(need / down) + 2):
            miss = abs(tighten * up + loosen * down - need)
            rank = (round(miss / min(up, down) * 2), abs(tighten - loosen), miss)
            if best is None or rank < best[0]:
                best = (rank, tighten, loosen)
    assert best is not None  # one step of each is always among them
    return best[1:]
