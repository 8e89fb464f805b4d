"""The nipple that makes a wheel uneven is found by what all spokes show, not by which of them is least alike."""

import numpy as np
import pytest

from tests.wheels import dished, front
from wheelsim.estimation.known import known
from wheelsim.job.job import Job
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.stands_out import stands_out
from wheelsim.readings.reading import Reading


def found_on(wheel, turns, spread=20.0, seed=0):
    """What stands out of a wheel turned so, its spokes otherwise apart by ``spread`` [N] and all of them read."""
    rng = np.random.default_rng(seed)
    turns = turns + rng.normal(0, 1, wheel.n) * spread / np.abs(np.diag(equilibrium(wheel).influence.tension))
    state = equilibrium(wheel, turns)
    read = Reading("", tension=tuple((i + 1, float(v)) for i, v in enumerate(state.tension)))
    job = known(Job(wheel, (read,)))
    return stands_out(job, state)


@pytest.mark.parametrize("wheel", [front(), dished()], ids=["front", "dished rear"])
@pytest.mark.parametrize("turn", [-1.0, 1.0])
@pytest.mark.parametrize("spoke", [3, 10])
def test_one(wheel, turn, spoke):
    turns = np.zeros(wheel.n)
    turns[spoke - 1] = turn
    assert found_on(wheel, turns) == (spoke,)


def test_two_neighbours_one_up_one_down():
    turns = np.zeros(36)
    turns[[8, 10]] = 1.0, -1.0
    assert set(found_on(front(), turns)) == {9, 11}


@pytest.mark.parametrize("seed", range(5))
def test_none_of_an_even_wheel_nor_of_an_uneven_one(seed):
    wheel = front()
    assert found_on(wheel, np.zeros(wheel.n), seed=seed) == ()
    assert found_on(wheel, np.zeros(wheel.n), spread=150.0, seed=seed) == ()
