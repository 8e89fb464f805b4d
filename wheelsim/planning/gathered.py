"""Passes gathered from an order of single turns that stays far below the limits.

For wheels on which no order of whole rounds keeps the way: loosening lifts the neighbours, and what would let them down
again comes in another round.
"""

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.planning.keeping import Keeper, Step, take
from wheelsim.planning.passes import Kind, Parts
from wheelsim.planning.programme import MOST_AT_ONCE

# Within so much of its limit a spoke weighs in the choice of the next turn, tried in turn. Own choice: a quarter turn
# of a neighbour lifts it by the largest of them. [N]
NEAR = (8.0, 15.0, 3.0)
MOST_GATHERED = 40  # passes; own choice

SingleTurn: TypeAlias = tuple[int, int, float]  # which kind, whose spoke, how far [turn]


def gathered(state: State, work: Parts, kinds: list[Kind], keeps: Keeper, floor: bool) -> list[Step] | None:
    """Pass after pass, each as many turns of one flange and direction as leave an order for the rest; None if none do.

    The next turn of that order is the one that leaves the spokes furthest within what they may have (a greedy choice by
    a soft maximum over the spokes). A pass is followed on the real wheel before the next is gathered.
    """
    turns = np.sum([one for passes in work.values() for one in passes], axis=0)
    end = equilibrium(state.wheel, state.turns + turns, state.own_shape, start=state)
    for near in NEAR:
        steps = _gathered(state, end, work, kinds, keeps, floor, near)
        if steps is not None:
            return steps
    keeps.stopped_by_floor |= floor  # it may be what stands in the way
    return None


def _gathered(state: State, end: State, work: Parts, kinds: list[Kind], keeps: Keeper, floor: bool,
              near: float) -> list[Step] | None:
    left = [(k, int(spoke), float(turns[spoke])) for k, kind in enumerate(kinds) for turns in work[kind]
            for spoke in np.flatnonzero(turns)]
    steps: list[Step] = []
    while left:
        way = _Way(state, end, left, keeps, floor)
        queue = way.roomiest(near)
        if len(steps) > MOST_GATHERED or keeps.spent() or not way.keeps(queue):
            return None
        # Loosening stands first among the kinds, and so goes first among passes of as many turns.
        chosen = max((way.brought_forward(queue, k) for k in range(len(kinds))), key=len)
        while chosen:
            turns = np.zeros(state.wheel.n)
            np.add.at(turns, [spoke for _, spoke, _ in chosen], [amount for _, _, amount in chosen])
            step = take(state, kinds[chosen[0][0]], turns)
            if keeps.holds(step, floor):
                break
            chosen = chosen[:len(chosen) // 2]
        if not chosen:
            return None
        steps.append(step)
        for turn in chosen:
            left.remove(turn)
        state = step.after
    return steps


class _Way:
    """The way from a state to the end of a plan by single turns, in any order.

    Linear steps by the influence at the state. The linearisation error, known at the end, is shared out by the size of
    the turns.
    """

    def __init__(self, state: State, end: State, left: Sequence[SingleTurn], keeps: Keeper, floor: bool) -> None:
        self.start, self.influence, self.left = state.tension, state.influence.tension, left
        self.keeper, self.floor = keeps, floor
        self.miss: Floats = np.zeros(len(self.start))  # linearisation error [N/turn]
        linear = self._each(left).sum(axis=1)
        self.miss = (end.tension - self.start - linear) / sum(abs(amount) for _, _, amount in left)

    def _each(self, turns: Sequence[SingleTurn]) -> Floats:
        """What each of the turns does to the tensions (n, k). [N]"""
        amounts = np.array([amount for _, _, amount in turns])
        out: Floats = (self.influence[:, [spoke for _, spoke, _ in turns]] * amounts
                       + self.miss[:, None] * np.abs(amounts))
        return out

    def keeps(self, turns: Sequence[SingleTurn]) -> bool:
        """Whether all tensions on the way stay within what they may have, in this order."""
        path = self.start[:, None] + np.cumsum(self._each(turns), axis=1)
        before = np.column_stack([self.start, path[:, :-1]])
        lowest = np.minimum.accumulate(before, axis=1)
        return bool((self.keeper.beyond(before, lowest, path, self.floor) <= 0).all())

    def roomiest(self, near: float) -> list[SingleTurn]:
        """The turns that are left, each next the one that leaves the spokes furthest within what they may have."""
        rest, each, queue = list(self.left), self._each(self.left), []
        tension = lowest = self.start
        while rest:
            then = tension[:, None] + each
            beyond = self.keeper.beyond(tension[:, None], lowest[:, None], then, self.floor)
            k = int(np.exp(np.minimum(beyond / near, 50.0)).sum(axis=0).argmin())  # 50: no overflow
            tension = then[:, k]
            lowest = np.minimum(lowest, tension)
            queue.append(rest.pop(k))
            each = np.delete(each, k, axis=1)
        return queue

    def brought_forward(self, queue: Sequence[SingleTurn], kind: int) -> list[SingleTurn]:
        """As many turns of one kind as can be done now, by spoke numbers, so that the rest keeps the way as queued."""
        chosen: list[SingleTurn] = []
        rest = list(queue)
        for turn in queue:
            amount = sum(abs(one[2]) for one in chosen if one[1] == turn[1]) + abs(turn[2])
            if turn[0] != kind or amount > MOST_AT_ONCE + 1e-9:
                continue
            trial, after = sorted([*chosen, turn], key=lambda one: one[1]), list(rest)
            after.remove(turn)
            if self.keeps([*trial, *after]):
                chosen, rest = trial, after
        return chosen
