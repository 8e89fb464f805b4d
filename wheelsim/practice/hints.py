"""What to think of next, by its cause in the wheel as it stands now."""

from dataclasses import dataclass

import numpy as np

from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.truing.bounds import broken, measured
from wheelsim.truing.view import view
from wheelsim.units import MM, QUARTER, number_list
from wheelsim.wheel.parts import SIDES

FAR_OFF = 0.25  # one spoke this far from its side's mean stands out from all others
BENT = 2.0  # own shape beyond so many limits is a bent rim


@dataclass(frozen=True)
class Hint:
    """``cause`` is one word for programs; ``words`` are for the learner."""

    cause: str
    words: str


def hint_for(state, limits, stuck=frozenset(), target_dish=0.0, plainly=False):
    """The hint that fits the wheel now.

    Parameters
    ----------
    state : State
    limits : Bounds
    stuck : frozenset of int
        Nipples that can't be turned.
    target_dish : float
        [m]
    plainly : bool
        Say where and what to turn, not only why.

    Returns
    -------
    Hint
    """
    seen = view(state)
    wrong = set(broken(measured(seen, target_dish), limits))
    if not wrong:
        return Hint("within", "Everything is within the limits now, as far as it can be: done.")
    # The last has words for any wheel.
    name, words = next((name, words) for name, cause in CAUSES
                       if (words := cause(seen, limits, wrong, target_dish, plainly)) is not None)
    return Hint(name, words + _seized(stuck, plainly))


def _seized(stuck, plainly):
    if not stuck or not plainly:
        return ""
    return (f" The nipple of spoke {number_list(stuck)} is seized: never force it; its neighbours on both sides of it "
            "can do most of its work.")


def _where(values):
    """The spoke where a reading stands out most from the mean, and by how much."""
    off = values - values.mean()
    worst = int(np.argmax(np.abs(off)))
    return worst, float(off[worst])


def _side_of(wheel, i):
    return "right" if i in wheel.on_side("right") else "left"


def _shares(seen):
    """Tension over the mean of its side, less one, (n,)."""
    wheel, share = seen.state.wheel, np.zeros(seen.state.wheel.n)
    for side in SIDES:
        own = wheel.pulling(side)
        share[own] = seen.state.tension[own] / max(seen.mean[side], 1.0) - 1
    return share


def _slack(seen, limits, wrong, target, plainly):
    if not seen.slack:
        return None
    one = len(seen.slack) == 1
    return (f"Spoke{'s' * (not one)} {number_list(seen.slack)} hang{'s' * one} loose: a spoke only pulls, so where it "
            "is slack nothing holds the rim against the other flange. Take it up before you judge anything else.")


def _bent(seen, limits, wrong, target, plainly):
    shape = seen.state.own_shape
    over = {name: np.ptp(row) / getattr(limits, name) for name, row in
            (("lateral_runout", shape[0]), ("radial_runout", shape[1]))}
    if max(over.values()) < BENT or not wrong & {"lateral_runout", "radial_runout"}:
        return None
    words = ("The rim stands out at one place. If the spokes did that, those beside it would pull harder or less than "
             "the others: read the tension there and elsewhere. If they all pull alike, what else holds that shape?")
    if not plainly:
        return words
    spoke, off = _where(shape[0])
    return (f"Near spoke {spoke + 1} the rim itself is bent, some {abs(off) / MM:.0f} mm: even tension, and a bulge "
            "all the same. Pulling it straight with nipples would leave spokes far apart in tension, and the rim "
            "springs back. That is the rim maker's matter: reject it.")


def _one_spoke(seen, limits, wrong, target, plainly):
    share = _shares(seen)
    order = np.argsort(-np.abs(share))
    worst, wheel = int(order[0]), seen.state.wheel
    # One that is off drags its neighbours along: those are no fault of their own.
    far = min((worst - order[1]) % wheel.n, (order[1] - worst) % wheel.n) <= 3
    if abs(share[worst]) < FAR_OFF or abs(share[worst]) < (1.2 if far else 1.6) * abs(share[order[1]]):
        return None
    side, loose = _side_of(wheel, worst), share[worst] < 0
    other = "left" if side == "right" else "right"
    goes = other if loose else side
    if not plainly:
        return ("The rim leans to one flange at one place only, and one turn of one nipple would do that. A spoke that "
                "is too tight draws the rim to its own flange and in; one too loose lets the other flange have it. "
                "Find the place with dial true, then read tension there: which one is unlike the others of its side?")
    return (f"Spoke {worst + 1} ({side}) pulls {100 * abs(share[worst]):.0f} % {'less' if loose else 'more'} than its "
            f"side's mean, so the rim leans {goes} there. {'Tighten' if loose else 'Loosen'} it, a quarter or half a "
            "turn at a time, and read again; leave its neighbours alone: they only answer to it.")


def _too_tight(seen, limits, wrong, target, plainly):
    if "max_tension" not in wrong or max(seen.mean.values()) < limits.max_tension:
        return None
    side = max(seen.mean, key=seen.mean.get)
    words = (f"The whole {side} side is above its limit of {limits.max_tension:.0f} N. Tightening anything, on either "
             "side, takes both further up: loosen first.")
    if not plainly:
        return words
    if "gap" in wrong:
        _, away, two = _move(seen, target)
        return f"{words} {two} So a quarter turn off the {away}, once round, does both at once."
    return words + " Back off both flanges a quarter turn, once round each, then look at the dish."


def _wobble_first(seen, limits, wrong, target, plainly):
    if not {"gap", "lateral_runout"} <= wrong or seen.true < 3 * limits.lateral_runout:
        return None
    return ("The gauge reads the rim where its feet stand, and this rim wobbles by "
            + (f"{seen.true / MM:.1f} mm: " if plainly else "more than the gap can be trusted to: ")
            + "take the worst of the wobble out first, then gauge again at two places a quarter round apart.")


