"""From a job to a turn plan, or to what stands in its way."""

import math
import time
from dataclasses import replace

import numpy as np

from wheelsim.readings.estimate import estimate
from wheelsim.truing.bounds import QUANTITIES, Bounds, broken, measured, resolved
from wheelsim.truing.passes import order_passes
from wheelsim.truing.plan_result import Blocking, Literal, Plan, total
from wheelsim.truing.predict import as_job
from wheelsim.truing.programme import Programme, Task
from wheelsim.truing.solve import settle, whole_sides
from wheelsim.truing.verdict import verdict_of
from wheelsim.truing.view import view
from wheelsim.truing.ways import compare_ways

FEWEST = ("hand", "turns", "nipples", "passes")
LITERAL_SECONDS = 4.0  # for the literal fewest turns beside another plan


def plan(subject, *, fewest=None, to="aims", step=None, margin=None, seconds=None):
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
        Standard deviations of the gap's reading kept from its limit; default the job's.
    seconds : float, optional
        Longest time; default the job's. [s]

    Returns
    -------
    Plan

    Raises
    ------
    Unstable
        When the wheel as read has no stable equilibrium.
    ValueError
        For an unknown word.
    """
    if fewest not in (None, *FEWEST):
        raise ValueError(f"fewest: {fewest!r}; expected turns, nipples or passes")
    if to not in ("aims", "limits"):
        raise ValueError(f"to: {to!r}; expected aims or limits")
    job = as_job(subject)
    changes = {"step": step, "margin": margin, "time": seconds}
    work = replace(job.work, **{k: v for k, v in changes.items() if v is not None})
    return _Planner(replace(job, work=work), fewest or "hand", to).run()


class _Planner:
    """One job on its way to a plan."""

    def __init__(self, job, fewest, to):
        self.started = time.monotonic()
        self.fewest, self.to = fewest, to
        self.wheel, self.work, self.read = job.wheel, job.work, job.last is not None
        self.label = job.last.label if self.read else ""
        found = estimate(job.wheel, job.last)
        self.state, self.assumed = found.state, found.assumed
        self.before = view(self.state)
        self._bounds(job.last)
        self.task = Task(self.state, self.state, np.zeros(self.wheel.n), self._free(), self.work.step, self.striving,
                         self.hard, self.work.target_dish, self.work.max_turns, self.work.direction == "loosen")

    def _left(self):
        return self.work.time - (time.monotonic() - self.started)

    def _free(self):
        spokes = self.wheel.spokes
        free = np.ones(self.wheel.n, dtype=bool)
        free[[i - 1 for i in self.work.untouched | spokes.missing]] = False
        if self.work.sides != "both":
            other = "left" if self.work.sides == "right" else "right"
            free[self.wheel.on_side(other)] = False
        return free

    def _bounds(self, reading):
        """Limits and aims as they are; and with the margin kept, what to strive for and never to leave.

        True, round and spread are never left worse than the larger of the aim and what came in.
        """
        self.limits = resolved(self.wheel)
        self.aims = self.limits if self.to == "limits" else resolved(self.wheel, aims=True)
        sd = {"gap": 2 * reading.gauge.dish_sd} if reading is not None and reading.gauge is not None else {}
        keep = self.limits.tightened(sd, self.work.margin)
        self.striving = self.aims.tightened(sd, self.work.margin).tighter_of(keep)
        self.hard = keep
        if self.to == "aims":
            now = measured(self.before, self.work.target_dish)
            received = {name: max(getattr(self.striving, name), now[name])
                        for name in ("lateral_runout", "radial_runout", "side_spread")}
            self.hard = keep.tighter_of(replace(keep, **received))

    def run(self):
        self.ways = compare_ways(self.state, self.task, self.limits)
        wrong = broken(measured(self.before, self.work.target_dish), self.aims)
        if not wrong:
            still = np.zeros(self.wheel.n)
            return self._result("nothing to do", turns=still, after=self.before, proven=True, bound=0.0)
        relaxed = Programme(self.task, "turns").solve(max(self._left(), 1.0), relax=True, strive=True)
        if not relaxed.feasible:
            return self._none()
        found = None
        if self.fewest == "hand" and set(wrong) <= {"gap", "max_tension", "min_tension"}:
            found = whole_sides(self.task, self.aims)
        if found is None:
            found = settle(self.task, self.fewest, self._left(), relaxed.turns)
        if found is None:
            return self._not_found(relaxed)
        if not found.turns.any():
            return self._result("nothing to do", turns=found.turns, after=self.before, proven=found.proven, bound=0.0,
                                unmet=tuple(wrong))
        return self._planned(found, relaxed)

    def _planned(self, found, relaxed):
        beside = found if self.fewest == "turns" else self._literal(found, relaxed.turns)
        literal = None if beside is None else Literal(
            beside.turns, beside.after, self._bound(beside), beside.proven)
        passes, sound = order_passes(self.state, found.turns, self.limits, self.work.target_dish)
        advice = () if sound else ("no order of passes keeps every spoke within its limits on the way; go in "
                                   "sixteenths and watch the highest spokes",)
        bound = literal.bound_turns if literal else self._round_up(relaxed.bound)
        # The last pass ends where the plan does: what it leaves is read off the wheel that was followed.
        after = passes[-1].after if passes else found.after
        unmet = tuple(broken(measured(after, self.work.target_dish), self.aims))
        return self._result("proven" if found.proven else "best so far", turns=found.turns, after=after,
                            passes=passes, proven=found.proven, bound=bound, literal=literal, unmet=unmet,
                            advice=advice)

    def _literal(self, plan, relaxed):
        """Literal fewest turns that leave the wheel as good as the plan does, in what time is left for it."""
        reached = {name: (min if name == "min_tension" else max)(getattr(self.striving, name), value)
                   for name, value in measured(plan.after, self.work.target_dish).items()}
        aims = self.hard.tighter_of(Bounds(**reached))
        seconds = min(LITERAL_SECONDS, max(self._left(), 0.5))
        return settle(replace(self.task, aims=aims), "turns", seconds, relaxed, plan.turns)

    def _bound(self, found):
        """No plan as good takes fewer turns: whole steps, so rounded up."""
        return total(found.turns) if found.proven else self._round_up(min(found.bound, total(found.turns)))

    def _round_up(self, turns):
        return math.ceil(max(turns, 0.0) / self.work.step - 1e-6) * self.work.step

    def _not_found(self, relaxed):
        return self._result("not found", bound=self._round_up(relaxed.bound), advice=(
            f"a plan in fractions of a step exists, but none in whole steps of {self.work.step:g} turn was found; "
            "try a finer step",))

    def _none(self):
        """What stands in the way: the least, in shares of each limit, by which limits would have to give."""
        task = replace(self.task, aims=self.hard)
        least = Programme(task, "turns").solve(max(self._left(), 5.0), relax=True, without_limits=True)
        blocking = []
        for name, over in least.excess.items():
            words, unit, scale = QUANTITIES[name]
            limit = getattr(self.hard, name)
            if over > 1e-6 * max(abs(limit), 1e-9):
                needed = limit - over if name == "min_tension" else limit + over
                shown, was = (f"{value * scale:.{0 if unit == 'N' else 2}f} {unit}" for value in (needed, limit))
                kept = getattr(self.limits, name) != limit
                blocking.append(Blocking(name, round(limit * scale, 4), round(needed * scale, 4), unit,
                                         f"{words} would have to be {shown} instead of {was}"
                                         + " (the limit less the margin kept)" * kept))
        return self._result("none", blocking=blocking)

    def _result(self, status, *, turns=None, after=None, passes=(), proven=False, bound=None, literal=None,
                unmet=(), advice=(), blocking=()):
        verdict = verdict_of(status, self.before, after, turns, self.ways, self.limits, blocking, unmet, self.read)
        return Plan(self.wheel.name, status, verdict, self.ways, turns, bound, proven, tuple(passes), self.before,
                    after, literal, tuple(blocking), tuple(unmet), self.assumed, tuple(advice), self.work.step,
                    self.work.target_dish, self.limits, self.aims, self.label)
