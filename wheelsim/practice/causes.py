"""Causes of what is wrong with a wheel, each with why, where, and a move that was tried.

Each takes a ``Bench`` and the names of the limits that are broken, and returns a ``Cause``, or None where it is not
the cause or no move of its kind helps.
"""

from collections.abc import Callable, Set
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import within
from wheelsim.measures.quantities import Quantity, departures
from wheelsim.measures.view import View
from wheelsim.practice.made import turns_named
from wheelsim.practice.moves import AMOUNTS, HALF, Bench
from wheelsim.units import MM, QUARTER, number_list, turns_text
from wheelsim.wheel.parts import OTHER, SIDES, Side, Wheel

Tried: TypeAlias = tuple[Turns, View]  # turns, and the wheel after them
FAR_OFF = 0.25  # a spoke off its side's mean by this share of it may stand out from all others; own choice
Wrong: TypeAlias = Set[str]  # names of the limits that are broken
BENT = 2.0  # a rim whose own shape exceeds so many times its limit is called bent; own choice


@dataclass(frozen=True, eq=False)
class Cause:
    """Why, where in words, and the move (n,) or None."""

    why: str
    where: str
    turns: Turns | None


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _where(values: Floats) -> tuple[int, float]:
    """The spoke where a reading stands out most from the mean, and by how much."""
    off = values - values.mean()
    worst = int(np.argmax(np.abs(off)))
    return worst, float(off[worst])


def _side_of(wheel: Wheel, i: int) -> Side:
    return "right" if i in wheel.on_side("right") else "left"


def _slack(bench: Bench, wrong: Wrong) -> Cause | None:
    slack = bench.seen.slack
    if not slack:
        return None
    one = len(slack) == 1
    why = (f"Spoke{'s' * (not one)} {number_list(slack)} hang{'s' * one} loose: a spoke only pulls, so where it is "
           "slack nothing holds the rim against the other flange. Take it up before you judge anything else.")
    spokes = [spoke - 1 for spoke in slack]
    if not bench.free[spokes].any():
        return Cause(why, "Seized as well: never force a nipple; that is cut out and replaced.", None)
    turns = bench.best([bench.single(spokes, size) for size in (2 * HALF, HALF, *AMOUNTS)])
    return Cause(why, "Turn a quarter at a time until the hand feels it pull"
                  + ("." if turns is None else f": here {turns_named(turns)}."), turns)


def _bent(bench: Bench, wrong: Wrong) -> Cause | None:
    shape = bench.state.own_shape
    over = [np.ptp(row) / limit for row, limit in
            zip(shape, (bench.limits.lateral_runout, bench.limits.radial_runout), strict=True)]
    if max(over) < BENT or not wrong & {"lateral_runout", "radial_runout"}:
        return None
    spoke, off = _where(shape[int(np.argmax(over))])
    even = "even tension, and a bulge all the same" if "side_spread" not in wrong else "the spokes are not to blame"
    return Cause("The rim stands out at one place. If the spokes did that, those beside it would pull harder or less "
                  "than the others: read the tension there and elsewhere. If they all pull alike, what else holds that "
                  "shape?",
                  f"Near spoke {spoke + 1} the rim itself is bent, some {abs(off) / MM:.1f} mm: {even}. "
                  "Pulling it straight with nipples would leave spokes far apart in tension, and "
                  "the rim springs back. That is the rim maker's matter: reject it.", None)


def _one_spoke(bench: Bench, wrong: Wrong) -> Cause | None:
    share = departures(bench.wheel, bench.state.tension)
    order = np.argsort(-np.abs(share))
    worst = int(order[0])
    # A spoke that is off changes its neighbours too: one may be nearly as far off without a fault of its own.
    beside = bench.apart(worst, int(order[1])) <= 3
    if abs(share[worst]) < max(FAR_OFF, (1.2 if beside else 1.6) * abs(share[order[1]])):
        return None
    loose = share[worst] < 0
    sizes = (HALF, *AMOUNTS)
    turns = bench.best([bench.single([worst], size if loose else -size) for size in sizes])
    if turns is None:
        return None
    side = _side_of(bench.wheel, worst)
    goes = OTHER[side] if loose else side
    return Cause("The rim leans to one flange at one place only, and one turn of one nipple would do that. A spoke "
                  "that is too tight draws the rim to its own flange and in; one too loose lets the other flange have "
                  "it. Find the place with dial true, then read tension there: which one is unlike the others of its "
                  "side?",
                  f"Spoke {worst + 1} ({side}) pulls {100 * abs(share[worst]):.0f} % {'less' if loose else 'more'} "
                  f"than its side's mean, so the rim leans {goes} there: {turns_named(turns)}, and read again; leave "
                  "its neighbours alone: they only answer to it.", turns)


