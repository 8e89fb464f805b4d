"""Whole-step turns for a task, found quickly, then improved or proven, on the wheel as it really moves."""

import math
from dataclasses import dataclass, replace
from typing import TypeAlias, TypeGuard

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.measures.bounds import Bounds, broken
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.dive import dives
from wheelsim.planning.highs import Watch
from wheelsim.planning.narrow import halves, narrowed, solve_both
from wheelsim.planning.programme import Programme, ProgrammeAnswer
from wheelsim.planning.refused import cuts_of
from wheelsim.planning.score import Scorer
from wheelsim.planning.search import Neighbours, first_answer
from wheelsim.planning.task import Cut, Task

MOST_ROUNDS = 6  # of linearising anew where the plan ends, by the quick search
MOST_BETTER = 60  # of plans, each cheaper than the last or refused by the nonlinear wheel, on the way to the proof
# Efforts, in units of about a second: own choice, by the benchmark of jobs.
QUICK_EFFORT = 0.2  # of the heuristic search before branch and bound
QUICK_PART = 0.6  # of the effort there is, at most
AT_LENGTH = 1.5  # of that search where it found nothing
LITTLE, MOST_PART = 1.6, 0.9  # effort left below which that search has this part of it
LEAST_EFFORT = 0.1  # of the same about each state where it is linearised anew
ALONE_EFFORT = 1.5  # of branch and bound before it is halved for two threads: most jobs are done by then
ELSEWHERE = 0.1  # of the effort goes into starts from elsewhere, where branch and bound hasn't ended alone; own choice
NEARLY_LEAST = 1.0  # turns above the relaxation below which a proof is likely to be short; own choice
DIVES = 4  # into the relaxation, for starts of that search; own choice
DIVE_EFFORT = 0.1  # at most, of all of them: they take half of it
Best: TypeAlias = tuple[Turns, State, float]  # turns, the wheel after them, score
SAME = 1e-6  # prices no further apart are one: rounding [turn]
ALIKE = 2e-3  # prices of plans that miss an aim count as equal below this difference [turn]; own choice


@dataclass(frozen=True, eq=False)
class Settled:
    """Turns (n,) that keep the hard bounds on the nonlinear wheel.

    ``price`` is what they cost, aims missed among it, in the measure asked for. ``bound`` is a proven lower bound on
    the price of any that meets the aims; nought where nothing is known of it or the aims are out of reach. ``dearer``
    are plans found on the way to this one, the cheapest first.
    """

    turns: Turns
    after: View
    price: float
    proven: bool = False
    bound: float = 0.0
    dearer: "tuple[Settled, ...]" = ()


def exactly_after(start: State, turns: Turns) -> State | None:
    """The nonlinear wheel after turns (n,) from a state, or None where it has no stable answer."""
    try:
        after: State = equilibrium(start.wheel, start.turns + turns, start.own_shape, start=start)
    except Unstable:
        return None
    return after


def keeps(state: State | None, bounds: Bounds, target_dish: float) -> TypeGuard[State]:
    """Whether a state (or None) lies within bounds."""
    return state is not None and not broken(view(state, target_dish).values, bounds)


def settle(task: Task, fewest: str, watch: Watch, relaxed: Turns | None, known: Turns | None = None, *,
           searched: bool = False) -> Settled | None:
    """The best whole-step turns found: Settled, or None; never worse than ``known`` turns (n,) that keep the bounds.

    First the quick search, linearised anew where its answer takes the wheel until that stands, unless it was
    ``searched`` already in vain; then the programme, which finds something cheaper or proves that there is nothing.
    """
    best: Best | None = None
    if not searched:
        # With a plan known, starts from it, from whole sides and from roundings do as well (measured).
        best, task = _quick(task, fewest, relaxed, watch, _first_part(watch), known, dive=known is None)
    if best is None:
        # Branch and bound takes ten times as long to a first answer as the search does, where that has one (measured).
        # With little effort left branch and bound finds nothing better either.
        share = MOST_PART if fewest != "hand" and watch.left() < LITTLE else QUICK_PART
        best, task = _quick(task, fewest, relaxed if searched else None, watch,
                            watch.part(min(AT_LENGTH, share * watch.left())), None, seed=1, dive=searched)
    return _improved(task, fewest, watch, best)


def improve(task: Task, fewest: str, watch: Watch, found: Settled) -> Settled | None:
    """The same or a cheaper plan, by the programme alone; with the proof that nothing is cheaper, or a bound.

    None where the plan doesn't keep the task's hard bounds, and nothing that does was found.
    """
    return _improved(task, fewest, watch, _best(task, fewest, found))


def search_on(task: Task, fewest: str, watch: Watch, found: Settled) -> Settled:
    """The same or a cheaper plan, by more of the quick search: all of a watch's effort, without proof."""
    best, _ = _quick(task, fewest, None, watch, watch, found.turns, seed=1)
    return found if best is None else Settled(best[0], view(best[1], task.target_dish), best[2])


