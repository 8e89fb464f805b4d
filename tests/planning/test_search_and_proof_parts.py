"""The parts of search and proof: narrower bounds, dives, cuts from refused turns, the likeliest of like plans."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from tests.benchmarks.jobs import CAREFUL, random_job
from tests.planning.test_plan import uneven_job
from tests.planning.test_plan_proof import planner, small_job
from wheelsim.estimation.known import known
from wheelsim.estimation.outlook import outlook
from wheelsim.job.job import Work
from wheelsim.planning import planner as planner_module
from wheelsim.planning import solve as solve_module
from wheelsim.planning.dive import dives
from wheelsim.planning.highs import Watch
from wheelsim.planning.likeliest import MORE_LIKELY
from wheelsim.planning.narrow import halves, narrowed
from wheelsim.planning.plan import plan
from wheelsim.planning.programme import EXCESS_PRICE, NAMED_PRICE, Programme
from wheelsim.planning.refused import bounded, cuts_of
from wheelsim.planning.score import BROKEN_PRICE, FEW, FOREMOST, SOFT_PRICE, TIES, Scorer
from wheelsim.planning.search import Neighbours, side_grid
from wheelsim.planning.solve import exactly_after, keeps, quick


@pytest.mark.parametrize("over", [0.5, 1.0])
def test_every_cheap_answer_lies_within_the_narrowed_bounds(over):
    """All half turns of eight nipples, counted: none that keeps the bounds for so little is left out."""
    task = planner(small_job(8, 1, 1.0)).task
    programme = Programme(task, "turns")
    amounts = np.arange(-1.0, 1.1, 0.5)
    turns = np.array(list(product(amounts, repeat=8))).T
    scorer, total = Scorer(task, "turns"), np.abs(turns).sum(axis=0)
    kept = scorer.excess(scorer.measure(scorer.felt(turns)), task.hard) < 1e-6
    ceiling = total[kept].min() + over
    cheap = turns[:, kept & (total <= ceiling + 1e-9)] / task.step
    narrow = narrowed(programme, ceiling, Watch(60.0))
    lowest = narrow.lower[:8] - narrow.upper[8:16]
    highest = narrow.upper[:8] - narrow.lower[8:16]
    assert (cheap.min(axis=1) >= lowest - 1e-9).all()
    assert (cheap.max(axis=1) <= highest + 1e-9).all()
    before = programme.upper[:8] + programme.upper[8:16]
    assert (highest - lowest).sum() < 0.8 * before.sum()


def test_nothing_costs_less_than_the_relaxation():
    programme = Programme(planner(uneven_job(margin=0.0)).task, "turns")
    least = programme.solve(Watch(5.0), relax=True).cost
    assert narrowed(programme, least - 0.01, Watch(60.0)) is None
    assert narrowed(programme, least + 0.25, Watch(60.0)) is not None


def test_a_dive_ends_in_whole_steps_near_the_relaxation():
    task = planner(uneven_job(margin=0.0)).task
    programme = Programme(task, "turns")
    least = programme.solve(Watch(5.0), relax=True).cost
    turns = dives(programme, Watch(60.0), 1)[0]
    assert np.allclose(turns / task.step, np.round(turns / task.step))
    # What rounding breaks is little beside what the wheel came in with; what it costs is near the least.
    scorer = Scorer(task, "turns")
    now, then = (scorer.excess(scorer.measure(scorer.felt(t[:, None])), task.hard)[0] for t in (0 * turns, turns))
    assert then < 0.3 * now
    assert 0.8 * least <= np.abs(turns).sum() <= 1.5 * least


def test_every_bound_is_a_line_about_its_state():
    """Each row by itself against the nonlinear wheel, a thousandth of a turn away: gap, pairs, tensions, spread."""
    task = planner(uneven_job(margin=0.0)).task
    rng = np.random.default_rng(1)
    turns = np.round(rng.normal(0.0, 1.0, 32)) * 0.25
    small = 1e-3 * rng.standard_normal(32)
    state, there = exactly_after(task.start, turns), exactly_after(task.start, turns + small)
    # Run-outs of nought: every pair of stations is a bound, in the same order for both states but for its sign.
    hard = replace(task.hard, lateral_runout=-1.0, radial_runout=-1.0, off_usual=0.15)
    now, then = (list(bounded(task, one, hard)) for one in (state, there))
    # Gap both ways; all pairs of stations, lateral and radial; usual tension; highest, lowest, spread both ways.
    assert len(now) == 2 + 2 * 32 * 32 + 2 * 2 + 32 * 4
    scale = np.array([max(abs(value), 1e-5) for _, value, _ in now])
    change = np.array([after[1] - before[1] for before, after in zip(now, then, strict=True)])
    line = np.array([row @ small for row, _, _ in now])
    # The second order of a thousandth of a turn is some thousandths of the first.
    assert np.abs(change - line).max() < 0.02 * np.abs(change).max()
    assert (np.abs(change - line) < 2e-4 * scale + 0.02 * np.abs(change)).all()
    cuts = cuts_of(task, state, turns, task.hard)
    over = [value - most for _, value, most in bounded(task, state, task.hard) if value > most]
    assert len(cuts) > 20
    assert np.allclose([cut.row @ turns - cut.most for cut in cuts], over)
    nominal = exactly_after(task.start, -task.start.turns)
    assert not cuts_of(task, nominal, -task.start.turns, task.hard)


def test_what_was_refused_is_not_offered_again():
    """The programme about the start, cut at its own answer by bounds a little tighter, answers otherwise."""
    task = planner(uneven_job(margin=0.0)).task
    first = Programme(task, "turns").solve(Watch(20.0, effort=3.0), first=True)
    state = exactly_after(task.start, first.turns)
    tight = replace(task.hard, gap=0.9 * abs(2 * state.edge.mean()),
                    max_tension=float(state.tension.max()) - 1.0)
    cuts = cuts_of(task, state, first.turns, tight)
    assert cuts
    then = Programme(task, "turns", cuts).solve(Watch(20.0, effort=3.0), first=True)
    assert not np.allclose(then.turns, first.turns)
    assert all(cut.row @ then.turns <= cut.most + 1e-6 for cut in cuts)


def test_three_nipples_find_what_two_miss():
    """From the local minima of exchanges of two on these jobs, exchanges of three lead a step further down and more."""
    for seed in (0, 7):
        task = planner(replace(random_job(seed), work=Work(margin=0.0))).task
        relaxed = Programme(task, "turns").solve(Watch(5.0), relax=True).turns
        near = Neighbours(Scorer(task, "turns"))
        start, score = near.descend(np.round(relaxed / 0.25) * 0.25)
        turns = near.fewer(start, score)
        assert 0 < np.count_nonzero(np.abs(turns - start) > 1e-9) <= 3
        assert np.abs(turns).sum() < np.abs(start).sum()
        deeper, fewer = near.deeper(start, score, Watch(60.0, effort=2.0))
        assert fewer < score - 0.2  # a quarter turn less
        assert Scorer(task, "turns").score(deeper[:, None])[0] == pytest.approx(fewer)


@pytest.mark.parametrize("fewest", ["turns", "nipples", "hand"])
def test_two_halves_hold_every_cheap_answer(fewest):
    """The halves part one nipple's range without a gap or an overlap, and the cheapest of both is that of the whole."""
    task = planner(small_job(8, 1, 1.0), fewest).task
    programme = Programme(task, fewest)
    least = programme.solve(Watch(20.0)).cost
    ceiling = least + 1.0
    narrow = narrowed(programme, ceiling, Watch(60.0))
    both = halves(narrow, ceiling, Watch(60.0))
    whole, parts = narrow.upper - narrow.lower, [half.upper - half.lower for half in both]
    split = [k for k in range(narrow.size) if any(part[k] != whole[k] for part in parts)]
    assert 1 <= len(split) <= 2  # the two columns of one nipple, or of a side
    (plus, minus), = [pair for pair in programme.opposites() if set(split) <= set(pair)]
    ranges = [(half.lower[plus] - half.upper[minus], half.upper[plus] - half.lower[minus]) for half in both]
    assert ranges[0][1] + 1 == ranges[1][0]
    assert ranges[0][0] == narrow.lower[plus] - narrow.upper[minus]
    assert ranges[1][1] == narrow.upper[plus] - narrow.lower[minus]
    answers = [half.solve(Watch(20.0)) for half in both]
    assert min(answer.cost for answer in answers if answer.feasible) == pytest.approx(least, abs=1e-6)