def _too_tight(bench: Bench, wrong: Wrong) -> Cause | None:
    mean, limit = bench.seen.mean, bench.limits.max_tension
    if "max_tension" not in wrong or within(Quantity.HIGHEST, max(mean.values()), limit):
        return None
    side = bench.seen.tighter_side
    why = (f"The {side} side on average is above its limit of {limit:.0f} N. Tightening anything, on either side, "
           "takes both further up: loosen first.")
    if "gap" in wrong:
        go, two = _ways(bench)
        turns = bench.best([bench.whole(**{OTHER[go]: -size}) for size in AMOUNTS])
        if turns is not None:
            return Cause(why, f"{two} So {_off(turns)} off the {OTHER[go]}, once round, does both at once.", turns)
    turns = bench.best([bench.whole(right=-size, left=-size) for size in AMOUNTS])
    if turns is None:
        return None
    return Cause(why, f"Back off both flanges {_off(turns)}, once round each, then look at the dish.", turns)


def _off(turns: Turns) -> str:
    amount = turns_text(float(np.abs(turns).max()))
    return {"1/4": "a quarter turn", "1/8": "an eighth of a turn", "1/16": "a sixteenth of a turn"}[amount]


def _over_limit(bench: Bench, wrong: Wrong) -> Cause | None:
    if "max_tension" not in wrong:
        return None
    spokes = np.flatnonzero(~within(Quantity.HIGHEST, bench.state.tension, bench.limits.max_tension))
    worst = int(np.argmax(bench.state.tension))
    turns = bench.best([bench.single(which, -size) for size in AMOUNTS for which in (spokes, [worst])])
    if turns is None:
        return None
    return Cause("Not its whole side, but a spoke here and there pulls more than the "
                  f"{bench.limits.max_tension:.0f} N allowed. Whatever you tighten elsewhere may take it further up, "
                  "so ease it first: the meter finds it.",
                  f"Highest is spoke {worst + 1} with {bench.state.tension[worst]:.0f} N: {turns_named(turns)}.",
                  turns)


def _wobble_first(bench: Bench, wrong: Wrong) -> Cause | None:
    true = bench.seen.true
    if not {"gap", "lateral_runout"} <= wrong or true < 3 * bench.limits.lateral_runout:
        return None
    found = _true(bench, wrong)
    if found is None:
        return None
    return Cause("The gauge reads the rim where its feet stand, and this rim wobbles by more than the gap can be "
                  "trusted to: take the worst of the wobble out first, then gauge again at two places a quarter round "
                  "apart.", f"It wobbles by {true / MM:.1f} mm. {found.where}", found.turns)


def _ways(bench: Bench) -> tuple[Side, str]:
    """The side toward which the rim must go, and the two ways to move it there in words."""
    go: Side = "right" if bench.seen.dish < 0 else "left"
    return go, (f"The rim must go {go}: more pull from the {go} spokes, or less from the {OTHER[go]}, takes it there.")


def _side_move(bench: Bench, side: Side, sign: int) -> Tried | None:
    """The best move of a whole side that keeps the limits and the view after it, or None."""
    moves = [bench.whole(**{side: sign * size}) for size in AMOUNTS]
    turns = bench.best([move for move in moves if sign > 0 or not _lacks(bench, move)])
    then = None if turns is None else bench.tried(turns)
    return None if turns is None or then is None else (turns, then)


def _lacks(bench: Bench, turns: Turns) -> bool:
    """Whether loosening takes a spoke below its least, or further below it."""
    then = bench.tried(turns)
    return then is None or not within(Quantity.LOWEST, then.lowest, min(bench.limits.min_tension, bench.seen.lowest))


