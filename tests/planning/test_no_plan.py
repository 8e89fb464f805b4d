"""Limits that conflict: what stands in the way of a plan, and when none may be said."""

from dataclasses import replace

import numpy as np
import pytest

from tests.planning.test_plan import full_reading
from tests.planning.test_plan_proof import planner
from tests.wheels import dished, front, side_turns, with_limits
from wheelsim.job.job import Job, Work
from wheelsim.measures.bounds import broken, resolved
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.highs import Watch
from wheelsim.planning.hindrance import what_blocks
from wheelsim.planning.plan import plan
from wheelsim.planning.programme import Programme
from wheelsim.planning.relaxed import relaxation
from wheelsim.report.words.planning import plan_advice_words
from wheelsim.report.words.verdict import verdict_words
from wheelsim.wheel.parts import Limits


def conflict(**work):
    """A front 2 mm off that may only be loosened, its tension low already."""
    wheel = with_limits(front(tension=420.0), min_tension=540.0)
    state = equilibrium(wheel, side_turns(wheel, left=0.6))
    return Job(wheel, (full_reading(state),), Work(direction="loosen", margin=0.0, **work))


def test_no_plan_says_what_would_allow_one():
    """Each limit named alone, by the least that would do: with so much a plan exists in fractions, with less none."""
    job = conflict()
    found = plan(job, to="limits", effort=5, seconds=60)
    assert found.status == "none"
    names = {one.name: one for one in found.blocking}
    assert {"gap", "min_tension"} <= set(names)
    assert all(one.alone for one in found.blocking)
    why = verdict_words(found.verdict)
    assert "one of these would allow it" in why
    assert f"lowest tension would have to be {names['min_tension'].needed:.0f} N instead of 540 N" in why
    assert ", or " in why
    one = planner(job, to="limits")
    relaxed, task = relaxation(one.task, one.aims, one.watch)
    assert not relaxed.feasible  # and the task is about the state where the wheel comes nearest
    for name, scale in (("gap", 1e-3), ("min_tension", 1.0)):
        for share, feasible in ((1.001, True), (0.9, False)):
            bound = getattr(task.hard, name)
            moved = bound + share * (names[name].needed * scale - bound)
            easier = replace(task, aims=replace(task.hard, **{name: moved}))
            relaxed = Programme(easier, "turns").solve(Watch(5.0), relax=True)
            assert relaxed.feasible is feasible


def test_none_is_not_said_of_what_the_real_wheel_can_do():
    """1 1/2 turns too tight on the left, only to be loosened: about the start a line refuses what 1 1/4 turns reach."""
    limits = Limits(gap=1.25e-3, min_tension=570.0, max_tension=1500.0, side_spread=0.2)
    wheel = dished(tension=1000.0, limits=limits)
    state = equilibrium(wheel, side_turns(wheel, left=1.5))
    after = equilibrium(wheel, state.turns + side_turns(wheel, left=-1.25), start=state)
    assert not broken(view(after).values, resolved(wheel))
    found = plan(Job(wheel, (full_reading(state),), Work(direction="loosen", margin=0.0)), to="limits",
                 effort=2.5, seconds=60)
    assert found.status in ("proven", "best so far")
    assert not broken(found.after.values, resolved(wheel))


def test_limits_that_must_give_together():
    """Nothing may be turned: gap, true and tension all stand, and none alone would be enough."""
    wheel = front()
    state = equilibrium(wheel, side_turns(wheel, left=0.8) + 0.3 * np.random.default_rng(2).standard_normal(36))
    job = Job(wheel, (full_reading(state),), Work(stuck=frozenset(range(1, 37)), margin=0.0))
    task = planner(job).task
    blocking = what_blocks(task, resolved(wheel), Watch(5.0))
    assert len(blocking) > 1
    assert not any(one.alone for one in blocking)
    # With no turns, what is needed is what stands.
    stands = view(planner(job).state).values
    for one in blocking:
        if one.unit == "mm":
            assert one.needed == pytest.approx(stands[one.name] * 1e3, abs=2e-3)


def test_bent_rim_is_no_matter_for_nipples():
    """A kink of 3 mm in the rim itself, every spoke as it should be."""
    wheel = front(limits=Limits(side_spread=0.10, lateral_runout=0.3e-3, radial_runout=0.3e-3))
    angle = np.asarray(wheel.rim.hole_angles) - np.pi
    kink = 3e-3 * np.exp(-((angle / 0.35) ** 2))
    state = equilibrium(wheel, own_shape=np.stack([kink - kink.mean(), np.zeros(36)]))
    found = plan(Job(wheel, (full_reading(state),)), to="limits", effort=2.5, seconds=60)
    assert found.status in ("none", "not found")
    bent = [line for line in map(plan_advice_words, found.advice) if line.startswith("the rim itself is bent")]
    assert "straightened or replaced" in bent[0]
