"""What the job allows to be turned, and what keeps the rest from it."""

from dataclasses import replace

import numpy as np

from wheelsim.job.job import Job
from wheelsim.planning.goal import room
from wheelsim.planning.notes import Hold
from wheelsim.planning.stands_out import OddSpoke
from wheelsim.stand.advice import OddFirst, OddHeld, TurnSides
from wheelsim.wheel.parts import SIDES, Side


def hold_of(job: Job, spoke: int, turn: float) -> Hold | None:
    """What keeps a nipple from being turned the way of ``turn`` (plus tightens); None: nothing does."""
    work = job.work
    if spoke in work.stuck:
        return Hold.STUCK
    if spoke in work.leave:
        return Hold.LEFT_ALONE
    if work.sides != "both" and spoke - 1 not in job.wheel.on_side("right" if work.sides == "right" else "left"):
        return Hold.ONE_SIDE
    if work.direction == ("loosen" if turn > 0 else "tighten"):
        return Hold.LOOSEN_ONLY if turn > 0 else Hold.TIGHTEN_ONLY
    lowest, highest = room(job)
    return None if (highest if turn > 0 else lowest)[spoke - 1] else Hold.THREAD


def odd_advice(job: Job, odd: tuple[OddSpoke, ...]) -> list[OddFirst | OddHeld]:
    """Odd spokes that may be turned, as far as they may, and those that may not: what is stuck is freed before all."""
    lowest, highest = room(job)
    may, held = [], []
    for one in odd:
        hold = hold_of(job, one.spoke, one.turn)
        if hold is None:
            most = float(np.clip(one.turn, lowest[one.spoke - 1], highest[one.spoke - 1]))
            may.append(replace(one, turn=most))
        else:
            held.append(OddHeld(one, hold))
    stuck = [one for one in held if one.by is Hold.STUCK]
    return [*stuck, *([OddFirst(tuple(may))] if may else []), *(one for one in held if one not in stuck)]


def room_of_sides(job: Job) -> dict[Side, tuple[float, float]]:
    """Range within which more than half of each side's nipples may be turned, down and up. [turn]

    A turn that fewer of them can make is not called one of the whole side.
    """
    lowest, highest = room(job)
    out: dict[Side, tuple[float, float]] = {}
    for side in SIDES:
        mine = job.wheel.pulling(side)
        middle = len(mine) // 2  # sorted by room, the widest first: index of the one that makes it over half
        out[side] = float(np.sort(lowest[mine])[middle]), float(np.sort(highest[mine])[::-1][middle])
    return out


def held_in(job: Job, moves: TurnSides) -> tuple[int, ...]:
    """Spokes, from 1, that stay as they are while their sides are turned."""
    return tuple(sorted(spoke for side in SIDES if moves.of(side)
                        for spoke, hold in _holds(job, side, moves.of(side)) if hold is not None))


def holds_of(job: Job, moves: TurnSides) -> tuple[Hold, ...]:
    """What keeps half of a side or more from being turned so; empty where nothing does."""
    found: set[Hold] = set()
    for side in SIDES:
        holds = [hold for _, hold in _holds(job, side, moves.of(side)) if hold] if moves.of(side) else []
        if 2 * len(holds) >= len(job.wheel.pulling(side)):
            found.update(holds)
    return tuple(hold for hold in Hold if hold in found)


def _holds(job: Job, side: Side, turn: float) -> list[tuple[int, Hold | None]]:
    return [(i + 1, hold_of(job, i + 1, turn)) for i in job.wheel.pulling(side)]
