"""Assess a wheel: is it within its limits, how sure is that, what would a quarter turn of each side do, what next?"""

from statistics import NormalDist

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.estimation.assumed import AsReadBefore, Assumed, EarlierUnused
from wheelsim.estimation.certainty import drawn_quantities, standard_deviations, was_read
from wheelsim.estimation.estimate import Estimate, estimate
from wheelsim.estimation.known import Known, known
from wheelsim.estimation.outliers import GaugeAstray
from wheelsim.job.job import Job
from wheelsim.measures.bounds import Bounds, from_load, resolved, within
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.loads import first_slack, ground_lever
from wheelsim.mechanics.stability import PRACTICAL_SHARE, buckling
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.promise import kept_from, promise_of
from wheelsim.planning.sides import SIGNS, quarters_of_sides
from wheelsim.planning.what_first import true_first
from wheelsim.readings.errors import meter_sd
from wheelsim.stand.advice import (
    Advice,
    Bowed,
    NoQuarterHelps,
    NoStableWheel,
    NotReadSince,
    ReadDial,
    ReadGauge,
    ReadTensions,
    RimLies,
    SideUnknown,
    SlackAtTheGround,
    TurnSides,
    WithinAim,
)
from wheelsim.stand.assessment import AgainstUsual, Check, GaugeFit, Judgement, QuarterTurn
from wheelsim.stand.assessment import Assessment as Assessment
from wheelsim.stand.assessment import Once as Once
from wheelsim.threads import one_thread
from wheelsim.units import QUARTER, rounded
from wheelsim.wheel.parts import SIDES, Wheel

CHECK_DRAWS = 4000  # wheels drawn from the posterior; own choice: a share of 0.9 is then known to half a per cent
# A check needs so many times the job's margin (standard deviations) before it is called within or outside: 1.3 is 90 of
# 100 drawn wheels at the default margin of 1. Own choice: with 1.0 (84 of 100) one line in 24 was wrong on wheels read
# without a dial (tests.benchmarks.coverage), and we accept three in 100. The gap keeps 1.0: its uncertainty is mostly
# unread out-of-true under the gauge's feet, and a wrong verdict costs no more than setting the gauge once more.
VERDICT_MARGINS = 1.3
# Smaller offsets are not reported. Own choice: a feeler at the gauge shows no less. [m]
TOLD_OFF = 0.05e-3
# Run-out with the places between spokes included gets its own check if it is larger by more than this. Own choice: one
# division of a dial. [m]
SEEN_BETWEEN = 0.05e-3


@one_thread
def assess(subject: Wheel | Job | Known) -> Assessment:
    """Assess a wheel from all readings of its job.

    Parameters
    ----------
    subject : Wheel, Job or Known
        A wheel alone is true and centred at its nominal tension.

    Returns
    -------
    Assessment
        With verdict "outside" and no view if no stable wheel explains the readings.

    Notes
    -----
    A check is "within" if the best estimate is within the limit and so is a sufficient share of the wheels drawn from
    the posterior; "outside" if both are outside; else "unknown". The share is the normal probability below
    ``VERDICT_MARGINS`` times the job's margin (90 of 100 by default; for the gap below the margin itself, 84). What was
    never read is "unknown". Gap, true and round are never "within" if they were not read since the last turns.
    """
    told = known(subject)
    job = told.job
    label = job.last.label if job.last else ""
    try:
        found = told.found
    except Unstable as error:
        return Assessment(wheel=job.wheel.name, label=label, verdict="outside", checks=(), view=None, quarter_turns=(),
                          assumed=(), suspects=(), advice=(NoStableWheel(error.because),),
                          readings=_readings(told, None))
    seen = view(found.state, job.work.target_dish)
    checks = _checks(told, found, seen)
    statuses = {check.status for check in checks}
    verdict: Judgement = "outside" if "outside" in statuses else "unknown" if "unknown" in statuses else "within"
    read = told.read[Quantity.HIGHEST]
    return Assessment(wheel=job.wheel.name, label=label, verdict=verdict, checks=checks, view=seen,
                      quarter_turns=_quarter_turns(found.state), assumed=(*found.assumed, *_read_before(told)),
                      suspects=told.doubts, advice=_advice(told, found, seen), readings=_readings(told, seen),
                      usual=tuple(AgainstUsual(side, seen.mean[side], seen.usual[side], read) for side in SIDES),
                      gauge=_gauge_fit(told, seen), learnt=found.learnt, nipple_moves=_nipple_moves(told, found),
                      doubted=frozenset(one.spoke for one in told.outliers if not isinstance(one, GaugeAstray)))


def _nipple_moves(told: Known, found: Estimate) -> tuple[float, float] | None:
    """As ``Assessment.nipple_moves``."""
    if not found.learnt:
        return None
    state = found.state
    by_kind = equilibrium(told.job.wheel, state.turns, state.own_shape)
    learnt, kind = (QUARTER * float(np.abs(np.diag(one.influence.edge)).mean()) for one in (state, by_kind))
    return learnt, kind


