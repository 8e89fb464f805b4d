"""The parts of search and proof: narrower bounds, dives, cuts from refused turns, the likeliest of like plans."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from tests.planning.test_plan import uneven_job
from tests.planning.test_plan_proof import planner, small_job
from wheelsim.estimation.known import known
from wheelsim.estimation.outlook import outlook
from wheelsim.measures.quantities import Quantity
from wheelsim.planning import planner as planner_module
from wheelsim.planning.dive import dive
from wheelsim.planning.highs import Watch
from wheelsim.planning.likeliest import MORE_LIKELY
from wheelsim.planning.narrow import narrowed
from wheelsim.planning.plan import plan
from wheelsim.planning.programme import Programme
from wheelsim.planning.refused import cuts_of
from wheelsim.planning.search import Neighbours, Scorer
from wheelsim.planning.solve import exactly_after, quick


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
    turns = dive(programme, Watch(60.0), np.random.default_rng(0))
    assert np.allclose(turns / task.step, np.round(turns / task.step))
    # What rounding breaks is little beside what the wheel came in with; what it costs is near the least.
    scorer = Scorer(task, "turns")
    now, then = (scorer.excess(scorer.measure(scorer.felt(t[:, None])), task.hard)[0] for t in (0 * turns, turns))
    assert then < 0.3 * now
    assert 0.8 * least <= np.abs(turns).sum() <= 1.5 * least


def test_cuts_are_the_broken_bounds_to_first_order():
    """Each row against the nonlinear wheel: its value where it was made, and its slope by differences."""
    task = planner(uneven_job(margin=0.0)).task
    rng = np.random.default_rng(1)
    turns = np.round(rng.normal(0.0, 1.5, 32)) * 0.25
    state = exactly_after(task.start, turns)
    cuts = cuts_of(task, state, turns)
    assert len(cuts) > 20
    small = 1e-3 * rng.standard_normal(32)
    there = exactly_after(task.start, turns + small)
    now, then = {}, {}
    for held, into in ((state, now), (there, then)):
        into["gap"] = 2 * (held.edge.mean() - task.target_dish)
        into["true"], into["tension"] = held.edge, held.tension
    by = [cut.row @ small for cut in cuts]
    # The gap's own row and some pair of stations are among them.
    assert any(abs(abs(change) - abs(then["gap"] - now["gap"])) < 1e-7 for change in by)
    pair = then["true"] - now["true"]
    assert any(np.isclose(by[k], pair[i] - pair[j], atol=1e-7)
               for k in range(len(cuts)) for i, j in [np.unravel_index(np.argmax(now["true"][:, None] - now["true"]),
                                                                       (32, 32))])
    pull = then["tension"] - now["tension"]
    hottest = int(now["tension"].argmax())
    # Over thousandths of a turn a line is good to a hundredth of a newton.
    assert any(np.isclose(change, pull[hottest], atol=0.02) for change in by)
    for cut in cuts:
        assert cut.row @ turns > cut.most
    values = Scorer(replace(task, state=state, turned=turns), "turns")
    measured = values.measure(values.felt(turns[:, None]))
    over = measured[Quantity.HIGHEST][0] - task.hard.max_tension
    assert any(np.isclose(cut.row @ turns - cut.most, over, rtol=1e-6) for cut in cuts)
    assert not cuts_of(replace(task, hard=task.hard), planner_end(task), np.zeros(32))


def planner_end(task):
    """A wheel that keeps every bound: the nominal one."""
    return exactly_after(task.start, -task.start.turns)


def test_what_was_refused_is_not_offered_again():
    """The programme about the start, cut at its own answer by bounds a little tighter, answers otherwise."""
    task = planner(uneven_job(margin=0.0)).task
    first = Programme(task, "turns").solve(Watch(20.0, effort=3.0), first=True)
    state = exactly_after(task.start, first.turns)
    tight = replace(task.hard, gap=0.9 * abs(2 * state.edge.mean()),
                    max_tension=float(state.tension.max()) - 1.0)
    cuts = cuts_of(replace(task, hard=tight), state, first.turns)
    assert cuts
    then = Programme(task, "turns", cuts).solve(Watch(20.0, effort=3.0), first=True)
    assert not np.allclose(then.turns, first.turns)
    assert all(cut.row @ then.turns <= cut.most + 1e-6 for cut in cuts)


def test_three_nipples_find_what_two_miss():
    """From a local minimum of exchanges of two, an exchange of three costs less or as much, never more."""
    task = planner(uneven_job(margin=0.0)).task
    relaxed = Programme(task, "turns").solve(Watch(5.0), relax=True).turns
    found = quick(task, "turns", relaxed, Watch(60.0, effort=0.3))
    near = Neighbours(Scorer(replace(task, state=found.after.state, turned=found.turns), "turns"))
    start, score = near.descend(np.round(relaxed / 0.25) * 0.25)
    turns, fewer = near.fewer(start)
    assert np.count_nonzero(np.abs(turns - start) > 1e-9) <= 3
    assert np.abs(turns).sum() < np.abs(start).sum()
    _, deeper = near.deeper(start, score, Watch(60.0, effort=2.0))
    assert deeper <= min(score, max(fewer, score))


def test_the_likeliest_of_plans_that_cost_the_same(monkeypatch):
    """Beside the same plan without that choice: clearly likelier, and no dearer."""
    job = uneven_job(4)
    chosen = plan(job, fewest="turns", effort=0.6, seconds=60)
    monkeypatch.setattr(planner_module, "likeliest", lambda task, fewest, found, *rest: found)
    plain = plan(job, fewest="turns", effort=0.6, seconds=60)
    # The share is that of 10,000 other draws than the choice was made by.
    assert _chance(job, chosen) > _chance(job, plain) + MORE_LIKELY / 2
    assert np.abs(chosen.turns).sum() <= np.abs(plain.turns).sum() + 1e-9


def _chance(job, found):
    told = known(job)
    return outlook(told.found, [found.before.state, found.after.state], [found.turns], found.limits).chance_within
