"""One job on its way to a plan: what to strive for, the search, an order of passes, or what stands in the way."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.estimation.assumed import NewSpokes
from wheelsim.estimation.known import Known
from wheelsim.job.job import STEPS
from wheelsim.measures.bounds import broken, from_load
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import equilibrium, spokes_put_in
from wheelsim.planning.bound import as_good, bound_of, least
from wheelsim.planning.by_hand import NEAR_DISH, firsts, moved, nameable, odd_alone, odd_ones, rim_unread, stages
from wheelsim.planning.goal import ROUGH, few_tensions, goal_of, room
from wheelsim.planning.highs import Watch
from wheelsim.planning.hindrance import Blocking, beyond_turning, held_still, what_blocks
from wheelsim.planning.likeliest import likeliest
from wheelsim.planning.notes import MarginGiven, MarginInTheWay, NotInWholeSteps, PlanAdvice, ReadAgain, off_usual
from wheelsim.planning.order import attempts_for, in_stages, order_passes
from wheelsim.planning.passes import PlannedPass, plain_passes
from wheelsim.planning.plan_result import FewestTurns, Plan, total
from wheelsim.planning.programme import MOST_AT_ONCE, ProgrammeAnswer, grain
from wheelsim.planning.relaxed import relaxation
from wheelsim.planning.singles import names_others
from wheelsim.planning.solve import Settled, improve, nearly_least, quick, search_on, settle
from wheelsim.planning.task import Task
from wheelsim.planning.verdict import GaugeUnread, ReadFirst, RimUnread, Status, ToRead, verdict_of
from wheelsim.planning.ways import Way, compare_ways
from wheelsim.planning.what_first import before_all_passes, true_first
from wheelsim.planning.whole_sides import SIDES_MEND, by_sides
from wheelsim.units import QUARTER

PROMISE_ROUNDS = 4  # of tightening the tension limits by what drawn wheels exceed at the plan's end; own choice
PROMISE_PART = 0.6  # of the effort left, for each of those rounds; own choice
NEARLY = 2.0  # an excess below this counts as kept: it is a hundredth of the drawn wheels or less [N]
# Efforts, in units of about a second: own choice, by the benchmark of jobs.
QUICKLY = 1.0  # a plan made anew, without proof, where no order of passes keeps the way
HEADROOM = (15.0, 40.0, 90.0)  # below the highest tension, until an order of passes keeps it on the way [N]
LEAST_TO_IMPROVE = 1.6  # left, below which branch and bound would not get past its root: then search goes on instead
KEPT_BACK = 0.2  # for the order of passes, so that a plan is there when a short time is up
LEAST_TO_SEARCH = KEPT_BACK + 0.05  # left, below which the search by chance doesn't go on
AGAIN_EFFORT = 0.4  # for it, before branch and bound
AIM_EFFORT = 1.0  # the same where an aim is missed: branch and bound seldom finds what the search doesn't there
MISSED_EFFORT = 0.3  # for it where a plan by hand misses an aim
FINER_EFFORT = 3.0  # for a plan in finer steps, told where there is none in those asked for
LITERAL_EFFORT = 0.2  # for the literal fewest turns beside another plan

InOrder: TypeAlias = tuple[Settled, tuple[PlannedPass, ...]]


class Planner:
    """One job on its way to a plan.

    First a good plan without proof, its passes in an order that keeps the way; then all effort that is left goes into a
    cheaper one, or its proof. Parameters as of ``goal_of``; ``spare``: share of the effort kept while there is no plan.
    """

    def __init__(self, told: Known, fewest: str, to: str, watch: Watch, *, plain_margin: bool = False,
                 spare: float = 0.0) -> None:
        job, found = told.job, told.found
        self.told, self.fewest, self.to = told, fewest, to
        self.whole_watch, self.watch = watch, watch.part(watch.left() * (1 - spare))
        self.work = job.work
        self.read = any(one.read for one in told.log)
        self.label = job.last.label if job.last else ""
        self.gaugeless = bool(told.log) and told.gauge is None
        self.ways: tuple[Way, ...] = ()
        self.alone = False  # whether the plan is one for odd spokes alone
        self.unfound: tuple[Turns | None, bool] = (None, False)  # relaxation; whether only an order is wanting
        self.vain: Task | None = None  # the task in which a search found nothing
        self.by_sides = False  # whether the plan goes by whole sides, with or without a few nipples: no search goes on
        self.state, self.assumed = found.state, found.assumed
        if job.wheel.spokes.missing:
            self.state = spokes_put_in(found.state)
            self.assumed += (NewSpokes(tuple(sorted(job.wheel.spokes.missing))),)
        self.wheel = self.state.wheel
        self.before = view(self.state, self.work.target_dish)
        self.now = self.before.values
        goal = goal_of(told, self.before, fewest, to, plain_margin=plain_margin)
        self.limits, self.aims, self.keep = goal.limits, goal.aims, goal.keep
        self.promise, self.unseen, self.striving, self.hard = goal.promise, goal.unseen, goal.striving, goal.hard
        self.first = before_all_passes(told, self.before, self.limits)
        self.wobble = true_first(told, found.state)
        self.odd = odd_ones(told, self.before) if fewest == "hand" and told.log else ()
        self.may = nameable(told, self.odd) if fewest == "hand" else None
        # Slack spokes may push in the linear task, so that its slopes say what taking them up would do.
        at = self.state
        if at.slack.any():
            at = equilibrium(self.wheel, at.turns, at.own_shape, start=at, push=True)
        self.task = Task(self.state, at, np.zeros(self.wheel.n), *room(job), self.work.step, goal.striving, goal.hard,
                         self.work.target_dish, self.may)

    def run(self) -> Plan:
        if self.gaugeless:
            # Nothing else tells the dish: turns for it, or a verdict that it is right, would be a guess.
            return self._to_be_read(GaugeUnread())
        if first := self.told.read_first:
            return self._to_be_read(ReadFirst(first))
        self.ways = compare_ways(self.state, self.task, self.limits)
        # Nothing is turned for the margin's sake alone: it is kept by what is turned for something else.
        wrong = sorted({*broken(self.now, self.aims), *broken(self.now, self.limits)} - self.unseen)
        alone = odd_alone(self.task, self.odd, self.limits, self.unseen)
        if alone is not None and self._kept_on_the_way(alone) is not None:
            self.alone, self.ways = True, ()  # nothing is added to it: the wheel is read again first
            return self._planned(alone, None)
        once = self.wobble.once if self.wobble else 0.0
        if (self.fewest == "hand" or not wrong) and rim_unread(self.told, self.before, once, all_else_right=not wrong):
            return self._to_be_read(RimUnread(self.before.true, self.limits.lateral_runout, once))
        if not wrong:
            return self._result("nothing to do", turns=np.zeros(self.wheel.n), after=self.before, proven=True,
                                bound=0.0)
        relaxed, self.task = relaxation(self.task, self.aims, self.watch)
        if not relaxed.feasible:
            blocking = what_blocks(self.task, self.limits, self.watch)
            return self._result("none", blocking=blocking, advice=(
                *self._but_for_the_margin(), *held_still(self.task, self.work, self.watch),
                *beyond_turning(self.state, self.limits)))
        found = self._found(wrong, relaxed)
        if found is None:
            return self._not_found(relaxed.turns)
        if not found.turns.any():
            return self._result("nothing to do", turns=found.turns, after=self.before, proven=found.proven, bound=0.0,
                                unmet=tuple(wrong))
        return self._planned(found, relaxed.turns)

    def _to_be_read(self, unread: ToRead) -> Plan:
        return self._result("nothing to do", turns=np.zeros(self.wheel.n), after=self.before, bound=0.0, unread=unread)

    def _found(self, wrong: Sequence[str], relaxed: ProgrammeAnswer) -> Settled | None:
        """A first plan that keeps the promise at its end: by whole sides, by the quick search, else by all means."""
        sides_only = self.may is not None and not self.may.any()
        # Tension far off is mended first, by whole sides; true, round and spread after it, if within their limits.
        far_off = set(wrong) & {Quantity.OFF_USUAL, Quantity.HIGHEST, Quantity.LOWEST}
        waits = sides_only or (far_off and not set(broken(self.now, self.limits)) & set(ROUGH))
        later = frozenset(ROUGH) if waits else frozenset()
        if self.fewest == "hand" and (waits or set(wrong) <= SIDES_MEND
                                      or (self.may is not None and Quantity.TRUE in self.unseen)):
            sides = self._promised(lambda task, watch: by_sides(
                task, self.aims, self.before, relaxed.turns, watch, self.unseen, later,
                tensions_read=self.told.read[Quantity.HIGHEST]))
            if sides is not None:
                self.by_sides = True
            if sides is not None or sides_only:
                return sides  # all turns of sides were counted
        single = self._promised(lambda task, watch: quick(task, self.fewest, relaxed.turns, watch))
        if single is None or names_others(single.turns, self.task):
            single = self._promised(lambda task, watch: settle(task, self.fewest, watch, relaxed.turns,
                                                               searched=task is self.vain))
        return None if single is None or names_others(single.turns, self.task) else single

    def _promised(self, search: Callable[[Task, Watch], Settled | None]) -> Settled | None:
        """A plan that leaves as many of the drawn wheels within their tension limits as the margin promises, or None.

        What must be kept hangs on how many spokes end near the highest, so it is looked at where the plan ends.
        """
        share, found, task = PROMISE_PART if self.promise.margin > 0 else 1.0, None, self.task
        for _ in range(PROMISE_ROUNDS):
            found = search(self.task, self.watch.part(self.watch.left() * share))
            if found is None:
                self.vain, self.task = self.task, task  # tightened for this search, not for another
            if found is None or not found.turns.any():
                break
            above, below = self.promise.short(found.after.state.tension, self.limits)
            if max(above, below) < NEARLY:
                break
            aims, hard = (replace(bounds, max_tension=bounds.max_tension - above,
                                  min_tension=bounds.min_tension + below)
                          for bounds in (self.task.aims, self.task.hard))
            self.task = replace(self.task, aims=aims, hard=hard)
        return found

    def _planned(self, found: Settled, relaxed: Turns | None) -> Plan:
        first = self._in_order(found, relaxed)
        if first is not None:
            self.watch = self.whole_watch  # a plan is in hand: nothing need be left for another kind of it
        better = self._improved(found)
        if better is not None:
            if first is None:
                then = self._in_order(better, relaxed)
            elif np.allclose(better.turns, first[0].turns):
                then = better, first[1]
            else:
                then = self._kept_on_the_way(better)
            first = self._cheapest(first, then, better)
        if first is None:
            return self._not_found(relaxed, no_order=True)
        found, passes = self._likeliest(*first)
        beside = found if self.fewest == "turns" else as_good(self.task, self.striving, self.hard, found, relaxed,
                                                              self.watch.part(LITERAL_EFFORT))
        literal = None
        if beside is not None:
            count = len(passes) if beside is found else len(plain_passes(beside.turns, self.wheel))
            at_least = bound_of(self.task, self.hard, self.watch, beside)
            literal = FewestTurns(beside.turns, beside.after, at_least, beside.proven, count)
        bound = literal.bound_turns if literal else least(self.task, self.hard, self.watch, found)
        # The bound holds a thousandth of the turns too, to break ties between as many passes.
        if self.fewest == "passes" and len(passes) > math.ceil(found.bound - 0.25):
            found = replace(found, proven=False)  # keeping the limits on the way took more passes than the bound
        # What the plan leaves is the nonlinear state after its last pass.
        after = passes[-1].after
        unmet = tuple(name for name in broken(after.values, self.aims) if name not in self.unseen)
        given = self.promise.given_up(after.state.tension, self.limits) if few_tensions(self.told) else 0.0
        advice: tuple[PlanAdvice, ...] = (MarginGiven(given),) if given > NEARLY else ()
        if self.fewest == "hand":
            advice += off_usual(self.before, after, self.aims)
        return self._result("proven" if found.proven else "best so far", turns=found.turns, after=after,
                            passes=passes, proven=found.proven, bound=bound, literal=literal, unmet=unmet,
                            advice=advice)

    def _improved(self, found: Settled) -> Settled | None:
        """What more search makes of a plan, that keeps the promise too; None where none is due or none was found.

        By hand a proof is mostly out of reach, and of no use: there the quick search goes on where an aim is missed.
        """
        if found.proven or self.by_sides or self.alone or self.watch.left() < LEAST_TO_SEARCH:
            return None
        enough = self.watch.left() >= LEAST_TO_IMPROVE
        if self.fewest == "hand" and not (enough and nearly_least(self.task, self.fewest, self.watch, found)):
            if not enough or not broken(found.after.values, self.task.aims):
                return None
            return self._promised(lambda task, watch: search_on(task, self.fewest, watch.part(MISSED_EFFORT), found))
        if not enough:
            more = search_on(self.task, self.fewest, self.watch.part(self.watch.left() - KEPT_BACK), found)
            return more if max(self.promise.short(more.after.state.tension, self.limits)) < NEARLY else None
        if self.fewest != "hand":
            missed = bool(broken(found.after.values, self.task.aims))
            found = search_on(self.task, self.fewest, self.watch.part(AIM_EFFORT if missed else AGAIN_EFFORT), found)
        return self._promised(lambda task, watch: improve(task, self.fewest, watch, found))

    def _likeliest(self, found: Settled, passes: tuple[PlannedPass, ...]) -> InOrder:
        """The plan, or a likelier one: by hand a step more may be spent on it, by count alone nothing."""
        if self.by_sides or self.alone or self.fewest not in ("hand", "turns") or not self.read:
            return found, passes
        dearer = self.work.step if self.fewest == "hand" else 0.0
        other = likeliest(self.task, self.fewest, found, self.told.found, self.limits, dearer)
        if other is found or max(self.promise.short(other.after.state.tension, self.limits)) >= NEARLY:
            return found, passes
        in_order, sound = self._ordered(other.turns)
        return (other, in_order) if sound else (found, passes)

    def _in_order(self, found: Settled, relaxed: Turns | None) -> InOrder | None:
        """A plan and its passes in an order that keeps the way: this plan, or one that ends somewhat lower; or None."""
        kept = self._kept_on_the_way(found)
        if kept is not None:
            return kept
        for lower in HEADROOM:
            # On the way a spoke peaks above where it ends: one that ends lower may have an order that keeps the limit.
            aims, hard = (replace(bounds, max_tension=self.keep.max_tension - lower).tighter_of(bounds)
                          for bounds in (self.task.aims, self.task.hard))
            other = quick(replace(self.task, aims=aims, hard=hard), self.fewest, relaxed,
                          self.watch.part(QUICKLY))
            named = other is not None and names_others(other.turns, self.task)
            kept = None if other is None or named else self._kept_on_the_way(other)
            if kept is not None:
                bound, self.by_sides = 0.0 if self.by_sides else found.bound, False
                return replace(kept[0], bound=bound), kept[1]
        passes, sound = self._ordered(found.turns, eased=True)
        return (found, passes) if sound else None

    def _kept_on_the_way(self, found: Settled) -> InOrder | None:
        """The cheapest of the plans found on the way to this one, itself the first, that has an order of passes."""
        for one in (found, *found.dearer):
            passes, sound = self._ordered(one.turns)
            if sound:
                return one, passes
        return None

    def _cheapest(self, first: InOrder | None, then: InOrder | None, better: Settled) -> InOrder | None:
        """The cheaper of two plans with their passes, by what was proven of the cheapest in any order."""
        both = [one for one in (then, first) if one is not None]
        if not both:
            return None
        best, passes = min(both, key=lambda one: one[0].price)
        # A plan that costs as little as one that nothing undercuts is as good.
        proven = better.proven and best.price < better.price + grain(self.fewest, self.work.step) / 2
        return replace(best, proven=proven, bound=better.bound), passes

    def _ordered(self, turns: Turns, *, eased: bool = False) -> tuple[tuple[PlannedPass, ...], bool]:
        """Passes, and whether they keep the way; the fewest times round where that is asked."""
        most = MOST_AT_ONCE if self.fewest == "passes" else QUARTER
        true_first = self.fewest == "hand" and self.wobble is not None
        parts, sides_last = stages(turns, self.wheel, self.odd, true_first=true_first)
        seconds, dish = self.watch.seconds_left(), self.work.target_dish
        found = None if eased or len(parts) <= 1 else in_stages(
            self.state, parts, self.limits, dish, alike_most=most, seconds=seconds, promise=self.promise,
            gauge_again=sides_last)
        # What trues the rim before the sides must not leave it worse than it came in.
        if found and any(one.gauge_again and one.after.true > self.before.true for one in found):
            found = None
        passes, sound = (found, True) if found else order_passes(
            self.state, turns, self.limits, dish, alike_most=most, seconds=seconds, promise=self.promise,
            ease=(eased,), attempts=attempts_for(self.watch.left()))
        if not found and self.fewest == "hand" and self.wobble and len(passes) > 1 and not self.alone:
            passes = (replace(passes[0], gauge_again=moved(passes) > 2 * NEAR_DISH), *passes[1:])
        # Numbered after those made, as they will stand in the job.
        made = max((one.number for one in self.told.job.passes if one.turns is not None), default=0)
        return tuple(replace(one, number=one.number + made) for one in passes), sound

    def _not_found(self, relaxed: Turns | None, *, no_order: bool = False) -> Plan:
        self.unfound = relaxed, no_order
        return self._result("not found", bound=least(self.task, self.hard, self.watch))

    def why_not_found(self) -> Plan:
        """After ``run`` has found no plan: the same with what stands in the way, and what would do."""
        relaxed, no_order = self.unfound
        finer = self.work.step / 2
        advice = NotInWholeSteps(self.work.step, no_order)
        if finer in STEPS:
            found = settle(replace(self.task, step=finer), "turns", self.watch.part(FINER_EFFORT), relaxed)
            if found is not None and self._ordered(found.turns)[1]:
                advice = replace(advice, finer=finer, finer_turns=total(found.turns))
        return self._result("not found", bound=least(self.task, self.hard, self.watch),
                            advice=(advice, *self._but_for_the_margin(), *held_still(self.task, self.work, self.watch),
                                    *beyond_turning(self.state, self.limits)))

    def _but_for_the_margin(self) -> tuple[MarginInTheWay, ...]:
        """Told where turns would do if nothing were kept from the limits for what the readings leave unsure."""
        if self.limits.max_tension - self.keep.max_tension < NEARLY:
            return ()  # nothing is kept
        bare = Planner(self.told.with_work(replace(self.work, margin=0.0)), self.fewest, self.to, self.watch.part(1.0))
        if not relaxation(bare.task, bare.aims, bare.watch)[0].feasible:
            return ()
        return (MarginInTheWay(self.limits.max_tension - self.keep.max_tension),)

    def _result(self, status: Status, *, turns: Turns | None = None, after: View | None = None,
                passes: tuple[PlannedPass, ...] = (), proven: bool = False, bound: float | None = None,
                literal: FewestTurns | None = None, unmet: Sequence[Quantity] = (), advice: tuple[PlanAdvice, ...] = (),
                blocking: tuple[Blocking, ...] = (), unread: ToRead | None = None) -> Plan:
        verdict = verdict_of(status, self.before, after, turns, self.ways, self.limits, blocking,
                             unmet=unmet, read=self.read, aims=self.aims, unread=unread,
                             first=passes[0].side if passes else "right")
        if self.alone:
            advice = (ReadAgain(self.odd), *advice)
        if "from load" in (self.wheel.limits.min_tension, self.wheel.striving.min_tension):
            advice = (*advice, from_load(self.wheel))
        return Plan(wheel=self.wheel.name, status=status, verdict=verdict, ways=self.ways, turns=turns,
                    bound_turns=bound, proven=proven, passes=passes, before=self.before, after=after, literal=literal,
                    blocking=blocking, unmet=tuple(unmet), assumed=self.assumed, suspects=self.told.doubts,
                    advice=advice, step=self.work.step, target_dish=self.work.target_dish, limits=self.limits,
                    aims=self.aims, label=self.label, found=self.told.found, read_first=self.told.read_first,
                    first=firsts(self.first, passes, gaugeless=self.gaugeless))