def _move(seen, target):
    """Which way the rim must go, which way it lies, and its two ways in words."""
    go, away = ("right", "left") if seen.dish < target else ("left", "right")
    return go, away, (f"The rim must go {go}: more pull from the {go} spokes, or less from the {away}, takes it there.")


def _no_room(seen, limits, wrong, target, plainly):
    if "gap" not in wrong:
        return None
    go, away, two = _move(seen, target)
    loose = _tried(seen, away, -QUARTER)
    if not _passes_limit(seen, limits, go) or loose is None or loose.lowest < limits.min_tension:
        return None
    near = max(seen.mean, key=seen.mean.get)
    why = ("both sides are tight already" if min(seen.mean.values()) > 0.8 * limits.max_tension
           else f"the {near} side, the tighter one, has hardly any room left")
    words = (f"{two} But {why}: tightening either side raises both, and would take a spoke of the {near} past its "
             f"limit. Loosening the {away} moves the rim as well, and eases both.")
    return words + (_by(seen, loose, f"A quarter turn off the {away}, once round,") if plainly else "")


def _none_to_give(seen, limits, wrong, target, plainly):
    if "gap" not in wrong:
        return None
    go, away, two = _move(seen, target)
    loose = _tried(seen, away, -QUARTER)
    if (loose is not None and loose.lowest >= limits.min_tension) or _passes_limit(seen, limits, go):
        return None
    words = (f"{two} But there is little tension to give away: loosening either side lowers both, and would take a "
             f"spoke below its {limits.min_tension:.0f} N. Tighten the {go}.")
    return words + (_by(seen, _tried(seen, go, QUARTER), f"A quarter turn on the {go}, once round,") if plainly else "")


def _dish(seen, limits, wrong, target, plainly):
    if "gap" not in wrong:
        return None
    go, away, two = _move(seen, target)
    if not plainly:
        return f"{two} Which of them has the tension to spare? Read some spokes of each side."
    near = max(seen.mean, key=seen.mean.get)
    return (f"{two} Watch the {near} side, the tighter one, while you do."
            + _by(seen, _tried(seen, go, QUARTER), f"A quarter turn on the {go}")
            + _by(seen, _tried(seen, away, -QUARTER), f"One off the {away}"))


def _passes_limit(seen, limits, side):
    tight = _tried(seen, side, QUARTER)
    return tight is None or tight.highest > max(limits.max_tension, seen.highest)


def _tried(seen, side, turns):
    state = seen.state
    given = np.zeros(state.wheel.n)
    given[state.wheel.pulling(side)] = turns
    try:
        return view(equilibrium(state.wheel, state.turns + given, state.own_shape, start=state))
    except Unstable:
        return None


def _by(seen, after, what):
    if after is None:
        return ""
    moved = after.dish - seen.dish
    near = max(seen.mean, key=seen.mean.get)
    return (f" {what} moves it {abs(moved) / MM:.1f} mm, so the gap by {2 * abs(moved) / MM:.1f} mm, and the {near} "
            f"side by {after.mean[near] - seen.mean[near]:+.0f} N.")


def _true(seen, limits, wrong, target, plainly):
    if "lateral_runout" not in wrong:
        return None
    spoke, off = _where(seen.state.lateral)
    lies, other = ("right", "left") if off > 0 else ("left", "right")
    words = ("The rim leans to one flange where that flange's spokes pull more than the other's. Ease the one and "
             "tighten the other by the same amount, there only: the rim comes back, and the wheel gets neither tighter "
             "nor looser.")
    if not plainly:
        return words
    return (f"{words} It leans {lies} most near spoke {spoke + 1}: tighten the {other} spokes there and loosen the "
            f"{lies} ones, a quarter turn at the middle and an eighth beside it, and read again.")


def _round(seen, limits, wrong, target, plainly):
    if "radial_runout" not in wrong:
        return None
    spoke, off = _where(seen.state.radial)
    out = off > 0
    words = ("Both flanges pull the rim in toward the hub. Where it stands out they pull too little, where it is drawn "
             "in too much; turn a right and a left spoke there alike, so that neither flange gains on the other.")
    if not plainly:
        return words
    return (f"{words} It {'stands out' if out else 'is drawn in'} most near spoke {spoke + 1}: "
            f"{'tighten' if out else 'loosen'} a pair there a quarter turn; a hop takes more than a wobble does.")


def _too_loose(seen, limits, wrong, target, plainly):
    if "min_tension" not in wrong or min(seen.mean.values()) > limits.min_tension:
        return None
    return "The wheel is loose all round: tighten both flanges a quarter turn, once round each, and read again."


def _uneven(seen, limits, wrong, target, plainly):
    # What is left when nothing else is: the spread within a side, or single spokes outside their limits.
    share = _shares(seen)
    tight, loose = int(np.argmax(share)), int(np.argmin(share))
    words = ("A tight spoke and a loose one beside it on the same flange hold the rim where two even ones would: the "
             "dial can't see it, the meter can. Turn the two against each other by the same amount, and the rim stays.")
    if not plainly:
        return words
    return (f"{words} Tightest for its side is spoke {tight + 1}, {100 * share[tight]:.0f} % over the mean; loosest "
            f"spoke {loose + 1}, {-100 * share[loose]:.0f} % under.")


CAUSES = (("slack", _slack), ("bent rim", _bent), ("one spoke", _one_spoke), ("too tight", _too_tight),
          ("wobble first", _wobble_first), ("no room", _no_room), ("none to give", _none_to_give), ("dish", _dish),
          ("true", _true), ("round", _round), ("too loose", _too_loose), ("uneven", _uneven))