def _no_room(bench: Bench, wrong: Wrong) -> Cause | None:
    if "gap" not in wrong:
        return None
    go, two = _ways(bench)
    loose = _side_move(bench, OTHER[go], -1)
    if loose is None or bench.tried(bench.whole(**{go: QUARTER})) is not None:
        return None
    mean = bench.seen.mean
    why = ("both sides are tight already" if min(mean.values()) > 0.8 * bench.limits.max_tension
           else "the highest spokes have hardly any room left")
    return Cause(f"{two} But {why}: tightening a side raises both, and would take a spoke past its limit. "
                  f"Loosening the {OTHER[go]} moves the rim as well, and eases both.",
                  _by(bench, loose, f"off the {OTHER[go]}"), loose[0])


def _none_to_give(bench: Bench, wrong: Wrong) -> Cause | None:
    if "gap" not in wrong:
        return None
    go, two = _ways(bench)
    tight = _side_move(bench, go, 1)
    if (tight is None or _side_move(bench, OTHER[go], -1) is not None
            or not _lacks(bench, bench.whole(**{OTHER[go]: -QUARTER}))):
        return None
    return Cause(f"{two} But there is little tension to give away: loosening either side lowers both, and would take "
                  f"a spoke below its {bench.limits.min_tension:.0f} N. Tighten the {go}.",
                  _by(bench, tight, f"on the {go}"), tight[0])


def _dish(bench: Bench, wrong: Wrong) -> Cause | None:
    if "gap" not in wrong:
        return None
    go, two = _ways(bench)
    tight, loose = _side_move(bench, go, 1), _side_move(bench, OTHER[go], -1)
    if tight is None and loose is None:
        return None
    mean = bench.seen.mean
    near = bench.seen.tighter_side
    spare_above = mean[near] > (bench.limits.max_tension + bench.limits.min_tension) / 2
    best = loose if loose and (tight is None or spare_above) else tight
    assert best is not None  # one of the two there is
    return Cause(f"{two} Which of them has the tension to spare? Read some spokes of each side.",
                 " ".join([f"Watch the {near} side, the tighter one, while you do."]
                          + ([_by(bench, tight, f"on the {go}")] if tight else [])
                          + ([_by(bench, loose, f"off the {OTHER[go]}")] if loose else [])),
                 best[0])


def _by(bench: Bench, move: Tried, where: str) -> str:
    turns, then = move
    moved = then.dish - bench.seen.dish
    near = bench.seen.tighter_side
    return (f"{_capital(_off(turns))} {where}, once round, moves it {abs(moved) / MM:.1f} mm, so the gap by "
            f"{2 * abs(moved) / MM:.1f} mm, and the {near} side by {then.mean[near] - bench.seen.mean[near]:+z.0f} N.")


def _true(bench: Bench, wrong: Wrong) -> Cause | None:
    if "lateral_runout" not in wrong:
        return None
    spoke, off = _where(bench.state.lateral)
    lies: Side = "right" if off > 0 else "left"
    sign = {lies: -1, OTHER[lies]: 1}
    turns, then = bench.best(bench.around(spoke, **sign)), (
        "Ease the one and tighten the other by the same amount, there only: the rim comes back, and the wheel gets "
        "neither tighter nor looser.")
    if turns is None:
        alone = [{**sign, side: 0} for side in SIDES]
        turns, then = bench.best([move for one in alone for move in bench.around(spoke, **one)]), (
            "Easing the one and tightening the other alike would leave the wheel as tight as it is; here only one of "
            "the two helps without passing a limit.")
    if turns is None:
        return None
    return Cause(f"The rim leans to one flange where that flange's spokes pull more than the other's. {then}",
                 f"It leans {lies} most near spoke {spoke + 1}: {turns_named(turns)}; and read again.", turns)


def _round(bench: Bench, wrong: Wrong) -> Cause | None:
    if "radial_runout" not in wrong:
        return None
    spoke, off = _where(bench.state.radial)
    out = off > 0
    sign = 1 if out else -1
    moves = bench.around(spoke, right=sign, left=sign)
    turns = bench.best([2 * move for move in moves] + moves)
    if turns is None:
        return None
    return Cause("Both flanges pull the rim in toward the hub. Where it stands out they pull too little, where it is "
                  "drawn in too much; turn a right and a left spoke there alike, so that neither flange gains on the "
                  "other. A hop takes more turning than a wobble.",
                  f"It {'stands out' if out else 'is drawn in'} most near spoke {spoke + 1}: {turns_named(turns)}.",
                  turns)


