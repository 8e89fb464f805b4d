"""What a plan strives for and never leaves, and how far each nipple may be turned for it."""

from dataclasses import dataclass, replace

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.estimation.certainty import standard_deviations
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job, Work
from wheelsim.measures.bounds import Bounds, resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.planning.programme import MOST_NIPPLE_TURNS
from wheelsim.planning.promise import GIVEN, GIVEN_FEW, Promise, kept_from, kept_of_the_gap, promise_of

UNBOUNDED = 100.0  # times its limit, for no bound: rows of the programme hold no infinity; own choice
# Of its limit, by which what nobody measured may end worse than it is taken to be. Whole sides move it by a tenth of
# that; own choice.
UNSEEN_ROOM = 0.5
# Above its aim by no more than this, nothing is turned for it by hand: a dial's division, a meter's scatter. Own
# choice.
HAIR = {Quantity.TRUE: 0.05e-3, Quantity.ROUND: 0.05e-3, Quantity.SPREAD: 0.02}
ROUGH = (Quantity.TRUE, Quantity.ROUND, Quantity.SPREAD)  # what single nipples mend


@dataclass(frozen=True, eq=False)
class Goal:
    """Bounds of one plan.

    Attributes
    ----------
    limits, aims : Bounds
        As the wheel states them; by hand a quantity that came in a hair over its aim has that for its aim.
    promise : Promise
        How many of the drawn wheels shall keep the tension limits.
    keep : Bounds
        The limits, less what the readings leave unsure.
    striving, hard : Bounds
        The aims, of gap and tension likewise; and what is never left: true, round and spread no worse than the
        larger of aim and received.
    unseen : set of Quantity
        What nobody measured: nothing is turned for it, and it stays about as it is taken to be.
    """

    limits: Bounds
    aims: Bounds
    promise: Promise
    keep: Bounds
    striving: Bounds
    hard: Bounds
    unseen: frozenset[Quantity]


def goal_of(told: Known, before: View, fewest: str, to: str, *, plain_margin: bool = False) -> Goal:
    """What to strive for and what never to leave.

    Parameters
    ----------
    told : Known
    before : View
        The wheel that the plan starts from.
    fewest : "hand", "turns", "nipples" or "passes"
    to : "aims" or "limits"
    plain_margin : bool
        Keep multiples of deviations from the limits rather than quantiles of drawn wheels.
    """
    wheel, read, margin = told.job.wheel, told.read, told.job.work.margin
    limits = resolved(wheel)
    aims = limits if to == "limits" else resolved(wheel, aims=True).tighter_of(limits)
    if fewest != "hand":
        # The fewest by count alone leaves tension where its limits allow it.
        aims = replace(aims, off_usual=limits.off_usual)
    else:
        aims = replace(aims, **{name: before.values[name] for name, hair in HAIR.items()
                                if aims.of(name) < before.values[name] <= min(aims.of(name) + hair, limits.of(name))})
    promise = promise_of(before.state.wheel, told.found, 0.0 if plain_margin else margin, read)
    if fewest == "hand" and margin == Work().margin:
        promise = replace(promise, given=(GIVEN_FEW if few_tensions(told) else GIVEN) * limits.max_tension)
    from_limits, from_aims = (_plainly_kept(told) if plain_margin else
                              kept_from(bounds, promise, before.state, told.gauge, read) for bounds in (limits, aims))
    # The margin is kept from the limits. Of what single nipples mend, an aim is what to come near to: kept from that
    # too, it would name several nipples more.
    from_aims = {name: kept for name, kept in from_aims.items() if name not in ROUGH}
    keep = limits.less(from_limits)
    hard = keep
    if to == "aims":
        received = {name: max(aims.of(name), before.values[name]) for name in ROUGH}
        hard = keep.tighter_of(replace(keep, **received))
    unseen = unseen_of(told)
    striving = replace(aims.less(from_aims).tighter_of(keep),
                       **{name: UNBOUNDED * limits.of(name) for name in unseen})
    hard = replace(hard, **{name: max(limits.of(name), before.values[name]) + UNSEEN_ROOM * limits.of(name)
                            for name in unseen})
    return Goal(limits, aims, promise, keep, striving, hard, unseen)


def few_tensions(told: Known) -> bool:
    """Whether some tensions were read, but of fewer than half of the spokes."""
    return 0 < 2 * len({spoke for one in told.log for spoke, _ in one.reading.tension}) < told.job.wheel.n


def unseen_of(told: Known) -> frozenset[Quantity]:
    """What nobody measured of a wheel that was read: it isn't mended, and no nipple is named for it."""
    return frozenset(name for name in ROUGH if not told.read[name]) if told.log else frozenset()


def _plainly_kept(told: Known) -> dict[Quantity, float]:
    """So many standard deviations of each quantity that was read. [m, N, fraction]"""
    margin = told.job.work.margin
    sd = standard_deviations(told.job.wheel, told.found)
    keep = {name: margin * sd[name] for name in Quantity if told.read.get(name) and name is not Quantity.OFF_USUAL}
    return keep | kept_of_the_gap(told.gauge, told.read, margin)


def room(job: Job) -> tuple[Turns, Turns]:
    """What each nipple may be turned to: (n,), (n,), whole steps; passes already done count as turned."""
    wheel, work = job.wheel, job.work
    most = MOST_NIPPLE_TURNS if work.max_turns is None else work.max_turns
    done = np.zeros(wheel.n)
    if work.max_turns is not None:
        for one in job.passes:
            for spoke, turns in one.made:
                done[spoke - 1] += turns
    lowest, highest = np.minimum(-most - done, 0.0), np.maximum(most - done, 0.0)
    lowest, highest = np.ceil(lowest / work.step - 1e-9), np.floor(highest / work.step + 1e-9)
    if work.direction == "loosen":
        highest[:] = 0.0
    if work.direction == "tighten":
        lowest[:] = 0.0
    still = [i - 1 for i in work.untouched]
    if work.sides != "both":
        still += wheel.on_side("left" if work.sides == "right" else "right")
    lowest[still] = highest[still] = 0.0
    return lowest * work.step, highest * work.step