@pytest.mark.parametrize(("seed", "found_there"), [(29, True), (26, False)])
def test_threads_find_and_prove_the_same_twice(seed, found_there, monkeypatch):
    """All branch and bound in two threads: the plan found in one, or only proven there, and the same from run to run.

    The heuristic search is cut short, so that the threads of the first job have a cheaper plan to find.
    """
    for name in ("solve.QUICK_EFFORT", "solve.LEAST_EFFORT", "planner.AGAIN_EFFORT"):
        monkeypatch.setattr(f"wheelsim.planning.{name}", 0.02)
    job = replace(random_job(seed), work=Work(margin=0.0))
    alone = plan(job, fewest="turns", to="limits", effort=20, seconds=100)
    monkeypatch.setattr(solve_module, "ALONE_EFFORT", 0.0)
    monkeypatch.setattr(solve_module, "ELSEWHERE", 0.0)
    threads, found = solve_module.solve_both, []
    monkeypatch.setattr(solve_module, "solve_both", lambda *told: found.append(threads(*told)) or found[-1])
    both = [plan(job, fewest="turns", to="limits", effort=20, seconds=100) for _ in range(2)]
    assert found
    assert any(one.turns is not None for answers in found for one in answers) == found_there
    assert alone.proven
    assert both[0].proven
    assert np.array_equal(both[0].turns, both[1].turns)
    assert np.abs(both[0].turns).sum() == np.abs(alone.turns).sum()


