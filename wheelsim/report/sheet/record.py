"""What a job sheet tells, as data: the wheel as received, as planned and as read; passes made and to be made."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.estimation.known import known
from wheelsim.job.job import Job, Pass
from wheelsim.measures.bounds import Bounds, broken, resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.highs import Watch
from wheelsim.planning.order import take
from wheelsim.planning.passes import PlannedPass, rounds
from wheelsim.planning.plan import plan
from wheelsim.planning.plan_result import Plan
from wheelsim.readings.reading import BySpoke
from wheelsim.stand.assess import Assessment, Once, assess
from wheelsim.threads import one_thread
from wheelsim.wheel.parts import Wheel


@dataclass(frozen=True, eq=False)
class MadePass:
    """A pass that was made: what was turned, what was planned where that is known and differs, what was read after."""

    number: int
    turned: Turns
    planned: Turns | None
    read: Once | None


@dataclass(frozen=True, eq=False)
class Record:
    """A job as its sheet tells it.

    Attributes
    ----------
    received, read : View or None
        As first and as last read; ``read`` None before anything was read after turning.
    received_once, read_once : Once or None
        Which of it was read, and not taken.
    planned : View or None
        Where the passes end, made or still to be made.
    turns : (n,) ndarray
        From received to read, or to planned. [turn]
    todo : tuple of PlannedPass
        Still to be made: those kept in the job, else a plan made now.
    kept : bool
        Whether they are those of the job; ``missed`` are then the limits that they leave broken, by name.
    plan : Plan or None
        Where one was made.
    """

    job: Job
    limits: Bounds
    assessment: Assessment
    received: View | None
    received_once: Once | None
    read: View | None
    read_once: Once | None
    planned: View | None
    turns: Turns
    made: tuple[MadePass, ...]
    todo: tuple[PlannedPass, ...]
    kept: bool
    missed: tuple[str, ...]
    plan: Plan | None

    @property
    def wheel(self) -> Wheel:
        return self.job.wheel

    @property
    def finished(self) -> bool:
        """Whether turns were made, all that were planned, and the wheel was read within its limits after."""
        return bool(self.made) and not self.todo and self.read is not None and self.assessment.verdict == "within"


@one_thread
def record(job: Job, watch: Watch | None = None) -> Record:
    """Everything that the sheet of a job tells; makes a plan where none is kept and the wheel is not finished.

    Parameters
    ----------
    job : Job
    watch : Watch, optional
        Of the plan: told of progress, it can be stopped.
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
    todo: tuple[PlannedPass, ...] = ()
    missed: tuple[Quantity, ...] = ()
    if pending and found.view is not None:
        todo = followed(found.view, pending, job.work.target_dish)
        if todo:
            missed = tuple(broken(todo[-1].after.values, resolved(job.wheel)))
    elif not pending and not (made_passes and last is not None and found.verdict == "within"):
        planned_now = plan(told, watch=watch)
        todo = planned_now.passes
        if received is found.view:
            received = planned_now.before or received  # the same wheel, with a missing spoke put in
    turned = _sum((one.made for one in made_passes), job.wheel.n)
    ahead = np.sum([one.turns for one in todo], axis=0) if todo else np.zeros(job.wheel.n)
    planned = todo[-1].after if todo else _planned_end(received, made_passes, job)
    return Record(job, resolved(job.wheel), found, received, received_once, read, last, planned, turned + ahead,
                  tuple(_made(one, job, visits) for one in made_passes), todo, bool(pending), missed, planned_now)


def _sum(pairs: object, n: int) -> Turns:
    out = np.zeros(n)
    for one in pairs:  # type: ignore[attr-defined]
        for spoke, turns in one:
            out[spoke - 1] += turns
    return out


def _intended(one: Pass) -> BySpoke:
    """What a pass was planned as, where that is known; else what was made."""
    return one.planned if isinstance(one.planned, tuple) else one.made


def _made(one: Pass, job: Job, visits: Sequence[Once]) -> MadePass:
    n = job.wheel.n
    turned = _sum([one.made], n)
    planned = _sum([one.planned], n) if isinstance(one.planned, tuple) else None
    read = [visit for visit in visits if getattr(visit, "after_pass", None) == one.number and any(visit.read.values())]
    return MadePass(one.number, turned, planned if planned is not None and (planned != turned).any() else None,
                    read[-1] if read else None)


def _planned_end(received: View | None, passes: Sequence[Pass], job: Job) -> View | None:
    """Where the passes made should have ended, as they were planned, from the wheel as received."""
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
    """Passes kept in a job, followed from a wheel: what each leaves, and the highest tension on its way.

    One that turns both flanges or both ways is told as one for each. None where the wheel would not stand.
    """
    out: list[PlannedPass] = []
    state = start.state
    try:
        for one in passes:
            for kind, parts in rounds(_sum([_intended(one)], start.wheel.n), start.wheel, alike_most=np.inf).items():
                step = take(state, kind, np.sum(parts, axis=0))
                out.append(step.numbered(one.number, target_dish))
                state = step.after
    except Unstable:
        return ()
    return tuple(out)