def _gauge_fit(told: Known, seen: View) -> GaugeFit | None:
    """Gauge against estimate; None if the gauge was not read since the last pass."""
    gauge = told.log[-1].reading.gauge if told.log else None
    return None if gauge is None else GaugeFit(gauge.gap, seen.gap)


def _readings(told: Known, last: View | None) -> tuple[Once, ...]:
    """The history of the job; ``last`` is the estimate at the last visit."""
    out: list[Once] = []
    log, job = told.log, told.job
    before: State | None = None
    for k, visit in enumerate(log):
        seen, predicted = last, None
        try:
            if before is not None:
                turned = log[k - 1].turned(job.wheel.n)
                predicted = view(equilibrium(before.wheel, before.turns + turned, before.own_shape, start=before),
                                 job.work.target_dish)
            if k < len(log) - 1:
                seen = view(estimate(job.wheel, visit.reading, job.errors, log[:k]).state, job.work.target_dish)
        except Unstable:
            seen = None
        before = None if seen is None else seen.state
        reading = visit.reading
        read = was_read(job.wheel, [reading])
        few = frozenset(name for name, places in ((Quantity.TRUE, reading.lateral), (Quantity.ROUND, reading.radial),
                                                  (Quantity.HIGHEST, reading.tension)) if places and not read[name])
        out.append(Once(reading.label, seen, read, visit.after_pass, predicted, few))
    return tuple(out)


def _read_before(told: Known) -> tuple[Assumed, ...]:
    """Which tools were read only before the last visit, and whether readings are not used at all."""
    out: list[Assumed] = []
    if told.log and told.log[0].forgotten:
        out.append(EarlierUnused())
    gone = tuple(name for name in ("gauge", "lateral", "radial", "tension")
                 if any(getattr(one.reading, name) for one in told.log[:-1])
                 and not getattr(told.log[-1].reading, name))
    if gone:
        out.append(AsReadBefore(gone))
    return tuple(out)


def _checks(told: Known, found: Estimate, seen: View) -> tuple[Check, ...]:
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
    # A prediction doesn't sign a wheel off: what has been turned since it was read must be read again.
    since = {Quantity.GAP: bool(told.log) and told.log[-1].reading.gauge is None,
             Quantity.TRUE: bool(told.unread_since), Quantity.ROUND: bool(told.unread_since)}
    # Share of drawn wheels that may lie on the other side: the normal tail beyond so many standard deviations.
    tails = {key: NormalDist().cdf(-(1.0 if key is Quantity.GAP else VERDICT_MARGINS) * job.work.margin)
             for key in Quantity}
    value = seen.values
    out = []

    def add(name: str, key: Quantity, amount: float, limit: float, of: str, read: bool,
            spoke: int | None = None, beyond: float = 0.0) -> None:
        unit, scale, sign = key.unit, key.per_si, key.sign
        # Maxima and ranges over uncertain spokes are larger on average than those of the best estimate, and their
        # distribution is skewed. So the share is counted over draws, not computed from the standard deviation.
        shown = drawn[of] + beyond
        sure = float(within(key, shown, limit).mean())
        inside, tail = bool(within(key, amount, limit)), tails[key]
        status: Judgement = ("unknown" if not read else "within" if inside and sure >= 1 - tail else
                             "outside" if not inside and sure <= tail else "unknown")
        if status == "within" and since.get(key):
            status = "unknown"
        digits = 1 if unit == "N" else 3
        out.append(Check(name=name, spoke=spoke, value=rounded(amount * scale, digits),
                         limit=rounded(limit * scale, digits), unit=unit,
                         margin=rounded(sign * (limit - amount) * scale, digits),
                         sd=rounded(sd_of[of] * scale, digits), status=status, read=read,
                         likely=rounded(shown.mean() * scale, digits), sure=rounded(sure, 3)))

    for key in (Quantity.GAP, Quantity.TRUE, Quantity.ROUND, Quantity.HIGHEST, Quantity.LOWEST):
        spoke = {Quantity.HIGHEST: high, Quantity.LOWEST: low}.get(key)
        add(key.trade, key, value[key], limits.of(key), key, read[key], spoke)
        more = seen.runout_between.get(key, 0.0) - value.get(key, 0.0)
        if more > SEEN_BETWEEN:
            add(f"{key.trade} between spokes", key, value[key] + more, limits.of(key), key, read[key], beyond=more)
    for side in SIDES:
        mine = wheel.pulling(side)
        worst = int(mine[np.abs(state.tension[mine] - seen.mean[side]).argmax()]) + 1
        add(f"spread {side}", Quantity.SPREAD, seen.spread[side], limits.side_spread, side, read[side], worst)
    add("right mean against half of buckling", Quantity.HIGHEST, seen.mean["right"],
        PRACTICAL_SHARE * buckling(state.wheel).tension, "right mean", read[Quantity.HIGHEST])
    return tuple(out)