def nearly_least(task: Task, fewest: str, watch: Watch, found: Settled) -> bool:
    """Whether a plan that meets the aims costs so little more than the relaxation that a proof may be short."""
    if not keeps(found.after.state, task.aims, task.target_dish):
        return False
    there = replace(task, state=found.after.state, turned=found.turns)
    relaxed = Programme(there, fewest).solve(watch, relax=True)
    return relaxed.bound is not None and found.price - relaxed.bound < NEARLY_LEAST


def _best(task: Task, fewest: str, found: Settled) -> Best | None:
    state = found.after.state
    if not keeps(state, task.hard, task.target_dish):
        return None
    return found.turns, state, _score(found.turns, state, task, fewest)


def _improved(task: Task, fewest: str, watch: Watch, best: Best | None) -> Settled | None:
    watch.tell(None if best is None else best[2], 0.0)
    bound, proven = 0.0, False
    cuts: tuple[Cut, ...] = ()
    dearer: list[Settled] = []
    elsewhere = watch.part(ELSEWHERE * watch.left())
    for _ in range(MOST_BETTER):
        if best is not None:
            # Evened before it is proven: a proof counts only about the state where the plan ends.
            best = _evened(task, fewest, best, watch)
            task = replace(task, state=best[1], turned=best[0])
        if not watch.left():
            break
        met = best is not None and keeps(best[1], task.aims, task.target_dish)
        if best is not None and met:
            said = _cheaper(task, fewest, watch, best, cuts, elsewhere)
        else:
            said = _nearer(task, fewest, watch, best, cuts)
        answer, bound, proven = _without_cuts(said, task, fewest, watch) if cuts else said
        if answer is None or proven:
            break
        state = exactly_after(task.start, answer)
        if state is None:
            break
        kept = task.aims if met else task.hard
        if keeps(state, kept, task.target_dish):
            score = _score(answer, state, task, fewest)
            if best is not None and score > best[2] - SAME:
                break
            if best is not None:
                dearer.insert(0, Settled(best[0], view(best[1], task.target_dish), best[2]))
            # All is linear about another state now, where what was refused may be refused as it is.
            best, cuts, bound = (answer, state, score), (), 0.0
            continue
        refused = cuts_of(task, state, answer, kept)
        if not refused:
            break
        cuts += refused
        if best is None:
            task = replace(task, state=state, turned=answer)
    if best is None:
        return None
    at_aims = keeps(best[1], task.aims, task.target_dish)
    return Settled(best[0], view(best[1], task.target_dish), best[2], proven, bound if at_aims else 0.0,
                   tuple(dearer))


def _evened(task: Task, fewest: str, best: Best, watch: Watch) -> Best:
    """The same price spent so that it leaves the wheel evener and truer, where exchanges of nipples find that."""
    scorer = Scorer(replace(task, state=best[1], turned=best[0]), fewest)
    turns, _ = Neighbours(scorer).descend(best[0], watch)
    state = exactly_after(task.start, turns)
    score = np.inf if state is None else _score(turns, state, task, fewest)
    return (turns, state, score) if score < best[2] and keeps(state, task.hard, task.target_dish) else best


def _first_part(watch: Watch) -> Watch:
    """The part of the effort for a first answer."""
    return watch.part(min(QUICK_EFFORT, QUICK_PART * watch.left()))


def _quick(task: Task, fewest: str, relaxed: Turns | None, watch: Watch, whole: Watch, known: Turns | None,
           seed: int = 0, *, dive: bool = False) -> tuple[Best | None, Task]:
    """Search and linearise anew until the effort of ``whole`` is spent: the best found, or None, and the task there."""
    best = None
    if known is not None:
        state = exactly_after(task.start, known)
        if keeps(state, task.hard, task.target_dish):
            best = (known, state, _score(known, state, task, fewest))
    kicks, start = False, relaxed
    beside = [] if known is None else [known]
    if dive and relaxed is not None:
        beside += _dives(task, whole)
    for _ in range(MOST_ROUNDS):
        part = whole if whole.left() > LEAST_EFFORT else watch.part(LEAST_EFFORT)
        turns, _ = first_answer(Scorer(task, fewest), start, part, beside=beside, kicks=kicks, seed=seed)
        state = exactly_after(task.start, turns)
        if state is None:
            break
        score = _score(turns, state, task, fewest)
        if keeps(state, task.hard, task.target_dish) and (best is None or score < best[2] - SAME):
            best = (turns, state, score)
        if watch.left() <= 0 or (kicks and np.allclose(task.turned, turns)):
            break
        # Local search goes on only once the linear model is taken about the state where the answer ends.
        kicks, beside = True, []
        task = replace(task, state=state, turned=turns)
        start = turns
    if best is not None:
        task = replace(task, state=best[1], turned=best[0])
    return best, task