def _too_loose(bench: Bench, wrong: Wrong) -> Cause | None:
    mean, limit = bench.seen.mean, bench.limits.min_tension
    if "min_tension" not in wrong:
        return None
    loose = [side for side in SIDES if not within(Quantity.LOWEST, mean[side], limit)]
    if loose:
        turns = bench.best([bench.whole(right=size, left=size) for size in AMOUNTS])
        if turns is not None:
            what = "wheel is loose all round" if len(loose) > 1 else f"{loose[0]} side is loose on average"
            return Cause(f"The {what}: a spoke that pulls little goes slack under the first load. Both flanges up "
                         "together leave the dish nearly as it is.",
                          f"Tighten both flanges {_off(turns)}, once round each, and read again.", turns)
    own = np.concatenate([bench.wheel.pulling(side) for side in SIDES]).astype(int)
    worst = int(own[np.argmin(bench.state.tension[own])])
    turns = bench.best([bench.single([worst], size) for size in (HALF, *AMOUNTS)])
    if turns is None:
        return None
    return Cause(f"A spoke here and there pulls less than the {limit:.0f} N that it needs under load: the meter finds "
                  "it.", f"Lowest is spoke {worst + 1} with {bench.state.tension[worst]:.0f} N: {turns_named(turns)}.",
                  turns)


def _uneven(bench: Bench, wrong: Wrong) -> Cause | None:
    if "side_spread" not in wrong:
        return None
    why = ("A tight spoke and a loose one beside it on the same flange hold the rim where two even ones would: the "
           "dial can't see it, the meter can. Turn the two against each other by the same amount, and the rim stays.")
    share = departures(bench.wheel, bench.state.tension)
    for tight, loose in bench.pairs()[:4]:
        turns = bench.best([bench.single([loose], size) - bench.single([tight], size) for size in AMOUNTS])
        if turns is not None:
            return Cause(why, f"On the {_side_of(bench.wheel, tight)} flange spoke {tight + 1} is "
                          f"{_off_mean(share[tight])} and its neighbour {loose + 1} {_off_mean(share[loose])}: "
                          f"{turns_named(turns)}.", turns)
    worst = int(np.argmax(np.where(bench.free, np.abs(share), 0.0)))
    turns = bench.best([bench.single([worst], -size * np.sign(share[worst])) for size in AMOUNTS])
    if turns is None:
        return None
    return Cause("What is left is one spoke unlike the others of its side, with no neighbour that turning against it "
                  "would help: the meter finds it.",
                  f"Spoke {worst + 1} is {_off_mean(share[worst])} of its side: {turns_named(turns)}.", turns)


def _off_mean(share: float) -> str:
    return f"{100 * abs(share):.0f} % {'over' if share > 0 else 'under'} the mean"


def _one_nipple(bench: Bench, wrong: Wrong) -> Cause | None:
    moves = [bench.single([int(i)], size) for i in np.flatnonzero(bench.free)
             for size in (*AMOUNTS, *(-a for a in AMOUNTS))]
    turns = bench.best(moves)
    if turns is None:
        return None
    return Cause("No usual move fits: what is left is spread over several spokes, a little on each. Go on with small "
                  "turns of single nipples, and read after each.", f"The most is gained here: {turns_named(turns)}.",
                  turns)


def _ease(bench: Bench, wrong: Wrong) -> Cause:
    for size in AMOUNTS:
        turns = np.where(bench.free, bench.whole(right=-size, left=-size), 0.0)
        then = bench.tried(turns)
        if then is not None and within(Quantity.LOWEST, then.lowest, bench.limits.min_tension):
            return Cause("Whatever brings it nearer would take a spoke past its limit on the way: make room first, "
                          "loosening both flanges alike.", f"Loosen both flanges {_off(turns)}, once round each.",
                          turns)
    return Cause("No single small turn brings this wheel nearer without passing a limit.",
                  "What is left needs several nipples turned together: a plan's work, see it at the end.", None)


CAUSES: tuple[tuple[str, Callable[[Bench, Wrong], Cause | None]], ...] = (
    ("slack", _slack), ("bent rim", _bent), ("one spoke", _one_spoke), ("too tight", _too_tight),
    ("over the limit", _over_limit), ("wobble first", _wobble_first), ("no room", _no_room),
    ("none to give", _none_to_give), ("dish", _dish), ("true", _true), ("round", _round),
    ("too loose", _too_loose), ("uneven", _uneven),
    ("small turns", _one_nipple), ("no way seen", _ease))
