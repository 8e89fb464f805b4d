"""Passes gathered from single turns keep the way on the nonlinear wheel where rounds of a side don't."""

from dataclasses import replace

import numpy as np
import pytest

from tests.benchmarks.jobs import SHOP, kept_on_the_way, random_job, within
from tests.wheels import make_wheel
from wheelsim.estimation.known import known
from wheelsim.job.job import Job, Work
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning import order
from wheelsim.planning.by_hand import stages
from wheelsim.planning.highs import Watch
from wheelsim.planning.order import in_stages, order_passes
from wheelsim.planning.plan import plan
from wheelsim.planning.planner import Planner
from wheelsim.planning.singles import names_others, singles_and_sides


def shop_job(seed):
    job = random_job(seed)
    return Job(replace(job.wheel, limits=SHOP), job.readings, Work(margin=0.0))


@pytest.mark.parametrize("seed", [2, 17])
def test_an_order_where_rounds_have_none(seed, monkeypatch):
    """Shop jobs whose cheapest plan has no order of whole rounds: gathered, it has one, of fewer passes."""
    job = shop_job(seed)
    found = plan(job, fewest="turns", to="limits", effort=0.5, seconds=600)
    assert within(found, job)
    assert kept_on_the_way(found, job)
    state, limits = found.before.state, found.limits
    gathered, sound = order_passes(state, found.turns, limits, ease=(False,))
    assert sound
    monkeypatch.setattr(order, "gathered", lambda *told: None)
    without, sound = order_passes(state, found.turns, limits, ease=(False,))
    assert not sound or len(without) > len(gathered)
    done = sum(one.turns for one in gathered)
    assert np.allclose(done, found.turns)
    # No nipple is turned by more than a half in one pass, none there and back.
    assert max(np.abs(one.turns).max() for one in gathered) <= 0.5
    assert np.abs([one.turns for one in gathered]).sum() == pytest.approx(np.abs(found.turns).sum())


def test_stages_are_done_one_after_the_other():
    """A nipple first, then a side: no pass mixes them, and the second part starts where the first ends."""
    wheel = shop_job(0).wheel
    state = equilibrium(wheel, np.zeros(wheel.n))
    first, side = np.zeros(wheel.n), np.zeros(wheel.n)
    first[4], side[wheel.on_side("left")] = 0.5, -0.25
    passes = in_stages(state, [first, side], plan(shop_job(0), effort=0.1).limits, alike_most=0.25, seconds=60.0,
                       promise=None, gauge_again=True)
    assert [one.number for one in passes] == list(range(1, len(passes) + 1))
    split = next(k for k, one in enumerate(passes) if one.gauge_again)
    assert sum(one.turns for one in passes[:split + 1]) == pytest.approx(first)
    assert sum(one.turns for one in passes[split + 1:]) == pytest.approx(side)
    assert passes[split + 1].before.dish == passes[split].after.dish
    assert view(state).dish == passes[0].before.dish


def turns_of(wheel, **sides):
    turns = np.zeros(wheel.n)
    for side, amount in sides.items():
        turns[wheel.on_side(side)] = amount
    return turns


def test_a_side_counts_as_turned_by_what_leaves_fewest_to_name():
    """Seven nipples by a half, two by 5/8, seven by 3/4: the side by a half, nine of them a little more before."""
    wheel = make_wheel(32, cross=3)
    turns, left = np.zeros(32), wheel.on_side("left")
    turns[left] = [-0.5] * 7 + [-0.625] * 2 + [-0.75] * 7
    singles, sides = singles_and_sides(turns, wheel)
    assert sides == pytest.approx(turns_of(wheel, left=-0.5))
    assert singles + sides == pytest.approx(turns)
    assert np.count_nonzero(singles) == 9
    # One that is turned less than its side is left out of it, and none is turned there and back.
    turns[left] = [-0.5] * 14 + [-0.25, 0.25]
    singles, sides = singles_and_sides(turns, wheel)
    assert sides[left] == pytest.approx([-0.5] * 14 + [0.0, 0.0])
    assert singles[left] == pytest.approx([0.0] * 14 + [-0.25, 0.25])


def test_gauge_again_stands_before_the_sides():
    """An odd spoke, single nipples, sides: three parts; without sides none comes before them."""
    wheel = make_wheel(32, cross=3)
    turns = turns_of(wheel, left=-0.25)
    turns[[4, 8]] = 0.5, 0.25
    parts, sides_last = stages(turns, wheel, (5,), true_first=True)
    assert len(parts) == 3
    assert sides_last
    turns[wheel.on_side("left")] = 0.0
    parts, sides_last = stages(turns, wheel, (5,), true_first=True)
    assert len(parts) == 2
    assert not sides_last


@pytest.mark.parametrize("n", [20, 32])
def test_nipples_that_may_not_be_named_go_with_their_side(n):
    """A stuck one stays where it is, and those that may be named may be more than half of a side."""
    job = Job(make_wheel(n, cross=2 if n == 20 else 3), (), Work(margin=0.0, stuck=frozenset({7})))
    task = Planner(known(job), "hand", "aims", Watch(1.0)).task
    free = np.ones(n, dtype=bool)
    free[6] = False
    mine = np.array(job.wheel.on_side("right"))
    may = np.zeros(n, dtype=bool)
    may[mine[:6]] = True
    task = replace(task, nameable=may)
    assert not names_others(turns_of(job.wheel, right=0.25) * free, task)
    turns = turns_of(job.wheel, right=0.25) * free
    turns[mine[:6]] = 0.5 * free[mine[:6]]
    assert not names_others(turns, task)
    turns[mine[-1]] = 0.5
    assert names_others(turns, task)