def test_other_starts_find_what_one_search_misses():
    """A careful job whose first search ends in a poor valley: from other roundings a plan that keeps the aims too."""
    job = random_job(10)
    task = planner(replace(job, wheel=replace(job.wheel, limits=CAREFUL), work=Work(margin=0.0))).task
    relaxed = Programme(task, "turns").solve(Watch(60.0), relax=True).turns
    first = quick(task, "turns", relaxed, Watch(600.0, effort=0.3))
    best = first.turns, first.after.state, first.price
    other = solve_module._from_elsewhere(task, "turns", Watch(600.0, effort=20.0), best)
    assert np.abs(other).sum() <= np.abs(first.turns).sum() - 0.5
    assert keeps(exactly_after(task.start, other), task.aims, task.target_dish)


def test_the_likeliest_of_plans_that_cost_the_same(monkeypatch):
    """Beside the same plan without that choice: clearly likelier, and no dearer."""
    job = uneven_job(7)
    chosen = plan(job, fewest="turns", to="limits", effort=0.6, seconds=60)
    monkeypatch.setattr(planner_module, "likeliest", lambda task, fewest, found, *rest: found)
    plain = plan(job, fewest="turns", to="limits", effort=0.6, seconds=60)
    # The share is that of 10,000 other draws than the choice was made by.
    assert _chance(job, chosen) > _chance(job, plain) + MORE_LIKELY / 2
    assert np.abs(chosen.turns).sum() <= np.abs(plain.turns).sum() + 1e-9


def _chance(job, found):
    told = known(job)
    return outlook(told.found, [found.before.state, found.after.state], [found.turns], found.limits).chance_within


@pytest.mark.parametrize("fewest", ["hand", "turns", "nipples", "passes"])
@pytest.mark.parametrize("free", [None, "left"], ids=["both sides", "left only"])
def test_an_exchange_is_priced_as_its_turns_are(fewest, free):
    """By what each nipple's step adds, and by the turns themselves; whole sides likewise."""
    task = planner(replace(uneven_job(margin=0.0), work=Work(margin=0.0, sides=free or "both"))).task
    scorer, rng = Scorer(task, fewest), np.random.default_rng(0)
    grid, pairs = side_grid(scorer)
    assert scorer.price_of_sides(pairs[::29]) == pytest.approx(scorer.price(grid[:, ::29]))
    near = Neighbours(scorer)
    for _ in range(3):
        turns = rng.integers(-3, 4, len(task.free)) * 0.25 * task.free
        for (steps, _), prices in zip(near.sets, near._prices(turns), strict=True):
            assert prices == pytest.approx(scorer.price(turns[:, None] + steps))
        if fewest != "passes":
            _after_two_back_priced(near, turns)


