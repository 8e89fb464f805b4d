"""Each quantity of a wheel against its limit: within, outside, or not to be told."""

from statistics import NormalDist

import numpy as np

from wheelsim.estimation.certainty import drawn_quantities, some_read, standard_deviations
from wheelsim.estimation.doubts import Contradicted, DoubtedReading, GaugeFarOff, GaugeUnexpected
from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.held_out import DialFarOff
from wheelsim.estimation.known import Known
from wheelsim.estimation.slips import PassAstray
from wheelsim.measures.bounds import resolved, within
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.mechanics.stability import PRACTICAL_SHARE, buckling
from wheelsim.stand.assessment import Check, Judgement
from wheelsim.units import rounded
from wheelsim.wheel.parts import SIDES

CHECK_DRAWS = 4000  # wheels drawn from the posterior; own choice: a share of 0.9 is then known to half a per cent
# A check needs so many times the job's margin (standard deviations) before it is called within or outside: 1.3 is 90 of
# 100 drawn wheels at the default margin of 1. Own choice: with 1.0 (84 of 100) one line in 24 was wrong on wheels read
# without a dial (tests.benchmarks.coverage), and we accept three in 100. The gap keeps 1.0: its uncertainty is mostly
# unread out-of-true under the gauge's feet, and a wrong verdict costs no more than setting the gauge once more.
VERDICT_MARGINS = 1.3
# Run-out with the places between spokes included gets its own check if it is larger by more than this. Own choice: one
# division of a dial. [m]
SEEN_BETWEEN = 0.05e-3
OF_TENSION = (Quantity.SPREAD, Quantity.HIGHEST, Quantity.LOWEST)


def checks_of(told: Known, found: Estimate, seen: View) -> tuple[Check, ...]:
    """All quantities against their limits, and the right mean against buckling."""
    job, target = told.job, told.job.work.target_dish
    wheel, limits = job.wheel, resolved(job.wheel)
    drawn = drawn_quantities(wheel, found, target, count=CHECK_DRAWS)
    sd_of = standard_deviations(wheel, found)
    state = seen.state
    there = np.concatenate([wheel.pulling(side) for side in SIDES])
    high = int(state.tension.argmax()) + 1
    low = int(there[state.tension[there].argmin()]) + 1
    read = told.read
    some = some_read(wheel, told.told_by)
    # Not "within" on a prediction alone: what was turned since the last reading must be read again.
    not_since = {Quantity.GAP: bool(told.log) and told.log[-1].reading.gauge is None,
                 Quantity.TRUE: bool(told.unread_since), Quantity.ROUND: bool(told.unread_since)}
    # Share of drawn wheels that may lie on the other side: the normal tail beyond so many standard deviations.
    tails = {key: NormalDist().cdf(-(1.0 if key is Quantity.GAP else VERDICT_MARGINS) * job.work.margin)
             for key in Quantity}
    value, unsettled = seen.values, _unsettled(told)
    out = []

    def add(name: str, key: Quantity, amount: float, limit: float, drawn_as: str, read_as: str,
            spoke: int | None = None, beyond: float = 0.0) -> None:
        # ``drawn_as``: key of the drawn wheels' amounts; ``read_as``: of whether enough, or anything, was read of it.
        unit, scale, sign = key.unit, key.per_si, key.sign
        # Maxima and ranges over uncertain spokes are larger on average than those of the best estimate, and their
        # distribution is skewed. So the share is counted over draws, not computed from the standard deviation.
        shown = drawn[drawn_as] + beyond
        sure = float(within(key, shown, limit).mean())
        inside, tail = bool(within(key, amount, limit)), tails[key]
        status: Judgement = ("within" if read[read_as] and inside and sure >= 1 - tail else
                             "outside" if some[read_as] and not inside and sure <= tail else "unknown")
        doubted = _doubted(told, key, read_as, limit) if status == "within" else ()
        if status == "within" and (not_since.get(key) or doubted or key in unsettled):
            status = "unknown"
        digits = 1 if unit == "N" else 3
        out.append(Check(name=name, spoke=spoke, value=rounded(amount * scale, digits),
                         limit=rounded(limit * scale, digits), unit=unit,
                         margin=rounded(sign * (limit - amount) * scale, digits),
                         sd=rounded(sd_of[drawn_as] * scale, digits), status=status, read=read[read_as],
                         likely=rounded(shown.mean() * scale, digits), sure=rounded(sure, 3), some=some[read_as],
                         doubted=doubted, in_doubt=key in unsettled,
                         spoke_metered=None if spoke is None else spoke in told.metered))

    for key in (Quantity.GAP, Quantity.TRUE, Quantity.ROUND, Quantity.HIGHEST, Quantity.LOWEST):
        spoke = {Quantity.HIGHEST: high, Quantity.LOWEST: low}.get(key)
        add(key.trade, key, value[key], limits.of(key), key, key, spoke)
        more = seen.runout_between.get(key, 0.0) - value.get(key, 0.0)
        if more > SEEN_BETWEEN:
            add(f"{key.trade} between spokes", key, value[key] + more, limits.of(key), key, key,
                beyond=more)
    for side in SIDES:
        mine = wheel.pulling(side)
        worst = int(mine[np.abs(state.tension[mine] - seen.mean[side]).argmax()]) + 1
        add(f"spread {side}", Quantity.SPREAD, seen.spread[side], limits.side_spread, side, side, worst)
    add("right mean against half of buckling", Quantity.HIGHEST, seen.mean["right"],
        PRACTICAL_SHARE * buckling(state.wheel).tension, "right mean", Quantity.HIGHEST)
    return tuple(out)


def _doubted(told: Known, key: Quantity, read_as: str, limit: float) -> tuple[int, ...]:
    """Spokes whose readings, contradicted by all else, would take this quantity past its limit if they were true."""
    out = []
    for one in told.in_doubt:
        side = next((side for side in SIDES if side == read_as), None)
        amount = one.wheel.limited[key] if side is None else one.wheel.spread[side]
        if not within(key, float(amount), limit):
            out.append(one.spoke)
    return tuple(sorted(set(out)))


def _unsettled(told: Known) -> frozenset[Quantity]:
    """Quantities of which nothing is "within" before what is in doubt was read again, whatever they come out at."""
    out: set[Quantity] = set()
    for one in told.read_first:
        if isinstance(one, PassAstray | GaugeUnexpected | GaugeFarOff | Contradicted):
            out.update((Quantity.GAP, *OF_TENSION))
        elif isinstance(one, DialFarOff):
            out.add(Quantity.TRUE if one.dial == "lateral" else Quantity.ROUND)
        elif not isinstance(one, DoubtedReading):
            out.update(OF_TENSION)
    return frozenset(out)
