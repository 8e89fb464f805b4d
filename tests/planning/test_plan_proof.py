"""A second pair of eyes on the planner: every set of turns counted, another solver, the way there, and stops."""

from dataclasses import replace
from itertools import product

import numpy as np
import pulp
import pytest

from tests.benchmarks.jobs import random_job
from tests.planning.test_plan import full_reading, gauge
from tests.wheels import dished, front, make_wheel, side_turns, with_limits
from wheelsim.estimation.assumed import NewSpokes
from wheelsim.estimation.known import known
from wheelsim.job.job import Job, Pass, Work
from wheelsim.measures.bounds import broken, resolved
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium, spokes_put_in
from wheelsim.planning import bound
from wheelsim.planning import planner as planner_module
from wheelsim.planning.highs import Model, Watch, solve
from wheelsim.planning.order import order_passes
from wheelsim.planning.plan import plan
from wheelsim.planning.planner import Planner
from wheelsim.planning.programme import Programme
from wheelsim.planning.score import Scorer
from wheelsim.planning.search import first_answer
from wheelsim.planning.solve import Settled, improve
from wheelsim.report.words.verdict import verdict_words
from wheelsim.wheel.parts import Limits


def planner(job, fewest="turns", to="limits"):
    return Planner(known(job), fewest, to, Watch(60.0))


def small_job(n, seed, most):
    """A small uneven wheel that may be turned a little."""
    rng = np.random.default_rng(seed)
    wheel = make_wheel(n, cross=0 if n < 12 else 1, tension=500.0,
                       limits=Limits(max_tension=900.0, min_tension=100.0, gap=0.4e-3, lateral_runout=0.5e-3,
                                     radial_runout=0.4e-3, side_spread=0.25))
    state = equilibrium(wheel, 0.35 * rng.standard_normal(n) + side_turns(wheel, left=0.25))
    return Job(wheel, (full_reading(state),), Work(step=0.5, margin=0.0, max_turns=most))


@pytest.fixture
def little_search(monkeypatch):
    """A heuristic search cut short: the proof, which is looked at here, has to do with less help, and sooner."""
    for name in ("solve.QUICK_EFFORT", "solve.LEAST_EFFORT", "planner.AGAIN_EFFORT"):
        monkeypatch.setattr(f"wheelsim.planning.{name}", 1e-4)


@pytest.mark.parametrize(("n", "seed", "most"), [(8, 1, 1.0), (8, 2, 1.0), (10, 4, 0.5), (12, 5, 0.5)])
def test_fewest_of_all_there_are(little_search, n, seed, most):
    """Every set of half turns of a small wheel, on the linear wheel where the plan ends."""
    job = small_job(n, seed, most)
    found = plan(job, fewest="turns", to="limits", effort=10, seconds=60)
    assert found.proven
    assert found.turns.any()
    task = planner(job).task
    task = replace(task, state=found.after.state, turned=found.turns)
    amounts = np.arange(-most, most + 0.1, 0.5)
    scorer, fewest = Scorer(task, "turns"), np.inf
    rest = np.array(list(product(amounts, repeat=n - 3))).T
    for first in product(amounts, repeat=3):
        turns = np.vstack([np.repeat(np.array(first)[:, None], rest.shape[1], axis=1), rest])
        total = np.abs(turns).sum(axis=0)
        turns = turns[:, total < min(fewest, np.abs(found.turns).sum() + 0.1)]
        if turns.shape[1]:
            excess = scorer.excess(scorer.measure(scorer.felt(turns)), task.hard)
            fewest = min(fewest, np.abs(turns[:, excess < 1e-6]).sum(axis=0).min(initial=np.inf))
    assert fewest == pytest.approx(np.abs(found.turns).sum(), abs=1e-9)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")  # PuLP below 4, see pyproject.toml
