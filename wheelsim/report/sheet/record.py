"""Data of a job sheet: the wheel as received, planned and read; passes made and still to be made."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.estimation.known import Known, known
from wheelsim.job.job import Job, Pass
from wheelsim.measures.bounds import Bounds, broken, resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.goal import unseen_of
from wheelsim.planning.highs import Watch
from wheelsim.planning.keeping import take
from wheelsim.planning.passes import PlannedPass, rounds
from wheelsim.planning.plan import plan
from wheelsim.planning.plan_result import Plan
from wheelsim.readings.reading import BySpoke, Reading
from wheelsim.stand.assess import Assessment, VisitView, assess
from wheelsim.threads import one_thread
from wheelsim.wheel.parts import Wheel


@dataclass(frozen=True, eq=False)
class MadePass:
    """A pass that was made."""

    number: int
    turned: Turns  # (n,) [turn]
    planned: Turns | None  # (n,) what was planned, if known and different [turn]
    read: VisitView | None  # the wheel by what was read after it, before the next pass
    reading: Reading | None  # that reading as the tools showed it
    gauge_again: bool = False  # whether the plan asked for the gauge after it


@dataclass(frozen=True, eq=False)
class Record:
    """Data of a job sheet.

    Attributes
    ----------
    job : Job
    limits : Bounds
    assessment : Assessment
    received, read : View or None
        The wheel at the first and at the last reading; ``read`` is None if nothing was read after turning.
    received_once, read_once : VisitView or None
        The same visits; they say which quantities were measured.
    planned : View or None
        The wheel after all passes, made and still to be made.
    turns : (n,) ndarray
        From ``received`` to ``read``, or to ``planned``. [turn]
    made : tuple of MadePass
    to_make : tuple of PlannedPass
        Passes still to be made: those stored in the job, else those of a plan made now.
    kept : bool
        Whether ``to_make`` comes from the job.
    missed : tuple of str
        If so, names of the limits that are still broken after these passes.
    plan : Plan or None
        The plan, if one was made now.
    """

    job: Job
    limits: Bounds
    assessment: Assessment
    received: View | None
    received_once: VisitView | None
    read: View | None
    read_once: VisitView | None
    planned: View | None
    turns: Turns
    made: tuple[MadePass, ...]
    to_make: tuple[PlannedPass, ...]
    kept: bool
    missed: tuple[str, ...]
    plan: Plan | None

    @property
    def wheel(self) -> Wheel:
        return self.job.wheel

    @property
    def finished(self) -> bool:
        """Whether all planned passes were made and the wheel was read afterwards and is within its limits."""
        return bool(self.made) and not self.to_make and self.read is not None and self.assessment.verdict == "within"


@one_thread
def record(job: Job, watch: Watch | None = None) -> Record:
    """Collect the data of a job sheet; makes a plan if the job stores none and the wheel is not finished.

    Parameters
    ----------
    job : Job
    watch : Watch, optional
        Gets the plan's progress and can stop it.

    Returns
    -------
    Record
    """
    told = known(job)
    found = assess(told)
    made_passes = [one for one in job.passes if one.turns is not None]
    pending = [one for one in job.passes if one.turns is None and isinstance(one.planned, tuple)]
    visits = found.readings
    received_once = visits[0] if visits else None
    received = found.view if received_once is None or len(visits) == 1 else received_once.view
    last = visits[-1] if made_passes and len(visits) > 1 and any(visits[-1].read.values()) else None
    read = found.view if last is not None else None
    planned_now: Plan | None = None
    to_make: tuple[PlannedPass, ...] = ()
    missed: tuple[Quantity, ...] = ()
    if pending and found.view is not None:
        to_make = followed(found.view, pending, job.work.target_dish)
        if to_make:
            unseen = unseen_of(told)
            missed = tuple(name for name in broken(to_make[-1].after.values, resolved(job.wheel)) if name not in unseen)
    elif not pending and not (made_passes and last is not None and found.verdict == "within"):
        planned_now = plan(told, watch=watch)
        to_make = planned_now.passes
        if received is found.view:
            received = planned_now.before or received  # the plan starts from the wheel with missing spokes replaced
    turned = _sum((one.made for one in made_passes), job.wheel.n)
    ahead = np.sum([one.turns for one in to_make], axis=0) if to_make else np.zeros(job.wheel.n)
    planned = to_make[-1].after if to_make else _planned_end(received, made_passes, job)
    return Record(job, resolved(job.wheel), found, received, received_once, read, last, planned, turned + ahead,
                  tuple(_made(one, told, visits) for one in made_passes), to_make, bool(pending), missed, planned_now)


def _sum(pairs: object, n: int) -> Turns:
    """Sum (n,) of several collections of (spoke number, turns)."""
    out = np.zeros(n)
    for one in pairs:  # type: ignore[attr-defined]
        for spoke, turns in one:
            out[spoke - 1] += turns
    return out


def _intended(one: Pass) -> BySpoke:
    """The turns that were planned for a pass, if known; else those made."""
    return one.planned if isinstance(one.planned, tuple) else one.made


def _made(one: Pass, told: Known, visits: Sequence[VisitView]) -> MadePass:
    """A pass that was made, with what was read after it."""
    n = told.job.wheel.n
    turned = _sum([one.made], n)
    planned = _sum([one.planned], n) if isinstance(one.planned, tuple) else None
    read = [visit for visit in visits if getattr(visit, "after_pass", None) == one.number and any(visit.read.values())]
    return MadePass(one.number, turned, planned if planned is not None and (planned != turned).any() else None,
                    read[-1] if read else None,
                    next((visit.reading for visit in told.log if visit.after_pass == one.number and visit.read), None),
                    one.gauge_again)


def _planned_end(received: View | None, passes: Sequence[Pass], job: Job) -> View | None:
    """The wheel as received, after the turns that were planned for the passes made."""
    if received is None or not passes:
        return None
    state = received.state
    try:
        turned = _sum((_intended(one) for one in passes), job.wheel.n)
        return view(equilibrium(state.wheel, state.turns + turned, state.own_shape, start=state),
                    job.work.target_dish)
    except Unstable:
        return None


def followed(start: View, passes: Sequence[Pass], target_dish: float) -> tuple[PlannedPass, ...]:
    """Follow the passes stored in a job: the wheel after each, and the highest tension on the way.

    A pass that turns both flanges, or in both directions, is split by flange and direction; the gauge is read again
    after the last of them where the plan asks for it. Empty if a state is unstable.
    """
    out: list[PlannedPass] = []
    state = start.state
    try:
        for one in passes:
            kinds = rounds(_sum([_intended(one)], start.wheel.n), start.wheel)
            for k, (kind, parts) in enumerate(kinds.items()):
                step = take(state, kind, np.sum(parts, axis=0))
                last = k == len(kinds) - 1
                out.append(replace(step.numbered(one.number, target_dish), gauge_again=one.gauge_again and last))
                state = step.after
    except Unstable:
        return ()
    return tuple(out)