def _quarter_turns(state: State) -> tuple[QuarterTurn, ...]:
    """Effect of a quarter turn of each side in each direction."""
    influence, wheel = state.influence, state.wheel
    out = []
    for side in SIDES:
        for verb, sign in reversed(SIGNS):
            turns = np.zeros(wheel.n)
            turns[wheel.pulling(side)] = sign * QUARTER
            change = influence.tension @ turns
            right, left = (float(change[wheel.pulling(one)].mean()) for one in SIDES)
            out.append(QuarterTurn(side, verb, float((influence.edge @ turns).mean()), right, left))
    return tuple(out)


def _advice(told: Known, found: Estimate, seen: View) -> tuple[Advice, ...]:
    """What to do or read next, in the order in which it is told."""
    job, wheel = told.job, told.job.wheel
    out: list[Advice] = []
    if told.unread_since:
        out.append(NotReadSince(told.unread_since))
    target = job.work.target_dish
    off = seen.dish - target
    gauged = not told.log or told.gauge is not None
    # The aims as a plan uses them, with the same safety margin.
    aims = resolved(wheel, aims=True).tighter_of(resolved(wheel))
    promise = promise_of(wheel, found, job.work.margin, told.read)
    moves = _by_sides(seen, aims.less(kept_from(aims, promise, found.state, told.gauge, told.read)))
    # Naming the wrong side would send the mechanic the wrong way, so an offset within its standard deviation has none.
    if gauged and abs(off) < found.dish_sd and abs(off) > TOLD_OFF:
        out.append(SideUnknown(found.dish_sd))
    elif gauged and abs(off) > TOLD_OFF:
        out.append(RimLies(off, target, moves or _let_be(2 * abs(off), aims, resolved(wheel))))
    elif gauged and moves:
        out.append(moves)
    wobble = true_first(told, seen.state)
    if wobble:
        out.append(wobble)
    if told.log and not told.unread_since:
        nearest = _next_reading(told, found)
        if nearest:
            out.append(nearest)
    bows = seen.runout_between[Quantity.ROUND] - seen.round
    if bows > SEEN_BETWEEN:
        out.append(Bowed(bows))
    if "from load" in (wheel.limits.min_tension, wheel.striving.min_tension):
        out.append(from_load(wheel))
    if wheel.load is not None and wheel.load.lateral is not None:
        tension = found.state.tension
        lever, radial = ground_lever(wheel), wheel.load.radial or 0.0
        load, spoke, _ = min(first_slack(wheel, side, tension, lever=lever, radial=radial) for side in SIDES)
        out.append(SlackAtTheGround(lever, radial, spoke, load, wheel.load.lateral))
    return tuple(out)


def _let_be(gap: float, aims: Bounds, limits: Bounds) -> WithinAim | NoQuarterHelps | None:
    """Why no side is turned for this gap [m]; None where it is outside its limit."""
    if within(Quantity.GAP, gap, aims.gap):
        return WithinAim(aims.gap)
    return NoQuarterHelps() if within(Quantity.GAP, gap, limits.gap) else None


def _by_sides(seen: View, aims: Bounds) -> TurnSides | None:
    """Quarter turns of whole sides as a plan would choose them; None where none are needed."""
    turns = quarters_of_sides(seen, aims)
    return TurnSides(seen.stands(aims.off_usual), turns["right"], turns["left"]) if any(turns.values()) else None


def _next_reading(told_so_far: Known, found: Estimate) -> ReadGauge | ReadDial | ReadTensions | None:
    """The most useful next reading: a missing gauge or dial, else up to three spokes.

    The spokes are chosen greedily: each is the one whose reading reduces the summed variance of all tensions most
    (Kalman update of the covariance).
    """
    read, wheel = told_so_far.read, told_so_far.job.wheel
    if not read[Quantity.GAP]:
        return ReadGauge()
    if not read[Quantity.TRUE]:
        return ReadDial("lateral")
    done = {spoke for one in told_so_far.log for spoke, _ in one.reading.tension}
    unread = [i for side in SIDES for i in wheel.pulling(side) if i + 1 not in done]
    if not unread:
        return None if read[Quantity.ROUND] else ReadDial("radial")
    shown: Floats = found.shown_root @ found.shown_root.T
    with_shown: Floats = found.tension_root @ found.shown_root.T
    variance = float(np.sum(found.tension_root**2))
    noise = meter_sd(found.state.tension) ** 2
    chosen: list[int] = []
    for _ in unread[:3]:  # own choice: after three more readings it is better to assess again
        # Reduction of the sum of all tensions' variances by reading each spoke.
        reduction = np.sum(with_shown**2, axis=0) / (np.diag(shown) + noise)
        best = max((i for i in unread if i not in chosen), key=lambda i: reduction[i])
        chosen.append(best)
        variance -= float(reduction[best])
        told = shown[best] / (shown[best, best] + noise[best])
        with_shown, shown = with_shown - np.outer(with_shown[:, best], told), shown - np.outer(shown[:, best], told)
    was, now = np.sqrt(np.mean(found.tension_sd**2)), np.sqrt(variance / wheel.n)
    return ReadTensions(tuple(i + 1 for i in chosen), float(was), float(now))
