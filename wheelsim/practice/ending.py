"""The learner's work beside the best plan's and the rule-of-thumb mechanic's, and why they differ."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.estimation.estimate import estimate
from wheelsim.job.job import Job, Work
from wheelsim.measures.bounds import Bounds, broken
from wheelsim.measures.on_the_way import RISE_ABOVE, highest_on_the_way, passed_on_the_way
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.plan import plan
from wheelsim.planning.plan_result import Plan
from wheelsim.planning.rule import RuleResult, by_rule
from wheelsim.planning.sides import main_sides
from wheelsim.planning.verdict import verdict_of
from wheelsim.practice.faults import Case
from wheelsim.practice.handed_over import HandedOver
from wheelsim.practice.made import turns_named
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.report.words.planning import plan_advice_words
from wheelsim.report.words.rule import stopped_words
from wheelsim.report.words.shared import spokes_words
from wheelsim.report.words.verdict import verdict_words
from wheelsim.units import MM, QUARTER, rounded, turns_text
from wheelsim.wheel.parts import SIDES, Side, Wheel

PLAN_SECONDS = 5.0  # time of the plan that the learner's work is compared with; own choice
CORRECTIONS = 3  # of the readings in ``exact_job``; own choice: the estimate is then right to a few newtons
# The plan is made for an estimate that is a few newtons off the hidden wheel, so it may end just outside a limit there.
# A second plan keeps this much from each limit; sizes by own choice, meant to cover the estimate's error. [SI]
ALLOWANCE = {Quantity.HIGHEST: 10.0, Quantity.LOWEST: -10.0, Quantity.GAP: 0.05e-3, Quantity.TRUE: 0.02e-3,
             Quantity.ROUND: 0.02e-3, Quantity.SPREAD: 0.01}
FEW = 8  # a plan of no more nipples names them one by one; own choice
ERRORS = ("Your readings had the errors of a bench's tools; the plan and the rule of thumb were given the wheel as it "
          "is.")


@dataclass(frozen=True, eq=False)
class Row:
    """What one of the three did: turns in all [turn], nipples, passes, highest tension on the way [N], what it left."""

    who: str
    total_turns: float
    nipples: int
    passes: int
    peak_tension: float
    values: dict[Quantity, float]
    within: bool

    def as_dict(self) -> dict[str, object]:
        left = {f"{name}_{name.unit.replace('%', 'percent')}": rounded(value * name.per_si, 3)
                for name, value in self.values.items()}
        return {"turns": rounded(self.total_turns, 6), "nipples": self.nipples, "passes": self.passes,
                "peak_tension_N": rounded(self.peak_tension, 1), "within": self.within, **left}


@dataclass(frozen=True, eq=False)
class Ending:
    """How a session ended.

    Attributes
    ----------
    outcome : str
        "within", "passed a limit" or "folded" (right, but for what happened on the way), "outside",
        "rejected" (rightly) or "rejected wrongly".
    received, you, rule : Row
    plan : Row or None
        None where there is none: ``plan_status`` says why.
    why : tuple of str
        Sentences.
    passed, rule_passed : dict of int to float
        Spokes taken above what they may have, by the learner and by the rule, and their highest tension. [N]
    """

    level: str
    seed: int
    outcome: str
    received: Row
    you: Row
    plan: Row | None
    plan_status: str
    rule: Row
    why: tuple[str, ...]
    predictions: int
    predictions_right: int
    predictions_told: int
    amounts_near: int
    amounts_told: int
    hints: int
    folded: int
    passed: dict[int, float]
    rule_passed: dict[int, float]

    @property
    def success(self) -> bool:
        return self.outcome in ("within", "rejected")

    def as_dict(self) -> dict[str, object]:
        return {"level": self.level, "seed": self.seed, "outcome": self.outcome, "success": self.success,
                "received": self.received.as_dict(), "you": self.you.as_dict(),
                "plan": None if self.plan is None else self.plan.as_dict(),
                "plan_status": self.plan_status, "rule": self.rule.as_dict(), "why": list(self.why),
                "predictions": {"made": self.predictions, "told": self.predictions_told,
                                "right": self.predictions_right, "amounts_told": self.amounts_told,
                                "amounts_near": self.amounts_near},
                "hints": self.hints, "folded": self.folded,
                "passed_N": {str(spoke): rounded(tension, 1) for spoke, tension in sorted(self.passed.items())},
                "rule_passed_N": {str(spoke): rounded(tension, 1)
                                  for spoke, tension in sorted(self.rule_passed.items())}}


def exact_job(case: Case) -> Job:
    """A job whose estimate is the hidden wheel itself, to a few newtons.

    The priors draw an estimate toward the usual; the readings are corrected by the estimate's error until it is small.
    """
    state = case.state
    true = [state.lateral, state.radial, state.tension]
    read, dish = list(true), state.dish
    for _ in range(CORRECTIONS if case.mendable else 0):
        found = estimate(case.wheel, _reading(read, dish)).state
        read = [r + t - f for r, t, f in zip(read, true, (found.lateral, found.radial, found.tension), strict=True)]
        dish += state.dish - found.dish
    return Job(case.wheel, (_reading(read, dish),), Work(stuck=case.stuck, margin=0.0, time=PLAN_SECONDS))


def best_plan(case: Case) -> tuple[Plan, Row | None]:
    """A plan to the limits for ``exact_job``, and its row (None where no plan was found).

    It is carried out on the hidden wheel itself. If it ends just outside a limit there or passes one on the way, a plan
    to slightly tighter limits is tried, then one in eighths of a turn. Only the first can be proven the best.
    """
    job, best = exact_job(case), None
    found: Plan | None = None
    less: dict[str, Any] = {name.value: case.limits.of(name) - allowed for name, allowed in ALLOWANCE.items()}
    tighter = replace(case.wheel, limits=replace(case.wheel.limits, **less))
    for wheel, step in ((case.wheel, QUARTER), (tighter, QUARTER), (case.wheel, QUARTER / 2)):
        tried = plan(replace(job, wheel=wheel), to="limits", step=step)
        row, kept = _planned(case, tried, proven=found is None and tried.proven)
        if found is None or (row is not None and (best is None or row.within)):
            found, best = tried, row
        if tried.status == "none" or (row is not None and row.within and kept):
            break
    assert found is not None  # the first is always kept
    return found, best


def _reading(values: list[Floats], dish: float) -> Reading:
    lateral, radial, tension = (tuple((i + 1, float(v)) for i, v in enumerate(one)) for one in values)
    # What the wheel is leaves nothing to doubt: a bend is one, not a false reading.
    stands = frozenset(range(1, len(lateral) + 1))
    return Reading("as it is", Gauge.showing(2 * dish), lateral, radial, tension, read_again=stands)


def ending_of(work: HandedOver, reject: bool) -> Ending:
    """The ending of a session: the work beside the plan's and the rule's."""
    case, limits = work.case, work.limits
    free = np.array([i + 1 not in case.stuck for i in range(case.wheel.n)])
    rule, you = by_rule(case.state, limits, free=free), _yours(work)
    found, best = best_plan(case)
    ends = ("rejected", "rejected wrongly") if reject else ("outside", "within")
    outcome = ends[case.mendable if reject else you.within]
    if outcome in ("within", "rejected") and (work.passed or work.folded):
        outcome = "passed a limit" if work.passed else "folded"
    values = rule.after.values
    his = Row("rule of thumb", rule.total_turns, rule.nipples, rule.times_round, rule.peak_tension, values, rule.within)
    off = [100 * (scale - 1) for scale in work.meter_scale]
    right, left = (f"{abs(one):.0f} % {'high' if one > 0 else 'low'}" for one in off)
    meter = (f"Your meter read some {right} on the right and {left} on the left: the gauge is the better witness of "
             "dish.")
    told = [one.right for one in work.answers if one.right is not None]
    near = [one.near for one in work.answers if one.near is not None]
    why = tuple(line for line in (*_of_yours(work, you, outcome), *_of_the_plan(work, you, outcome, found, best),
                                  *_of_the_rule(rule, his, best, limits),
                                  meter if max(map(abs, off)) > 2 and work.read_with_meter else "", ERRORS) if line)
    came = view(case.state)
    received = Row("as it came", 0.0, 0, 0, came.highest, came.values, not broken(came.values, limits))
    return Ending(case.level.name, case.seed, outcome, received, you, best, found.status, his, why, work.predictions,
                  sum(told), len(told), sum(near), len(near), work.hints, work.folded,
                  dict(work.passed), rule.passed)


def _yours(work: HandedOver) -> Row:
    made = np.array([one.turns for one in work.made]).reshape(len(work.made), work.case.wheel.n)
    values = view(work.state).values
    return Row("you", float(np.abs(made).sum()), int(np.any(made != 0, axis=0).sum()), work.passes, work.peak,
               values, not broken(values, work.limits))


def _planned(case: Case, found: Plan, proven: bool) -> tuple[Row | None, bool]:
    """The plan's row and whether it kept every limit on the way.

    Each pass is carried out on the hidden wheel itself and not on the plan's idea of it.
    """
    if found.turns is None:
        return None, False
    state, peak, kept = case.state, view(case.state).highest, True
    for one in found.passes:
        after = equilibrium(case.wheel, state.turns + one.turns, case.state.own_shape, start=state)
        kept &= not passed_on_the_way(case.state.tension, case.limits.max_tension, state, after, one.turns)
        peak, state = max(peak, float(highest_on_the_way(state, after, one.turns).max())), after
    values = view(state).values
    row = Row("best plan" if proven else "best found", float(np.abs(found.turns).sum()),
              int(np.count_nonzero(found.turns)), len(found.passes), peak, values, not broken(values, case.limits))
    return row, kept


def _of_yours(work: HandedOver, you: Row, outcome: str) -> Iterator[str]:
    limit = work.limits.max_tension
    if work.folded:
        yield (f"The wheel would have folded {work.folded} time{'s' * (work.folded > 1)}: too tight, a rim "
               "buckles however strong its spokes; too loose, nothing holds it. On a bench that wheel is scrap.")
    if work.passed:
        spokes = sorted(work.passed)
        yield (f"On the way {_who(work.case.wheel, spokes)} stood above what is allowed ({_may_have(limit)}). "
               "What that does to the rim at its holes, ending within limits does not mend: loosen first, or take "
               "smaller turns.")
    if outcome == "outside":
        short = ", ".join(name.trade for name in broken(you.values, work.limits))
        yield f"Still outside: {short}."
    if outcome == "rejected wrongly":
        yield "This wheel's rim is straight enough: turning mends it, as the plan shows."
    if outcome == "rejected":
        yield "Rightly handed back: no turns of its nipples bring this wheel within its limits."
    if work.made:
        net = np.sum([one.turns for one in work.made], axis=0)
        undone = you.total_turns - float(np.abs(net).sum())
        if undone > QUARTER:
            yield f"Of your {turns_text(you.total_turns)} turns {turns_text(undone)} took back what others had done."


def _of_the_plan(work: HandedOver, you: Row, outcome: str, found: Plan, best: Row | None) -> Iterator[str]:
    if best is None or found.turns is None:
        yield verdict_words(found.verdict)
        yield from (f"{line[:1].upper()}{line[1:]}." for line in map(plan_advice_words, found.advice))
        return
    if best.nipples <= FEW:
        yield "The plan: " + turns_named(found.turns) + "."
    else:
        yield f"The plan: {_in_its_limits(work.case, found, found.turns)}"
    if best.who != "best plan":
        least = ("" if found.bound_turns is None or found.bound_turns <= 0 or found.step < QUARTER else
                 "; none in quarters takes fewer turns" if found.bound_turns >= best.total_turns else
                 f"; no plan in quarters takes fewer than {turns_text(found.bound_turns)} turns")
        yield f"That is the best found in some seconds, not proven the best there is{least}."
    if not work.made:
        return
    if outcome == "within" and you.total_turns < best.total_turns:
        yield f"Yours took fewer turns than the plan, which keeps to steps of {turns_text(found.step)}."
    elif outcome == "within" and you.total_turns > best.total_turns:
        yield ("The plan stops as soon as every limit is kept; turns that made yours better than its limits are well "
               "spent.")
    yours = _main(work.case.wheel, np.sum([one.turns for one in work.made], axis=0))
    its = _main(work.case.wheel, found.turns)
    if yours != its and yours and its and any(one.whole for one in work.made):
        yield (f"You mainly {_moves(yours)}, the plan {_moves(its)}. "
               + " ".join(_quarter(work.case.state, side, verb) for side, verb in sorted(yours | its)))


def _in_its_limits(case: Case, found: Plan, turns: Turns) -> str:
    """The plan and why, in figures of the hidden wheel and its limits; it may have been made to tighter ones."""
    after = view(equilibrium(case.wheel, case.state.turns + turns, case.state.own_shape, start=case.state))
    ways = tuple(replace(way, outside=tuple(name for name in way.outside
                                            if name in broken(way.after.values, case.limits)))
                 for way in found.ways if way.after is not None)
    return verdict_words(verdict_of(found.status, view(case.state), after, turns, ways, case.limits, ()))


def _main(wheel: Wheel, turns: Turns) -> set[tuple[Side, str]]:
    """The sides that most of the turns went to, as (side, verb) pairs."""
    return {(side, "tighten" if value > 0 else "loosen") for side, value in main_sides(wheel, turns).items()}


def _moves(pairs: set[tuple[Side, str]]) -> str:
    return " and ".join(f"{verb}ed the {side}" for side, verb in sorted(pairs))


def _quarter(state: State, side: Side, verb: str) -> str:
    """What a quarter turn of a side did at the start, in a sentence; empty if the wheel would not stand it."""
    turns = np.zeros(state.wheel.n)
    turns[state.wheel.pulling(side)] = QUARTER if verb == "tighten" else -QUARTER
    try:
        after = view(equilibrium(state.wheel, state.turns + turns, state.own_shape, start=state))
    except Unstable:
        return ""
    before = view(state)
    moved = after.dish - before.dish
    near = before.tighter_side
    rise = after.mean[near] - before.mean[near]
    return (f"A quarter turn, {verb}ing the {side} side, moves the rim {abs(moved) / MM:.2f} mm "
            f"{'right' if moved > 0 else 'left'} and the {near} side's tension by {rise:+z.0f} N.")


def _who(wheel: Wheel, spokes: list[int]) -> str:
    for side in SIDES:
        if spokes == [i + 1 for i in wheel.pulling(side)]:
            return f"every {side} spoke"
    return spokes_words(spokes)


def _may_have(limit: float) -> str:
    return f"{limit:.0f} N, or {RISE_ABOVE:.0f} above where a spoke came in that was over it"


def _of_the_rule(rule: RuleResult, row: Row, best: Row | None, limits: Bounds) -> Iterator[str]:
    if not rule.passes:
        yield f"The rule of thumb turned nothing: {stopped_words(rule)}."
        return
    end = "ended within limits" if rule.within else "did not get it within limits"
    words = f"The rule of thumb {end} after {row.passes} pass{'es' * (row.passes > 1)}: {stopped_words(rule)}."
    if best is not None and rule.within and not rule.passed and rule.total_turns < best.total_turns:
        words += " It took fewer turns than the plan found in its few seconds: that happens where a fault is small."
    if best is not None and rule.total_turns > best.total_turns:
        words += (" It knows which way, but not how much nor what a turn does further round, so it turns, reads, and "
                  "turns back.")
    if rule.passed:
        words += (f" On the way it took {_who(rule.after.state.wheel, sorted(rule.passed))} above what is allowed "
                  f"({_may_have(limits.max_tension)}).")
    yield words
