"""From a job to a turn plan, or to what stands in its way."""

import math
import time
from dataclasses import replace

import numpy as np

from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.stability import critical_tension
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.estimate import estimate
from wheelsim.readings.suspects import suspects
from wheelsim.truing.bounds import QUANTITIES, Bounds, broken, from_load, measured, resolved
from wheelsim.truing.certainty import standard_deviations, was_read
from wheelsim.truing.passes import order_passes
from wheelsim.truing.plan_result import Blocking, Literal, Plan, total
from wheelsim.truing.predict import as_job
from wheelsim.truing.programme import Programme, Task
from wheelsim.truing.solve import quick, settle, whole_sides
from wheelsim.truing.verdict import verdict_of
from wheelsim.truing.view import view
from wheelsim.truing.ways import compare_ways
from wheelsim.units import turns_text

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
        Standard deviations kept from the limit of everything that was read; default the job's.
    seconds : float, optional
        Longest time; default the job's. [s]

    Returns
    -------
    Plan

    Raises
    ------
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
    job = replace(job, work=work)
    try:
        return _Planner(job, fewest or "hand", to).run()
    except Unstable as error:
        return _no_wheel(job, to, error)


def _no_wheel(job, to, error):
    """The answer where the wheel as it came in has no stable state: none, and why."""
    limits = resolved(job.wheel)
    aims = limits if to == "limits" else resolved(job.wheel, aims=True).tighter_of(limits)
    critical = critical_tension(job.wheel)
    blocking = (Blocking("stability", round(critical, 1), round(job.wheel.tension, 1), "N",
                         f"{error}; it buckles at {critical:.0f} N on the right"),)
    verdict = verdict_of("none", None, None, None, (), limits, blocking)
    return Plan(job.wheel.name, "none", verdict, (), None, None, False, (), None, None, None, blocking, (), (), (), (),
                job.work.step, job.work.target_dish, limits, aims, job.last.label if job.last else "")


