"""Assess a wheel: is it within its limits, how sure is that, what would a quarter turn of each side do, what next?"""

import numpy as np

from wheelsim.estimation.assumed import AsReadBefore, Assumed, EarlierUnused
from wheelsim.estimation.certainty import was_read
from wheelsim.estimation.estimate import Estimate, estimate
from wheelsim.estimation.known import Known, known
from wheelsim.estimation.outliers import GaugeAstray
from wheelsim.job.job import Job
from wheelsim.measures.bounds import resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.sides import SIGNS
from wheelsim.planning.verdict import about
from wheelsim.stand.advice import NoStableWheel
from wheelsim.stand.assessment import AgainstUsual, GaugeFit, Judgement, QuarterTurn
from wheelsim.stand.assessment import Assessment as Assessment
from wheelsim.stand.assessment import VisitView as VisitView
from wheelsim.stand.checks import VERDICT_MARGINS as VERDICT_MARGINS
from wheelsim.stand.checks import checks_of
from wheelsim.stand.what_next import advice_on
from wheelsim.threads import one_thread
from wheelsim.units import QUARTER
from wheelsim.wheel.parts import SIDES, Wheel


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
    never read is "unknown"; of what was read in part only "outside" may be said, since no further reading makes a
    run-out or a highest tension smaller. Gap, true and round are never "within" if they were not read since the last
    turns.
    """
    told = known(subject)
    job = told.job
    label = job.last.label if job.last else ""
    try:
        found = told.found
    except Unstable as error:
        return Assessment(wheel=job.wheel.name, label=label, verdict="outside", checks=(), view=None, quarter_turns=(),
                          assumed=(), suspects=(), advice=(NoStableWheel(error.because),),
                          readings=_visits(told, None))
    seen = view(found.state, job.work.target_dish)
    checks = checks_of(told, found, seen)
    statuses = {check.status for check in checks}
    verdict: Judgement = "outside" if "outside" in statuses else "unknown" if "unknown" in statuses else "within"
    read = told.read[Quantity.HIGHEST]
    return Assessment(wheel=job.wheel.name, label=label, verdict=verdict, checks=checks, view=seen,
                      quarter_turns=_quarter_turns(found.state), assumed=(*found.assumed, *_read_before(told)),
                      suspects=told.doubts, advice=advice_on(told, found, seen), readings=_visits(told, seen),
                      usual=tuple(AgainstUsual(side, seen.mean[side], seen.usual[side], read) for side in SIDES),
                      stands=seen.stands(about(resolved(job.wheel, aims=True))) if read else None,
                      gauge=_gauge_fit(told, seen), learnt=found.learnt, nipple_moves=_nipple_moves(told, found),
                      read_first=told.read_first,
                      doubted=frozenset(one.spoke for one in told.outliers
                                        if not isinstance(one, GaugeAstray) and not told.read_anew(one)))


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


def _visits(told: Known, last: View | None) -> tuple[VisitView, ...]:
    """The history of the job; ``last`` is the estimate at the last visit."""
    out: list[VisitView] = []
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
        out.append(VisitView(reading.label, seen, read, visit.after_pass, predicted, few))
    return tuple(out)


def _read_before(told: Known) -> tuple[Assumed, ...]:
    """Which tools were read only before the last visit, and whether readings are not used at all."""
    out: list[Assumed] = []
    if any(one.forgotten for one in told.log):
        out.append(EarlierUnused())
    gone = tuple(name for name in ("gauge", "lateral", "radial", "tension")
                 if any(getattr(one.reading, name) for one in told.log[:-1])
                 and not getattr(told.log[-1].reading, name))
    if gone:
        out.append(AsReadBefore(gone))
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
