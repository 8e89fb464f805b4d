"""Plans by whole sides: how a hand mends the dish and the tension of an even wheel."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds, broken
from wheelsim.measures.quantities import Quantity, usual_tension
from wheelsim.measures.view import View, view
from wheelsim.planning.goal import ROUGH
from wheelsim.planning.highs import Watch
from wheelsim.planning.score import Scorer
from wheelsim.planning.search import side_grid
from wheelsim.planning.sides import price_of_missing
from wheelsim.planning.singles import names_others
from wheelsim.planning.solve import Settled, exactly_after, keeps, quick
from wheelsim.planning.task import Task
from wheelsim.wheel.parts import SIDES

SIDES_MEND = {Quantity.GAP, Quantity.HIGHEST, Quantity.LOWEST, Quantity.OFF_USUAL}  # what whole sides can mend
EVEN_SPREAD = 0.05  # careful work: common practice, no source
# Where no tension was read: steps of a side that a change of the mean tension by all of the usual costs, beyond what a
# meter's own error would hide. Own choice: half of each side, which leaves tension where it was, is then better than a
# whole turn of one.
CHANGE_UNREAD, CHANGE_HIDDEN = 40.0, 0.05
LESS_TRUE = 0.5  # of true, round and spread, that whole sides may spoil before single nipples mend it: own choice
BESIDE_EFFORT = 0.5  # for a plan of single nipples to compare with: own choice


def by_sides(task: Task, aims: Bounds, before: View, relaxed: Turns | None, watch: Watch,
             unseen: frozenset[Quantity], later: frozenset[Quantity] = frozenset(), *,
             tensions_read: bool = True) -> Settled | None:
    """Whole-side passes for a dish, or None where they miss the aims and single nipples meet them for less.

    Where whole sides alone leave the tension far from the usual, single nipples may follow them.

    Parameters
    ----------
    task : Task
    aims : Bounds
        Judged by; those of the task have margins.
    before : View
        The wheel as it came in.
    relaxed : (n,) ndarray or None
        Turns of the relaxation. [turn]
    watch : Watch
    unseen : set of Quantity
        What nobody measured: single nipples are not named for it.
    later : set of Quantity
        What is mended in another plan, once tension is right.
    tensions_read : bool
        Whether any tension was read.
    """
    sides = whole_sides(task, aims, tensions_read=tensions_read)
    if sides is None:
        return None
    missed = set(broken(sides.after.values, aims)) - unseen - later
    if Quantity.OFF_USUAL in missed and tensions_read and Quantity.TRUE not in unseen:
        sides = _sides_then_singles(task, aims, watch, unseen) or sides
        missed = set(broken(sides.after.values, aims)) - unseen - later
    # A wheel whose spokes are all like their side's is turned by whole sides, to the step's last part.
    even = before.values[Quantity.SPREAD] < EVEN_SPREAD and Quantity.TRUE not in broken(before.values, aims)
    if not missed or later or (missed <= SIDES_MEND and even) or Quantity.TRUE in unseen:
        return sides
    single = quick(task, "hand", relaxed, watch.part(BESIDE_EFFORT))
    if single is not None and single.price < sides.price and not names_others(single.turns, task) and not (
            set(broken(single.after.values, aims)) - unseen):
        return None
    return replace(sides, proven=False)  # a short search for single nipples proves nothing


def _sides_then_singles(task: Task, aims: Bounds, watch: Watch, unseen: frozenset[Quantity]) -> Settled | None:
    """Whole sides to the usual tension, then the fewest nipples that make the rim as true as it was; or None.

    More tension makes a rim less true: by whole sides alone, one that came in out of true would be left slack.
    """
    room = {name: (1 + LESS_TRUE) * task.hard.of(name) for name in ROUGH}
    sides = whole_sides(replace(task, hard=replace(task.hard, **room)), aims)
    if sides is None or Quantity.OFF_USUAL in broken(sides.after.values, aims):
        return None
    state = sides.after.state
    there = replace(task, start=state, state=state, turned=np.zeros_like(sides.turns), lowest=task.lowest - sides.turns,
                    highest=task.highest - sides.turns,
                    aims=replace(task.aims, **{name: task.hard.of(name) for name in ROUGH if name not in unseen}))
    singles = quick(there, "hand", None, watch.part(BESIDE_EFFORT))
    if singles is None or names_others(singles.turns, there) or Quantity.OFF_USUAL in broken(
            singles.after.values, aims):
        return None
    turns = sides.turns + singles.turns
    return Settled(turns, singles.after, float(Scorer(task, "hand").price(turns[:, None])[0]))


def whole_sides(task: Task, aims: Bounds, *, tensions_read: bool = True) -> Settled | None:
    """Whole-side passes that come nearest the aims, every pair of them weighed; None if none keeps the hard bounds.

    Proven means the best of those: all of them are counted. A hand centres a true, even wheel by whole sides, and
    accepts the gap that whole steps leave rather than spoil the true; ``price_of_missing`` weighs what is left.
    """
    start = task.start
    scorer = Scorer(task, "hand")
    grid, pairs = side_grid(scorer)
    felt = scorer.felt(grid)
    measure = scorer.measure(felt)
    price = scorer.price_of_sides(pairs)
    side_step = task.step * len(task.free) / 2

    usual = sum(usual_tension(start.wheel).values())
    change = (sum(felt[2][start.wheel.pulling(side)].mean(axis=0) for side in SIDES)
            - sum(float(start.tension[start.wheel.pulling(side)].mean()) for side in SIDES)) / max(usual, 1.0)
    blind = np.zeros(len(price)) if tensions_read else CHANGE_UNREAD * np.maximum(np.abs(change) - CHANGE_HIDDEN, 0.0)

    def rank(over: Floats, off: Floats, k: int | npt.NDArray[np.intp]) -> Floats:
        return np.asarray(price[k] + side_step * (price_of_missing(over, off, aims) + blind[k]))

    # The linear model is a few per cent off over a turn, so candidates that miss the bounds by little are followed too.
    near = np.flatnonzero(scorer.excess(measure, task.hard) < 0.3)
    ranks = rank(scorer.excess(measure, aims)[near], measure[Quantity.OFF_USUAL][near], near)
    best = None
    for k, roughly in sorted(zip(near.tolist(), ranks, strict=True), key=lambda pair: pair[1]):
        if best is not None and roughly > best[0] + 2 * side_step:
            break
        after = exactly_after(start, grid[:, k])
        if keeps(after, task.hard, task.target_dish):
            seen = view(after, task.target_dish)
            values = {name: np.array([value]) for name, value in seen.values.items()}
            score = rank(scorer.excess(values, aims)[0], values[Quantity.OFF_USUAL][0], k)
            if best is None or score < best[0]:
                best = (score, Settled(grid[:, k], seen, float(price[k]), True, float(price[k])))
    return None if best is None else best[1]
