"""Hidden wheels: the fault that was told, the same for the same seed."""

import numpy as np
import pytest

from wheelsim.estimation.estimate import estimate
from wheelsim.measures.bounds import broken
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.rule import by_rule
from wheelsim.practice.ending import best_plan, exact_job
from wheelsim.practice.faults import LEVELS, drawn_case, hidden_wheel, level_of

WHEELS = LEVELS[1:]
SEEDS = range(3)


def wrong(case, state=None):
    return set(broken(view(case.state if state is None else state).values, case.limits))


def turned(case, turns):
    return equilibrium(case.wheel, case.state.turns + turns, case.state.own_shape, start=case.state)


def whole(case, side, amount):
    turns = np.zeros(case.wheel.n)
    turns[case.wheel.on_side(side)] = amount
    return turned(case, turns)


@pytest.mark.parametrize("level", WHEELS, ids=lambda level: level.name)
def test_same_seed_same_wheel(level):
    one = hidden_wheel(level.name, 5).state
    drawn_case.cache_clear()
    same, other = (hidden_wheel(level.name, seed).state for seed in (5, 6))
    assert same is not one
    assert np.array_equal(one.turns, same.turns)
    assert np.array_equal(one.tension, same.tension)
    assert not np.array_equal(one.tension, other.tension)


@pytest.mark.parametrize("seed", SEEDS)
def test_near_side_has_no_room(seed):
    case = hidden_wheel("near-side", seed)
    assert wrong(case) == {"gap"}
    assert "max_tension" in wrong(case, whole(case, "right", 0.25))
    assert "max_tension" not in wrong(case, whole(case, "left", -0.25))


@pytest.mark.parametrize("seed", SEEDS)
def test_one_spoke_undone_is_a_good_wheel(seed):
    case = hidden_wheel("one-spoke", seed)
    spoke = int(np.argmax(np.abs(case.state.turns)))
    assert wrong(case) >= {"lateral_runout", "side_spread"}
    turns = np.zeros(36)
    turns[spoke] = -case.state.turns[spoke]
    assert not wrong(case, turned(case, turns))


@pytest.mark.parametrize(("name", "what"), [("true", "lateral_runout"), ("round", "radial_runout"),
                                            ("tension", "side_spread")])
@pytest.mark.parametrize("seed", SEEDS)
def test_each_has_its_fault(name, what, seed):
    found = wrong(hidden_wheel(name, seed))
    assert what in found
    assert found <= {what, "side_spread"}


@pytest.mark.parametrize("seed", SEEDS)
def test_rebuild_has_all_and_a_seized_nipple(seed):
    case = hidden_wheel("rebuild", seed)
    assert wrong(case) >= {"gap", "lateral_runout", "side_spread"}
    assert len(case.stuck) == 1


@pytest.mark.parametrize("level", [one for one in WHEELS if one.name != "bent-rim"], ids=lambda level: level.name)
@pytest.mark.parametrize("seed", SEEDS)
def test_all_others_can_be_mended(level, seed, plan_effort):
    """By the rule of thumb, or else by a plan: a level that none can pass would teach nothing."""
    plan_effort(2.0)
    case = hidden_wheel(level, seed)
    free = np.array([i + 1 not in case.stuck for i in range(case.wheel.n)])
    assert case.mendable
    assert by_rule(case.state, case.limits, free=free).within or best_plan(case)[1].within


def test_bent_rim_has_no_plan(plan_effort):
    plan_effort(2.0)
    case = hidden_wheel("bent-rim", 0)
    found, row = best_plan(case)
    assert (found.status, row, case.mendable) == ("none", None, False)


@pytest.mark.parametrize("name", ["near-side", "rebuild", "tension"])
def test_the_plan_starts_from_the_wheel_itself(name):
    case = hidden_wheel(name, 1)
    found = estimate(case.wheel, exact_job(case).last).state
    # A thirtieth of the limit on true, and the tension of a spoke to one in a hundred.
    assert found.lateral == pytest.approx(case.state.lateral, abs=1.5e-5)
    assert found.tension == pytest.approx(case.state.tension, abs=12.0)


def test_levels_by_number_and_name():
    assert level_of("2") == level_of(2) == level_of("near side") == level_of("Near-Side") == LEVELS[1]
    for bad in ("9", "", "dish", None):
        with pytest.raises(ValueError, match="expected 1 to 8, or which-way"):
            level_of(bad)
    for bad in (-1, 1.5, True, "1", 2**40):
        with pytest.raises(ValueError, match="expected a whole number"):
            hidden_wheel(2, bad)
    with pytest.raises(ValueError, match="exercises"):
        hidden_wheel(1, 0)