@pytest.mark.parametrize("fewest", ["turns", "nipples", "hand"])
@pytest.mark.parametrize("n", [8, 12])
def test_another_solver_agrees(fewest, n):
    """The same model through PuLP and CBC, which share no code with HiGHS."""
    job = small_job(n, 1, 1.0)
    programme = Programme(planner(job, fewest).task, fewest)
    model = programme.model()
    ours = solve(model, Watch(60.0), grain=1e-6)
    assert ours.proven
    other = pulp.LpProblem("wheel", pulp.LpMinimize)
    columns = [pulp.LpVariable(f"x{k}", None if np.isinf(low) else low, None if np.isinf(high) else high,
                               "Integer" if whole else "Continuous")
               for k, (low, high, whole) in enumerate(zip(model.lower, model.upper, model.whole, strict=True))]
    other += pulp.lpSum(float(price) * x for price, x in zip(model.price, columns, strict=True))
    for row, low, high in zip(model.matrix, model.low, model.high, strict=True):
        inner = pulp.lpSum(float(row[k]) * columns[k] for k in np.flatnonzero(row))
        if np.isfinite(high):
            other += inner <= float(high)
        if np.isfinite(low):
            other += inner >= float(low)
    other.solve(pulp.PULP_CBC_CMD(msg=False, gapRel=0.0, timeLimit=60))
    assert pulp.LpStatus[other.status] == "Optimal"
    assert pulp.value(other.objective) == pytest.approx(ours.cost, abs=1e-4)


def test_search_answers_are_feasible_and_near():
    """The quick search alone: within a tenth of the proven fewest, nothing forbidden."""
    job = replace(random_job(0), work=Work(margin=0.0))
    task = planner(job).task
    relaxed = Programme(task, "turns").solve(Watch(5.0), relax=True)
    turns, _ = first_answer(Scorer(task, "turns"), relaxed.turns, Watch(60.0, effort=1.5))
    scorer = Scorer(task, "turns")
    assert scorer.excess(scorer.measure(scorer.felt(turns[:, None])), task.hard)[0] < 1e-6
    assert np.allclose(turns / 0.25, np.round(turns / 0.25))
    assert np.abs(turns).sum() >= relaxed.cost - 1e-6
    best = Programme(task, "turns").solve(Watch(30.0), ceiling=np.abs(turns).sum())
    assert np.abs(turns).sum() <= 1.10 * best.cost


@pytest.mark.parametrize(("seed", "effort"), [(1, 2.0), (3, 0.5), (7, 0.5)])
def test_random_job_lands_within_limits_and_keeps_them_on_the_way(seed, effort, monkeypatch):
    """Each pass carried out nipple by nipple on the nonlinear wheel; by search alone, and by branch and bound too."""
    job, asked = random_job(seed), []
    monkeypatch.setattr(planner_module, "improve", lambda *args: asked.append(args) or improve(*args))
    found = plan(job, fewest="turns", to="limits", effort=effort, seconds=60)
    assert bool(asked) == (effort > 1)
    assert found.status in ("proven", "best so far")
    assert not broken(found.after.values, resolved(job.wheel))
    assert np.allclose(sum(one.turns for one in found.passes), found.turns)
    limit, state = job.wheel.limits.max_tension, found.before.state
    came_in = state.tension
    for one in found.passes:
        began = state.tension
        for spoke in np.flatnonzero(one.turns):
            step = one.turns * (np.arange(job.wheel.n) == spoke)
            state = equilibrium(job.wheel, state.turns + step, state.own_shape, start=state)
            # Linear steps between ends that are followed exactly: some newtons.
            assert state.tension.max() <= one.peak_tension + 6.0
            top = np.where(began <= limit, limit, np.maximum(began, came_in) + 50.0)
            assert (state.tension <= top + 6.0).all()
            assert not state.slack.any()
    assert not broken(view(state).values, resolved(job.wheel))


