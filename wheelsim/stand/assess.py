"""Is the wheel within its limits, how surely, and what would a quarter turn of each side do?"""

from statistics import NormalDist

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.estimation.assumed import AsReadBefore, Assumed, EarlierUnused
from wheelsim.estimation.certainty import drawn_quantities, standard_deviations, was_read
from wheelsim.estimation.estimate import Estimate, estimate
from wheelsim.estimation.known import Known, known
from wheelsim.estimation.outliers import GaugeAstray
from wheelsim.job.job import Job
from wheelsim.measures.bounds import Bounds, from_load, resolved
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

CHECK_DRAWS = 4000  # wheels that the readings allow
# A verdict on true, round or tension signs a wheel off: nine in ten at the default margin. With the plan's 84 in 100
# one line in 24 was wrong without a dial (tests.benchmarks.coverage); we accept three in 100. The gap keeps
# the plan's margin: its doubt is wobble that nobody read, and setting the gauge once more is all a wrong word costs.
VERDICT_MARGINS = 1.3
# An offset of less is not told of: a gauge's feeler shows no less; our own choice. [m]
TOLD_OFF = 0.05e-3
# What a rim does between its spokes beyond what it does at them gets a line of its own from a dial's division on; our
# own choice. [m]
SEEN_BETWEEN = 0.05e-3


@one_thread
def assess(subject: Wheel | Job | Known) -> Assessment:
    """Assess a wheel from its last reading.

    Parameters
    ----------
    subject : Wheel or Job
        A wheel alone is true and centred at its nominal tension.

    Returns
    -------
    Assessment

    Notes
    -----
    A check is within when as many of the wheels that the readings allow are, as lie on one side of 1.3 times the
    job's margin of standard deviations (default 1: 90 of 100; for the gap the margin itself, 84); outside when as many
    are; else it can't be told.
    What was never read can't be told; nor where the likeliest wheel lies on the other side of the limit than most
    of those that the readings allow.
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
    """How far a quarter turn of one nipple moves the rim at its spoke, on average: as learnt, and by its kind. [m]"""
    if not found.learnt:
        return None
    state = found.state
    by_kind = equilibrium(told.job.wheel, state.turns, state.own_shape)
    learnt, kind = (QUARTER * float(np.abs(np.diag(one.influence.edge)).mean()) for one in (state, by_kind))
    return learnt, kind


def _gauge_fit(told: Known, seen: View) -> GaugeFit | None:
    """What the gauge read beside what the estimate made of it; None where it was not read since the last pass."""
    gauge = told.log[-1].reading.gauge if told.log else None
    return None if gauge is None else GaugeFit(gauge.gap, seen.gap)


def _readings(told: Known, last: View | None) -> tuple[Once, ...]:
    """Every visit with the wheel as it was found, and as it was predicted; ``last`` is what the last one found."""
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
    """What the last reading has not and an earlier one had; readings that are not used at all."""
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
    job, target = told.job, told.job.work.target_dish
    wheel, limits = job.wheel, resolved(job.wheel)
    drawn = drawn_quantities(wheel, found, target, count=CHECK_DRAWS)
    sd_of = standard_deviations(wheel, found)
    state = seen.state
    there = np.concatenate([wheel.pulling(side) for side in SIDES])
    high = int(state.tension.argmax()) + 1
    low = int(there[state.tension[there].argmin()]) + 1
    read = told.read
    # No wheel is signed off by a prediction: what turns moved since it was read is read again.
    since = {Quantity.GAP: bool(told.log) and told.log[-1].reading.gauge is None,
             Quantity.TRUE: bool(told.unread_since), Quantity.ROUND: bool(told.unread_since)}
    # As rare as a normal error of so many standard deviations on one side.
    doubts = {key: NormalDist().cdf(-(1.0 if key is Quantity.GAP else VERDICT_MARGINS) * job.work.margin)
              for key in Quantity}
    value = seen.values
    out = []

    def add(name: str, key: Quantity, amount: float, limit: float, of: str, read: bool,
            spoke: int | None = None, beyond: float = 0.0) -> None:
        unit, scale, sign = key.unit, key.per_si, key.sign
        # Highest, run-out and spread of what is little known lie beyond those of the likeliest wheel: counted, not
        # reckoned from the standard deviation.
        shown = drawn[of] + beyond
        sure = float(np.mean(sign * shown <= sign * limit + 1e-9 * abs(limit)))
        inside, doubt = sign * amount <= sign * limit + 1e-9 * abs(limit), doubts[key]
        status: Judgement = ("unknown" if not read else "within" if inside and sure >= 1 - doubt else
                             "outside" if not inside and sure <= doubt else "unknown")
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
        more = seen.all_round.get(key, 0.0) - value.get(key, 0.0)
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
    job, wheel = told.job, told.job.wheel
    out: list[Advice] = []
    if told.unread_since:
        out.append(NotReadSince(told.unread_since))
    target = job.work.target_dish
    off = seen.dish - target
    gauged = not told.log or told.gauge is not None
    # The bounds a plan strives for, with the same margin kept.
    aims = resolved(wheel, aims=True).tighter_of(resolved(wheel))
    promise = promise_of(wheel, found, job.work.margin, told.read)
    moves = _by_sides(seen, aims.less(kept_from(aims, promise, found.state, told.gauge, told.read)))
    # A side named wrongly sends the mechanic the wrong way: below its own deviation it is not named.
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
    bows = seen.all_round[Quantity.ROUND] - seen.round
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
    """Why a gap [m] that no side is turned for is left as it is; None where it is outside its limit."""
    if gap <= aims.gap:
        return WithinAim(aims.gap)
    return NoQuarterHelps() if gap <= limits.gap else None


def _by_sides(seen: View, aims: Bounds) -> TurnSides | None:
    """Tighten or loosen, which sides, decided as a plan by whole sides decides it; None where neither is called for."""
    turns = quarters_of_sides(seen, aims)
    return TurnSides(seen.stands(aims.off_usual), turns["right"], turns["left"]) if any(turns.values()) else None


def _next_reading(told_so_far: Known, found: Estimate) -> ReadGauge | ReadDial | ReadTensions | None:
    """The reading that would tell most: a missing gauge or dial, else the spokes that leave least unknown."""
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
    for _ in unread[:3]:
        # What reading one spoke takes from the variance of all.
        gain = np.sum(with_shown**2, axis=0) / (np.diag(shown) + noise)
        best = max((i for i in unread if i not in chosen), key=lambda i: gain[i])
        chosen.append(best)
        variance -= float(gain[best])
        told = shown[best] / (shown[best, best] + noise[best])
        with_shown, shown = with_shown - np.outer(with_shown[:, best], told), shown - np.outer(shown[:, best], told)
    was, now = np.sqrt(np.mean(found.tension_sd**2)), np.sqrt(variance / wheel.n)
    return ReadTensions(tuple(i + 1 for i in chosen), float(was), float(now))
