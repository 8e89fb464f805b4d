"""Tighten one side, loosen the other, or both: what each would do to dish and tension."""

from dataclasses import dataclass

import numpy as np

from wheelsim.measures.bounds import broken
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.units import MM, rounded, turns_text
from wheelsim.wheel.parts import SIDES

DISH_MATTERS = ("gap", "max_tension", "min_tension")


@dataclass(frozen=True, eq=False)
class Way:
    """Whole-side passes that centre the rim best in one way.

    ``outside`` names the limits on gap and tension it breaks; true, round and spread it leaves alone.
    ``after`` is None when the wheel has no stable answer there.
    """

    action: str
    right_turns: float
    left_turns: float
    after: View | None
    outside: tuple[str, ...]

    def as_dict(self):
        seen = self.after
        return {
            "action": self.action, "right_turns": self.right_turns, "left_turns": self.left_turns,
            "dish_mm": None if seen is None else rounded(seen.dish / MM, 6),
            "right_N": None if seen is None else rounded(seen.mean["right"], 3),
            "left_N": None if seen is None else rounded(seen.mean["left"], 3),
            "within": seen is not None and not self.outside,
        }


def compare_ways(state, task, limits):
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
    influence, off = state.influence.lateral.mean(axis=0), state.dish - task.target_dish
    free = {side: np.array([i for i in state.wheel.on_side(side) if task.free[i]], dtype=int) for side in SIDES}
    moves = {side: float(influence[free[side]].sum()) * task.step for side in SIDES}  # dish per step [m]
    toward, away = ("right", "left") if off < 0 else ("left", "right")
    need = abs(off)
    if need < min((abs(move) for move in moves.values() if move), default=np.inf) / 2:
        return ()
    ways = []

    def steps(side):
        return round(need / abs(moves[side])) if moves[side] else 0

    def taken(tighten, loosen):
        turn = {toward: tighten * task.step, away: -loosen * task.step}
        turns = np.zeros(len(task.free))
        for side in SIDES:
            turns[free[side]] = turn[side]
        try:
            after = view(equilibrium(state.wheel, state.turns + turns, state.own_shape, start=state), task.target_dish)
        except Unstable:
            after = None
        return turn, turns, after

    up, down = steps(toward), steps(away)
    both = _split_both(need, abs(moves[toward]), abs(moves[away]))
    for action, tighten, loosen in (
        (f"tighten {toward}", up, 0),
        (f"loosen {away}", 0, down),
        (f"loosen {away}, then tighten {toward}", *both),
    ):
        if not (tighten or loosen) or (tighten and not task.highest.any()):
            continue
        turn, turns, after = taken(tighten, loosen)
        if after is not None:
            # Large turns bend the way: mend the count once by what is left.
            left = (after.dish - task.target_dish) * (-1 if toward == "right" else 1)
            move = moves[toward] if tighten else moves[away]
            more = round(left / abs(move)) if move else 0
            if more and min(tighten + more * bool(tighten), loosen + more * (not tighten)) >= 0:
                turn, turns, after = taken(tighten + more * bool(tighten), loosen + more * (not tighten))
        if after is None:
            ways.append(Way(action, turn["right"], turn["left"], None, ("stability",)))
            continue
        outside = [k for k in broken(after.values, limits) if k in DISH_MATTERS]
        if (turns > np.maximum(task.highest, 0) + 1e-9).any() or (turns < task.lowest - 1e-9).any():
            outside.append("max_turns")
        ways.append(Way(action, turn["right"], turn["left"], after, tuple(outside)))
    # Mending the count may end two ways alike.
    return tuple({(way.right_turns, way.left_turns): way for way in reversed(ways)}.values())[::-1]


def _split_both(need, up, down):
    """Whole steps of tightening and loosening, as even as can be, that move the rim by ``need``."""
    if not up or not down:
        return 0, 0
    best = None
    for tighten in range(1, int(need / up) + 2):
        for loosen in range(1, int(need / down) + 2):
            miss = abs(tighten * up + loosen * down - need)
            rank = (round(miss / min(up, down) * 2), abs(tighten - loosen), miss)
            if best is None or rank < best[0]:
                best = (rank, tighten, loosen)
    return best[1:]


def way_words(way):
    """One way in a few words: ``loosen left 1/2``."""
    parts = []
    for side, turns in (("right", way.right_turns), ("left", way.left_turns)):
        if turns:
            parts.append(f"{'tighten' if turns > 0 else 'loosen'} {side} {turns_text(abs(turns))}")
    return ", ".join(sorted(parts))
