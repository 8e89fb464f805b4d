"""From a job to a turn plan, or to what stands in its way."""

from dataclasses import replace

import numpy as np

from wheelsim.estimation.known import Known, known
from wheelsim.job.job import Job, Work
from wheelsim.measures.bounds import broken, resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.stability import critical_tension
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.goal import unseen_of
from wheelsim.planning.highs import Watch
from wheelsim.planning.hindrance import Blocking
from wheelsim.planning.notes import AimsNotHad, NoMargin, PlainMargin, PlanAdvice, ReadAgain
from wheelsim.planning.plan_result import Plan, total
from wheelsim.planning.planner import Planner
from wheelsim.planning.stands_out import odd_spokes
from wheelsim.planning.verdict import LeaveIt, about, explained, verdict_of
from wheelsim.threads import one_thread
from wheelsim.wheel.parts import Wheel

NONE = ("none", "not found")
TRY_PART = 0.6  # of the effort left in search of a plan as asked for, before less is asked
HAND_FROM = 3.0  # effort from which some is kept for the plan a hand would carry out
HAND_EFFORT = 1.5  # for that plan, beside a literal fewest that isn't proven
HAND_MOST = 3.0  # effort for a plan by hand, unless more time is asked for; own choice: more found nothing better
FEWEST = ("turns", "nipples", "passes")


@one_thread
def plan(subject: Wheel | Job | Known, *, fewest: str | None = None, to: str = "aims", step: float | None = None,
         margin: float | None = None, seconds: float | None = None, effort: float | None = None,
         watch: Watch | None = None) -> Plan:
    """Plan the turns that bring a wheel within its limits, toward its aims.

    Parameters
    ----------
    subject : Wheel or Job
    fewest : "turns", "nipples" or "passes", optional
        That optimum literally; without it, what a hand would do.
    to : "aims" or "limits"
    step : float, optional
        Whole turns of this; default the job's. [turn]
    margin : float, optional
        Standard deviations kept from the limit of everything that was read; default the job's.
    seconds : float, optional
        Longest time by the clock; default the job's. [s]
    effort : float, optional
        Most work of the search, counted, not timed: a unit takes about a second. By default a unit for each second
        allowed, so that the clock seldom decides and the same job has the same plan on most machines.
    watch : Watch, optional
        Instead of seconds and effort: told of progress, it can be stopped.

    Returns
    -------
    Plan

    Raises
    ------
    ValueError
        For an unknown word.
    """
    if fewest is not None and fewest not in FEWEST:
        raise ValueError(f"fewest: {fewest!r}; expected turns, nipples or passes")
    if to not in ("aims", "limits"):
        raise ValueError(f"to: {to!r}; expected aims or limits")
    told = known(subject)
    job = told.job
    work = job.work
    told = told.with_work(replace(work, step=work.step if step is None else step,
                                  margin=work.margin if margin is None else margin,
                                  time=work.time if seconds is None else seconds))
    job = told.job
    watch = watch or Watch(job.work.time, effort=effort)
    try:
        if fewest is None:
            most = watch.left() if job.work.time > Work().time else min(watch.left(), HAND_MOST)
            return _explained(told, _best_that_can_be_had(told, "hand", to, watch.part(most)))
        reserve = HAND_EFFORT if watch.left() >= HAND_FROM else 0.0
        found = _best_that_can_be_had(told, fewest, to, watch.part(watch.left() - reserve))
        return _explained(told, _no_worse_than_by_hand(told, found, fewest, to, watch) if reserve else found)
    except Unstable as error:
        return _no_wheel(job, to, error)


def _explained(told: Known, found: Plan) -> Plan:
    """The plan with what its verdict and its outlook say of the readings."""
    unread = told.unread
    before = found.before
    odd = () if before is None else odd_spokes(told, before.state, about(found.aims))
    verdict = explained(found.verdict, found.aims, told.read, odd, [one.turns for one in found.passes],
                        sorted(told.job.wheel.spokes.missing), told.unread_since, told.read_before)
    return replace(found, verdict=verdict, unread=unread)