def _dives(task: Task, watch: Watch) -> list[Turns]:
    """Whole steps near the relaxation, to start the search from; none where no fractions of a step meet the aims."""
    found = dives(Programme(task, "turns"), watch.part(DIVE_EFFORT), DIVES)
    return [np.clip(turns, task.lowest, task.highest) for turns in found]


def quick(task: Task, fewest: str, relaxed: Turns | None, watch: Watch) -> Settled | None:
    """A good answer without proof, or None."""
    best, task = _quick(task, fewest, relaxed, watch, _first_part(watch), None, dive=fewest != "hand")
    if best is None:
        return None
    best = _evened(task, fewest, best, watch)
    return Settled(best[0], view(best[1], task.target_dish), best[2])


Cheapest: TypeAlias = tuple[Turns | None, float, bool]  # turns, a bound on the price of any, whether the best is proven


def _cheaper(task: Task, fewest: str, watch: Watch, best: Best, cuts: tuple[Cut, ...], elsewhere: Watch) -> Cheapest:
    """Turns that meet the aims for less than the best plan does, about the state where that ends.

    A proof counts only there, where the linear wheel is the real one. ``elsewhere``: for starts from elsewhere, in all
    rounds together.
    """
    programme = Programme(task, fewest, cuts)
    ceiling = best[2] - programme.grain() + SAME
    narrow = narrowed(programme, ceiling, watch)
    if narrow is None:
        return None, best[2], True
    # At the first cheaper answer all starts again about the state where that ends, with a lower ceiling: what each
    # nipple may be turned by is narrower then, which is worth more than the tree so far.
    parts: tuple[Programme, ...] = (narrow,)
    answers = [narrow.solve(watch.part(ALONE_EFFORT), ceiling=ceiling, best=best[2], first=True)]
    if answers[0].feasible and answers[0].turns is None and watch.left():
        other = _from_elsewhere(task, fewest, elsewhere, best)
        if other is not None:
            return other, 0.0, False
        both = halves(narrow, ceiling, watch)
        if both is not None:
            parts, answers = both, solve_both(both, ceiling, watch, best[2])
    if not any(answer.feasible for answer in answers):
        return None, best[2], True
    bounds = [_bound(answer, part, watch) for answer, part in zip(answers, parts, strict=True) if answer.feasible]
    # Of two halves at most one has an answer.
    return next((one.turns for one in answers if one.turns is not None), None), min(*bounds, best[2]), False


def _from_elsewhere(task: Task, fewest: str, whole: Watch, best: Best) -> Turns | None:
    """A cheaper plan by the quick search from other roundings of the relaxation (multi-start), or None.

    Where branch and bound doesn't come to an end the best plan is often far from the one that the search has led to.
    """
    relaxed = Programme(task, fewest).solve(whole, relax=True).turns if whole.left() > LEAST_EFFORT else None
    cheapest, seed = best, 1
    while relaxed is not None and whole.left() > LEAST_EFFORT:
        seed += 1
        part = whole.part(2 * QUICK_EFFORT)
        found, _ = _quick(task, fewest, relaxed, part, part, None, seed=seed)
        if found is not None and found[2] < cheapest[2] - SAME and keeps(found[1], task.aims, task.target_dish):
            cheapest = found
    return None if cheapest is best else cheapest[0]


def _without_cuts(answer: Cheapest, task: Task, fewest: str, watch: Watch) -> Cheapest:
    """What an answer says once rows were added that keep the search from coming back to what was refused.

    A line through one refused answer may shut out others by a few newtons: no proof, and the bound is that of the
    relaxation without such rows.
    """
    return answer[0], Programme(task, fewest).solve(watch, relax=True).bound or 0.0, False


def _nearer(task: Task, fewest: str, watch: Watch, best: Best | None, cuts: tuple[Cut, ...]) -> Cheapest:
    """Turns within the hard bounds that come nearest the aims, where the best plan, if there is one, misses them."""
    programme = Programme(task, fewest, cuts)
    answer = programme.solve(watch, strive=True, first=best is None)
    bound = _bound(answer, programme, watch, strive=True)
    if best is None:
        return answer.turns, bound, False
    none_better = not answer.feasible or (answer.proven and answer.cost is not None
                                          and answer.cost > best[2] - ALIKE + SAME)
    if Quantity.SPREAD in broken(view(best[1], task.target_dish).values, task.aims):
        none_better = False  # the programme prices an excess of spread by the mean tension before the turns: no proof
    return answer.turns, bound, none_better


def _bound(answer: ProgrammeAnswer, programme: Programme, watch: Watch, *, strive: bool = False) -> float:
    """The solver's bound; where it was stopped before it had one, that of the relaxation, which takes hundredths."""
    if answer.bound is not None and math.isfinite(answer.bound) and answer.bound > 0:
        return answer.bound
    return programme.solve(watch, strive=strive, relax=True).bound or 0.0


def _score(turns: Turns, state: State, task: Task, fewest: str) -> float:
    return float(Scorer(replace(task, state=state, turned=turns), fewest).score(turns[:, None])[0])