def _after_two_back_priced(near, turns):
    """Two steps back and another nipple's step; one of the two again is left to be priced as it stands."""
    first, second = np.triu_indices(len(turns))
    turned = np.abs(turns) > 1e-9
    both = turned[first] & turned[second] & ((first != second) | (np.abs(turns[first]) > 0.3))
    first, second = first[both], second[both]
    backed = np.repeat(turns[:, None], len(first), axis=1)
    for nipples in (first, second):
        backed[nipples, np.arange(len(first))] -= np.sign(turns[nipples]) * near.scorer.task.step
    every = list(near.prices.after_two_back(turns, first, second))
    assert len(every) == near.singles
    for k in range(0, near.singles, 7):
        single = near.sets[0][0][:, k]
        odd = (single[first] != 0) | (single[second] != 0)
        assert (np.isnan(every[k]) == odd).all()
        assert every[k][~odd] == pytest.approx(near.scorer.price(backed + single[:, None])[~odd])


def test_by_hand_a_side_counts_as_turned_by_what_makes_it_cheapest():
    """Sixteen nipples, five not turned with the others: the side's quarter and five names, as the programme has it."""
    task = planner(uneven_job(margin=0.0)).task
    mine = np.array(task.state.wheel.on_side("right"))
    turns = np.zeros((len(task.free), 1))
    turns[mine] = 0.25
    turns[mine[:5]] = 0.0
    whole = 0.25 * len(mine) + 5 * (0.25 + NAMED_PRICE)
    each = (len(mine) - 5) * (0.25 + NAMED_PRICE)
    assert Scorer(task, "hand").price(turns)[0] == pytest.approx(min(whole, each))


@pytest.mark.parametrize("soft", [False, True])
@pytest.mark.parametrize("fewest", ["hand", "turns"])
def test_the_lowest_score_is_found_by_a_few_rows_first(fewest, soft):
    """Beside the scores of all exchanges at once, from turns far outside the bounds and from a local minimum."""
    task = planner(uneven_job(margin=0.0)).task
    scorer, rng = Scorer(task, fewest), np.random.default_rng(2)
    near = Neighbours(scorer)
    for far in (True, False):
        turns = rng.integers(-3, 4, len(task.free)) * 0.25 * task.free
        if not far:
            turns, _ = near.descend(turns)
        now = scorer.rows(scorer.felt(turns[:, None]))
        below = float(scorer.score(turns[:, None], soft=soft)[0]) + (0.0 if far else 1e3)
        for (steps, _), rows in zip(near.sets, near.rows, strict=True):
            among = np.arange(0, steps.shape[1], 2)
            price = scorer.price(turns[:, None] + steps[:, among])
            scores = scorer.score(turns[:, None] + steps[:, among], soft=soft)
            which, least, weighed = scorer.least(now, rows, among, price, below, soft=soft)
            assert scores.min() < below
            outside = scorer.measure(scorer.felt(turns[:, None] + steps[:, among]))
            aims, hard = (SOFT_PRICE, SOFT_PRICE) if soft else (EXCESS_PRICE, BROKEN_PRICE)
            terms = price + aims * scorer.excess(outside, task.aims) + hard * scorer.excess(outside, task.hard)
            assert scores == pytest.approx(terms, rel=1e-9, abs=TIES)  # evenness adds less than that
            assert which in among[scores < scores.min() + 1e-9]
            assert least == pytest.approx(scores.min(), abs=1e-9)
            few = len(now.foremost(scorer.blocks, FOREMOST)[0])
            assert weighed < (few + len(now.rows)) * len(among) or len(among) < FEW  # some were left out
            assert scorer.least(now, rows, among, price, float(scores.min()) - 1e-6, soft=soft)[0] is None