def _best_that_can_be_had(told: Known, fewest: str, to: str, watch: Watch) -> Plan:
    """The plan as asked for; where none is found, with a plainer margin, within the limits only, by hand with none."""
    work = told.job.work
    bare = told.with_work(replace(work, margin=0.0))
    tries: list[tuple[Known, str, bool]] = [(told, to, False)]
    if work.margin > 0:
        tries.append((told, to, True))
    if to == "aims":
        tries.append((told, "limits", work.margin > 0))
    if fewest == "hand" and work.margin == Work().margin:
        tries.append((bare, "limits", False))
    found: list[Plan] = []
    planners: list[Planner] = []
    for k, (asked, toward, plain) in enumerate(tries):
        spare = 1 - TRY_PART if k < len(tries) - 1 else 0.0
        planners.append(Planner(asked, fewest, toward, watch, plain_margin=plain, spare=spare))
        found.append(planners[-1].run())
        if found[-1].status not in NONE:
            break
    first, last = found[0], found[-1]
    if last.status in NONE or last is first:
        return planners[0].why_not_found() if first.status == "not found" else first
    unseen, end = unseen_of(told), {} if last.after is None else last.after.values
    less: list[PlanAdvice] = [AimsNotHad(tuple(unseen.intersection(broken(end, last.limits))))] if toward != to else []
    if asked is bare or plain:
        less.append(NoMargin() if asked is bare else PlainMargin())
    advice = (*less, *last.advice)
    unmet = tuple(name for name in broken(end, first.aims) if name not in unseen)
    verdict = last.verdict
    if isinstance(verdict.why, LeaveIt):
        verdict = replace(verdict, why=replace(verdict.why, unmet=unmet))
    return replace(last, aims=first.aims, unmet=unmet, advice=advice, verdict=verdict)


def _no_worse_than_by_hand(told: Known, found: Plan, fewest: str, to: str, watch: Watch) -> Plan:
    """The plan, or the one a hand would carry out where that takes fewer by the same count and misses no other aim.

    A search cut short may miss what whole sides and a few nipples do.
    """
    if found.proven or found.turns is None or found.after is None:
        return found
    other = Planner(told, "hand", to, watch).run()
    if not other.passes or any(isinstance(one, ReadAgain) for one in other.advice):
        return found  # what comes first by hand is no plan to compare with
    fewer = other.turns is not None and _count(other, fewest) < _count(found, fewest) - 1e-9
    if not fewer or not set(other.unmet) - {Quantity.OFF_USUAL} <= set(found.unmet):
        return found
    bound = min(found.bound_turns or 0.0, total(other.turns)) if other.turns is not None else None
    return replace(other, status="best so far", proven=False, bound_turns=bound, aims=found.aims,
                   unmet=tuple(name for name in other.unmet if name is not Quantity.OFF_USUAL))


def _count(found: Plan, fewest: str) -> float:
    """What a plan takes, in the measure asked for."""
    turns = np.zeros(1) if found.turns is None else found.turns
    return {"turns": total(turns), "nipples": float(np.count_nonzero(turns)),
            "passes": float(len(found.passes))}[fewest]


def _no_wheel(job: Job, to: str, error: Unstable) -> Plan:
    """The answer where the wheel as it came in has no stable state: none, and why."""
    limits = resolved(job.wheel)
    aims = limits if to == "limits" else resolved(job.wheel, aims=True).tighter_of(limits)
    critical = critical_tension(job.wheel)
    blocking = (Blocking("stability", round(critical, 1), round(job.wheel.tension, 1), "N", round(critical, 1),
                         because=error.because),)
    verdict = verdict_of("none", None, None, None, (), limits, blocking)
    return Plan(wheel=job.wheel.name, status="none", verdict=verdict, blocking=blocking, step=job.work.step,
                target_dish=job.work.target_dish, limits=limits, aims=aims, label=job.last.label if job.last else "")
