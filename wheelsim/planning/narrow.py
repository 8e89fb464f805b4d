"""What each nipple may be turned by in a plan that costs less than one that is known.

Under a ceiling on the price, the largest and the smallest value that the relaxation lets a column have bound it for
branch and bound: most nipples are left two or three steps to choose from, and the tree is several times smaller.

References
----------
P. Belotti et al., Branching and bounds tightening techniques for non-convex MINLP, Optimization Methods and Software
24 (2009) 597-634: optimality-based bound tightening. Cited from memory.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from wheelsim.planning.highs import Relaxation, Report, Watch
from wheelsim.planning.programme import Programme, ProgrammeAnswer

TRIED = 8  # nipples, those furthest from a whole step, that halving is tried at; own choice
# Of a step: what a value may miss a whole number by. The solver's tolerances of 1e-7, in some 70 columns of up to 16
# steps, add up to 1e-4; more than that costs nothing.
SURELY_WHOLE = 1e-3


def narrowed(programme: Programme, ceiling: float, watch: Watch) -> Programme | None:
    """The same programme with its turns bounded by what costs no more than a ceiling; None if nothing costs so little.

    Parameters
    ----------
    programme : Programme
    ceiling : float
        Price, in the programme's own measure. [turn]
    watch : Watch
        When its effort is spent, the bounds that are left stay as they were.
    """
    relaxation = Relaxation(programme.model(ceiling=ceiling), watch)
    for column in range(programme.size):
        relaxation.price(column, 0.0)
    lower, upper = programme.lower.copy(), programme.upper.copy()
    for plus, minus in programme.opposites():
        least, most = -upper[minus], upper[plus]
        for sign in (1.0, -1.0):
            if most - least <= 0 or not watch.left():
                continue
            relaxation.price(plus, -sign)
            relaxation.price(minus, sign)
            x = relaxation.solve()
            if relaxation.infeasible:
                return None
            if x is None:
                continue  # the solver could not tell: the bound stays
            edge = x[plus] - x[minus]
            if sign > 0:
                most = min(most, float(np.floor(edge + SURELY_WHOLE)))
            else:
                least = max(least, float(np.ceil(edge - SURELY_WHOLE)))
        relaxation.price(plus, 0.0)
        relaxation.price(minus, 0.0)
        if most < least:
            return None
        # Of the two columns of a nipple one is nought in the cheapest answer, so bounds on their difference are theirs.
        lower[plus], upper[plus] = max(least, 0.0), max(most, 0.0)
        lower[minus], upper[minus] = max(-most, 0.0), max(-least, 0.0)
        _bound(relaxation, plus, minus, least, most)
    return Programme(programme.task, programme.fewest, programme.cuts, (lower, upper))


def halves(programme: Programme, ceiling: float, watch: Watch) -> tuple[Programme, Programme] | None:
    """The same programme in two: one nipple's turns up to a step, and from the next one; None where all are whole.

    The nipple is the one whose halves both have the dearest relaxations (strong branching).
    """
    relaxation = Relaxation(programme.model(ceiling=ceiling), watch)
    x = relaxation.solve()
    if x is None:
        return None
    best, most = None, -np.inf
    pairs = programme.opposites()
    value = np.array([x[plus] - x[minus] for plus, minus in pairs])
    off = np.abs(value - np.round(value))
    price = programme.cost()
    for k in np.argsort(-off)[:TRIED]:
        plus, minus = pairs[int(k)]
        least = programme.lower[plus] - programme.upper[minus]
        highest = programme.upper[plus] - programme.lower[minus]
        if off[k] < SURELY_WHOLE or highest - least < 1:
            continue
        step, costs = float(np.floor(value[k])), []
        for low, high in ((least, step), (step + 1, highest)):
            _bound(relaxation, plus, minus, low, high)
            answer = relaxation.solve()
            # One without an answer leaves only the other to be searched.
            costs.append(ceiling + programme.grain() if answer is None else float(price @ answer))
        _bound(relaxation, plus, minus, least, highest)
        if min(costs) + 0.1 * max(costs) > most:  # the cheaper half counts, the other breaks ties: own choice
            most, best = min(costs) + 0.1 * max(costs), (plus, minus, least, step, highest)
    if best is None:
        return None
    plus, minus, least, step, highest = best
    first, second = (_within(programme, plus, minus, low, high) for low, high in ((least, step), (step + 1, highest)))
    return first, second


def solve_both(both: tuple[Programme, Programme], ceiling: float, watch: Watch, best: float) -> list[ProgrammeAnswer]:
    """Each programme on a thread of its own, up to the first answer: the solver lets other threads run meanwhile.

    First is the answer that took less effort, whichever thread is faster: the other search ends once it has spent more,
    and what it found by then is left out, so that the same job has the same plan. What is counted is the longer search.
    """
    bounds = [0.0, 0.0]

    def hear(k: int) -> Report:
        def heard(_price: float | None, bound: float, _gone: float) -> None:
            bounds[k] = bound
            watch.tell(best, min(bounds))

        return heard

    apart = [watch.apart(watch.left(), hear(k)) for k in range(2)]

    def run(k: int) -> ProgrammeAnswer:
        answer = both[k].solve(apart[k], ceiling=ceiling, best=best, first=True)
        if answer.turns is not None:
            apart[1 - k].effort = min(apart[1 - k].effort, apart[k].spent)
        if not answer.feasible:
            bounds[k] = np.inf
        return answer

    with ThreadPoolExecutor(len(both)) as pool:
        answers = list(pool.map(run, range(2)))
    watch.spend(max(one.spent for one in apart))
    found = [k for k in range(2) if answers[k].turns is not None]
    if len(found) == 2:
        later = 1 if apart[0].spent <= apart[1].spent else 0
        answers[later] = ProgrammeAnswer(None, None, None, False, True)
    return answers


def _bound(relaxation: Relaxation, plus: int, minus: int, low: float, high: float) -> None:
    relaxation.bound(plus, max(low, 0.0), max(high, 0.0))
    relaxation.bound(minus, max(-high, 0.0), max(-low, 0.0))


def _within(programme: Programme, plus: int, minus: int, low: float, high: float) -> Programme:
    lower, upper = programme.lower.copy(), programme.upper.copy()
    lower[plus], upper[plus] = max(low, 0.0), max(high, 0.0)
    lower[minus], upper[minus] = max(-high, 0.0), max(-low, 0.0)
    return Programme(programme.task, programme.fewest, programme.cuts, (lower, upper))