def test_stuck_nipple_and_a_tight_near_side():
    """24 spokes, dished, the near side at its limit already, the rim toward the far flange, spoke 5 stuck."""
    wheel = with_limits(dished(24, cross=2), max_tension=1150.0)
    state = equilibrium(wheel, side_turns(wheel, right=0.25, left=1.2))
    assert state.tension[wheel.on_side("right")].max() > 1150
    assert state.dish < -0.5e-3
    job = Job(wheel, (full_reading(state),), Work(stuck=frozenset({5}), margin=0.0))
    found = plan(job, effort=0.5, seconds=60)
    assert found.status in ("proven", "best so far")
    assert found.turns[4] == 0
    assert found.verdict.side == "left"
    assert found.verdict.action == "loosen"
    assert "loosen the left side" in verdict_words(found.verdict)
    assert found.passes[0].verb == "loosen"
    assert not broken(found.after.values, resolved(wheel))
    assert max(one.peak_tension for one in found.passes) <= state.tension.max() + 50


def test_thread_longer_than_usual_is_used():
    """More than four turns of a nipple where the job allows them."""
    wide = Limits(max_tension=3000.0, min_tension=0.0, gap=1e-3, lateral_runout=2e-3, radial_runout=2e-3,
                  side_spread=0.9)
    wheel = front(tension=250.0, limits=wide)
    job = Job(wheel, (full_reading(equilibrium(wheel)),),
              Work(sides="right", max_turns=8.0, target_dish=4e-3, margin=0.0))
    found = plan(job, to="limits", effort=3, seconds=60)
    assert found.status in ("proven", "best so far")
    assert found.turns.max() > 2


def test_no_spoke_hangs_loose_on_the_way():
    """No least tension asked for: still no order of passes lets every spoke go slack between."""
    wheel = front(tension=250.0, limits=Limits(min_tension=0.0))
    state = equilibrium(wheel)
    passes, sound = order_passes(state, side_turns(wheel, right=1.0, left=-1.0), resolved(wheel))
    assert not sound or min(one.after.lowest for one in passes) >= 1.0
    assert passes


def test_nothing_bounds_a_plan_from_above():
    """A bound printed beside a plan is never above what a longer run finds."""
    job = replace(random_job(1), work=Work(margin=0.0))
    job = replace(job, wheel=replace(job.wheel, limits=Limits(gap=0.5e-3, lateral_runout=0.3e-3, radial_runout=0.3e-3,
                                                              side_spread=0.10)))
    short = plan(job, fewest="turns", to="limits", effort=0.25, seconds=60)
    longer = plan(job, fewest="turns", to="limits", effort=4, seconds=60)
    assert short.bound_turns > 0
    assert np.abs(longer.turns).sum() < np.abs(short.turns).sum()
    assert short.bound_turns <= np.abs(longer.turns).sum() + 1e-9


def test_missing_spoke_is_put_in_and_planned_from_slack():
    wheel = dished(missing=(7,))
    broken_wheel = equilibrium(wheel)
    put = spokes_put_in(broken_wheel)
    assert not put.wheel.spokes.missing
    # Drawn up to where it would begin to pull, and no further.
    assert abs(put.tension[6]) < 0.5
    assert np.allclose(put.lateral, broken_wheel.lateral, atol=1e-7)
    firmer = equilibrium(put.wheel, put.turns + 0.1 * (np.arange(32) == 6), put.own_shape, start=put)
    assert firmer.tension[6] > 10
    found = plan(Job(wheel, (full_reading(broken_wheel),)), effort=4, seconds=60)
    assert found.status in ("proven", "best so far")
    assert NewSpokes((7,)) in found.assumed
    assert NewSpokes((7,)) in found.first
    assert found.turns[6] > 1
    assert not broken(found.after.values, resolved(wheel))
    assert 7 in found.before.slack


def test_turns_already_made_use_up_the_thread():
    """``max_turns`` counts from the first reading: what a pass took is no longer there."""
    wheel = front()
    state = equilibrium(wheel, side_turns(wheel, left=1.0))
    job = Job(wheel, (full_reading(state),), Work(max_turns=1.0))
    fresh = planner(job).task
    assert fresh.highest.max() == 1.0
    assert fresh.lowest.min() == -1.0
    used = replace(job, passes=(Pass(1, ((1, 0.75), (2, -0.5))),))
    task = planner(used).task
    assert (task.highest[0], task.lowest[0]) == (0.25, -1.75)
    assert (task.highest[1], task.lowest[1]) == (1.5, -0.5)


