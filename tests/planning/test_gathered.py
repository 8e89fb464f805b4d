"""Passes gathered from single turns keep the way on the nonlinear wheel where rounds of a side don't."""

from dataclasses import replace

import numpy as np
import pytest

from tests.benchmarks.jobs import SHOP, kept_on_the_way, random_job, within
from wheelsim.job.job import Job, Work
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning import order
from wheelsim.planning.order import in_stages, order_passes
from wheelsim.planning.plan import plan


def shop_job(seed):
    job = random_job(seed)
    return Job(replace(job.wheel, limits=SHOP), job.readings, Work(margin=0.0))


@pytest.mark.parametrize("seed", [2, 17])
def test_an_order_where_rounds_have_none(seed, monkeypatch):
    """Shop jobs whose cheapest plan has no order of whole rounds: gathered, it has one, of fewer passes."""
    job = shop_job(seed)
    found = plan(job, fewest="turns", to="limits", effort=1.5, seconds=600)
    assert within(found, job)
    assert kept_on_the_way(found, job)
    state, limits = found.before.state, found.limits
    gathered, sound = order_passes(state, found.turns, limits, eased=False)
    assert sound
    monkeypatch.setattr(order, "gathered", lambda *told: None)
    without, sound = order_passes(state, found.turns, limits, eased=False)
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