class _Planner:
    """One job on its way to a plan."""

    def __init__(self, job, fewest, to):
        self.started = time.monotonic()
        self.fewest, self.to = fewest, to
        self.wheel, self.work, reading = job.wheel, job.work, job.last
        self.read = reading is not None and bool(reading.gauge or reading.lateral or reading.radial or reading.tension)
        self.label = reading.label if reading else ""
        self.limits = resolved(self.wheel)
        self.aims = self.limits if to == "limits" else resolved(self.wheel, aims=True).tighter_of(self.limits)
        self.state = self.before = None
        self.assumed, self.ways, self.doubts = (), (), ()
        found = estimate(job.wheel, reading)
        self.state, self.assumed = found.state, found.assumed
        self.before = view(self.state)
        self.now = measured(self.before, self.work.target_dish)
        self.doubts = suspects(self.wheel, reading, found) if reading else ()
        self._margins(found, reading)
        # Slack spokes are let push in the linear task: it then says what taking them up would do.
        at = self.state
        if at.slack.any():
            at = equilibrium(self.wheel, at.turns, at.own_shape, start=at, push=True)
        self.task = Task(self.state, at, np.zeros(self.wheel.n), self._free(), self.work.step, self.striving, self.hard,
                         self.work.target_dish, self.work.max_turns, self.work.direction == "loosen")

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

    def _margins(self, found, reading):
        """What to strive for and what never to leave, standard deviations of what was read kept from both.

        True, round and spread are never left worse than the larger of the aim and what came in.
        """
        read = was_read(self.wheel, reading)
        sd = {name: value for name, value in standard_deviations(self.wheel, found).items() if read.get(name)}
        if read["gap"] and not read["lateral_runout"] and reading is not None:
            # Unread, the rim is taken as true, and the assumption is told; no turns could make up for it.
            sd["gap"] = 2 * reading.gauge.dish_sd
        keep = self.limits.tightened(sd, self.work.margin)
        self.striving = self.aims.tightened(sd, self.work.margin).tighter_of(keep)
        self.hard = keep
        if self.to == "aims":
            received = {name: max(getattr(self.aims, name), self.now[name])
                        for name in ("lateral_runout", "radial_runout", "side_spread")}
            self.hard = keep.tighter_of(replace(keep, **received))

    def run(self):
        self.ways = compare_ways(self.state, self.task, self.limits)
        wrong = broken(self.now, self.aims)
        if not wrong:
            still = np.zeros(self.wheel.n)
            return self._result("nothing to do", turns=still, after=self.before, proven=True, bound=0.0)
        relaxed = Programme(self.task, "turns").solve(max(self._left(), 1.0), relax=True, strive=True)
        if not relaxed.feasible:
            return self._none()
        found = None
        if self.fewest == "hand" and set(wrong) <= {"gap", "max_tension", "min_tension"}:
            found = self._by_sides(relaxed.turns)
        if found is None:
            found = settle(self.task, self.fewest, self._left(), relaxed.turns)
        if found is None:
            return self._not_found(relaxed, "none in whole steps of "
                                   f"{turns_text(self.work.step)} turn was found in the time")
        if not found.turns.any():
            return self._result("nothing to do", turns=found.turns, after=self.before, proven=found.proven, bound=0.0,
                                unmet=tuple(wrong))
        return self._planned(found, relaxed)

    def _by_sides(self, relaxed):
        """Whole-side passes for a dish, unless they miss the aims where single nipples meet them for less."""
        sides = whole_sides(self.task, self.aims)
        if sides is None or not broken(measured(sides.after, self.work.target_dish), self.aims):
            return sides
        single = quick(self.task, "hand", relaxed, time.monotonic() + min(1.0, self._left()))
        dearer = single is None or single.bound >= sides.bound
        return sides if dearer or broken(measured(single.after, self.work.target_dish), self.aims) else None

    def _planned(self, found, relaxed):
        passes, sound = order_passes(self.state, found.turns, self.limits, self.work.target_dish)
        if not sound:
            return self._not_found(relaxed, "for the turns that would do, no order of passes keeps every spoke within "
                                   "its limits on the way")
        beside = found if self.fewest == "turns" else self._literal(found, relaxed.turns)
        literal = None if beside is None else Literal(beside.turns, beside.after, self._bound(beside), beside.proven)
        bound = literal.bound_turns if literal else self._round_up(relaxed.bound)
        # The last pass ends where the plan does: what it leaves is read off the wheel that was followed.
        after = passes[-1].after
        unmet = tuple(broken(measured(after, self.work.target_dish), self.aims))
        return self._result("proven" if found.proven else "best so far", turns=found.turns, after=after,
                            passes=passes, proven=found.proven, bound=bound, literal=literal, unmet=unmet)

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

    def _not_found(self, relaxed, why):
        return self._result("not found", bound=self._round_up(min(relaxed.bound, np.abs(relaxed.turns).sum())),
                            advice=(f"a plan in fractions of a step exists, but {why}; try more time or a finer step",))

    def _none(self):
        """What stands in the way: the least, in shares of each bound, by which bounds would have to give."""
        task = replace(self.task, aims=self.hard)
        least = Programme(task, "turns").solve(max(self._left(), 5.0), relax=True, without_limits=True)
        blocking = []
        for name, over in least.excess.items():
            words, unit, scale = QUANTITIES[name]
            bound, limit = getattr(self.hard, name), getattr(self.limits, name)
            if over <= 1e-4 * max(abs(bound), 1e-9):
                continue
            needed = bound - over if name == "min_tension" else bound + over
            digits = 0 if unit == "N" else 2
            shown, was, full = (f"{value * scale:.{digits}f} {unit}" for value in (needed, bound, limit))
            tighter = "" if bound == limit else f" (kept here; the limit is {full}: see --margin and --to limits)"
            blocking.append(Blocking(name, round(bound * scale, 4), round(needed * scale, 4), unit,
                                     f"{words} would have to be {shown} instead of {was}{tighter}"))
        return self._result("none", blocking=blocking)

    def _result(self, status, *, turns=None, after=None, passes=(), proven=False, bound=None, literal=None,
                unmet=(), advice=(), blocking=()):
        verdict = verdict_of(status, self.before, after, turns, self.ways, self.limits, blocking,
                             target_dish=self.work.target_dish, unmet=unmet, read=self.read)
        if "from load" in (self.wheel.limits.min_tension, self.wheel.striving.min_tension):
            advice = (*advice, from_load(self.wheel).words)
        return Plan(self.wheel.name, status, verdict, self.ways, turns, bound, proven, tuple(passes), self.before,
                    after, literal, tuple(blocking), tuple(unmet), self.assumed, self.doubts, tuple(advice),
                    self.work.step, self.work.target_dish, self.limits, self.aims, self.label)