def test_watch_stops_tells_and_shares_its_stop():
    told = []
    watch = Watch(100.0, lambda best, bound, gone: told.append((best, bound, gone)),
                  effort=50.0)
    part = watch.part(5.0)
    part.spend(2.0)
    assert part.left() == 3.0
    assert watch.left() == 48.0
    job = replace(random_job(5), work=Work(time=60.0))
    watch.stop()
    assert watch.left() == part.left() == 0.0
    found = plan(job, fewest="turns", to="limits", watch=watch)
    assert found.status in ("best so far", "not found")
    assert not found.proven
    assert told
    assert Watch(10.0, began=Watch(1.0).began - 9.0).seconds_left() < 1.01


def test_solver_finds_the_best_and_stops_at_the_first_where_asked():
    """A knapsack of four, by hand: 3 and 4 are worth most; the first answer is any that fits."""
    price, ones = -np.array([3.0, 5.0, 7.0, 9.0]), np.ones(4)
    model = Model(price, np.zeros(4), ones, ones.astype(bool), np.array([[2.0, 3.0, 4.0, 5.0]]), np.array([-np.inf]),
                  np.array([9.0]))
    best = solve(model, Watch(5.0))
    assert best.proven
    assert best.cost == pytest.approx(-16.0)
    assert list(best.x) == [0, 0, 1, 1]
    first = solve(model, Watch(5.0), first=True)
    assert first.x @ [2.0, 3.0, 4.0, 5.0] <= 9.0 + 1e-9
    assert solve(replace(model, high=np.array([-1.0])), Watch(5.0)).feasible is False


def test_gauge_alone_is_planned_by_whole_sides():
    """An unread dial is no reason to fiddle with single nipples."""
    found = plan(Job(front(), (gauge(3.0),)), effort=1.5, seconds=60)
    assert all(len(np.unique(found.turns[front().on_side(side)])) == 1 for side in ("right", "left"))


def test_no_proof_without_the_time_for_one():
    """A careful job whose proof takes some fifteen seconds: one second has a plan and claims nothing more."""
    limits = Limits(gap=0.5e-3, lateral_runout=0.3e-3, radial_runout=0.3e-3, side_spread=0.10)
    job = random_job(16)
    job = Job(replace(job.wheel, limits=limits), job.readings, Work(margin=0.0))
    found = plan(job, fewest="turns", to="limits", effort=0.75, seconds=60)
    assert found.turns is not None
    assert found.status == "best so far"
    assert not found.proven
    assert 0 < found.bound_turns < np.abs(found.turns).sum()


@pytest.mark.parametrize(("seed", "wishes", "effort"), [
    (16, {"fewest": "turns", "to": "limits"}, 0.4), (5, {}, 0.3), (5, {"fewest": "passes", "to": "limits"}, 0.3)])
def test_the_same_job_has_the_same_plan(seed, wishes, effort):
    """Ended by counted work, not by the clock, a search that isn't finished ends where it ended before."""
    job = replace(random_job(seed), work=Work(margin=0.0))
    first, second = (plan(job, effort=effort, seconds=300, **wishes) for _ in range(2))
    assert first.as_dict() == second.as_dict()
    assert first.turns is not None
    if seed == 16:
        assert first.status == "best so far"


def test_bound_stands_where_the_relaxation_of_the_limits_has_no_answer(monkeypatch):
    """Whole sides may keep limits that no relaxation near the wheel allows: the own bound is then all there is."""
    mine = planner(small_job(8, 1, 1.0))
    monkeypatch.setattr(bound, "least", lambda *told: None)
    turns = np.zeros(8)
    turns[:4] = 0.5
    found = Settled(turns, mine.before, 1.0, False, 0.7)
    assert bound.bound_of(mine.task, mine.hard, mine.watch, found) == 1.0
