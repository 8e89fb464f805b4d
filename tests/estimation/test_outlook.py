"""What may happen: intervals that hold, and a chance that falls with what is not known."""

from dataclasses import replace

import numpy as np
import pytest

from tests.estimation.test_course import WHEEL, N, read
from wheelsim import Stand
from wheelsim.estimation.known import Known
from wheelsim.estimation.outlook import outlook
from wheelsim.files.reader import sample_job
from wheelsim.job.job import Job
from wheelsim.measures.bounds import resolved
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.errors import ToolErrors
from wheelsim.readings.simulated import Tools
from wheelsim.wheel.parts import Limits

SURE = ToolErrors(1e-3, 1e-3, 1e-5)


def test_json_of_predict_and_plan():
    stand = Stand(Job(WHEEL, (read(Tools(), equilibrium(WHEEL, 0.5 * np.isin(np.arange(N), WHEEL.on_side("left")))),)))
    for found in (stand.predict(left="-1/4"), stand.plan(effort=0.2, seconds=60)):
        ahead = found.as_dict()["outlook"]
        low, high = ahead["gap_mm"]
        assert low < found.after.gap * 1e3 < high
        assert ahead["highest_N"][0] < ahead["highest_N"][1]
        assert 0 <= ahead["chance_within"] <= 1
        assert ahead["draws"] == 10_000


def test_chance_is_the_share_within():
    """A wheel known well within its limits, and one whose gap can't be."""
    state = equilibrium(WHEEL)
    job = Job(replace(WHEEL, limits=Limits(max_tension=1500.0)), (read(Tools(), state),), errors=SURE)
    assert Stand(job).predict().outlook.chance_within > 0.97
    assert Stand(job).predict(left="1/2").outlook.chance_within < 0.01


def test_intervals_hold_over_wheels_turned_by_an_erring_hand():
    """Known wheels, turned with a thread that gives 85 to 100 per cent and a hand that errs: 95 in 100, or near it."""
    rng = np.random.default_rng(0)
    turns = np.zeros(N)
    turns[WHEEL.on_side("right")] = 0.5
    held = []
    received = equilibrium(WHEEL, 0.2 * rng.standard_normal(N))
    job = Job(WHEEL, (read(Tools(), received),), errors=SURE)
    ahead = Stand(job).predict(right="1/2").outlook
    for _ in range(60):
        real = rng.uniform(0.85, 1.0) * turns + (turns != 0) * rng.normal(0, 0.02, N)
        after = equilibrium(WHEEL, received.turns + real, start=received)
        held.append((ahead.gap[0] <= 2 * after.dish <= ahead.gap[1],
                     ahead.highest[0] <= after.tension.max() <= ahead.highest[1]))
    assert np.mean(held, axis=0).min() > 0.85
    # Not so wide that they say nothing: a half turn of the side moves the gauge some 1.5 mm.
    assert ahead.gap[1] - ahead.gap[0] < 0.8e-3


def test_a_turn_never_gives_more_than_its_pitch():
    """What is not learnt is lost, never gained: the likeliest gap lies at one end of the interval."""
    job = Job(WHEEL, (read(Tools(), equilibrium(WHEEL)),), errors=SURE)
    told = Stand(job).predict(right="1")
    low, high = told.outlook.gap
    assert high - told.after.gap < 0.6 * (told.after.gap - low)
    assert told.outlook.draws == pytest.approx(10_000)


def test_a_check_between_passes_is_worth_something():
    """What went astray in early passes is put right after a later check: the chance rises from pass to pass."""
    found = Stand(sample_job()).plan(effort=0.2, seconds=60).outlook
    chances = (found.chance_within, *found.with_check)
    assert len(chances) == 3
    assert list(chances) == sorted(chances)
    assert found.with_check[found.check_after - 1] > found.chance_within + 0.03
    told = found.as_dict()
    assert told["check_after_pass"] == found.check_after
    assert told["chance_with_check_after"] == pytest.approx(found.with_check, abs=1e-4)


def test_on_the_way_it_rises_higher_than_at_the_end():
    """Right tightened, then loosened by as much: the end is where it began, the way is not."""
    state = equilibrium(WHEEL)
    turns = 0.25 * np.isin(np.arange(N), WHEEL.on_side("right"))
    up = equilibrium(WHEEL, turns)
    found = Known(Job(WHEEL, (read(Tools(), state),), errors=SURE)).found
    ahead = outlook(found, [found.state, up, found.state], [turns, -turns], resolved(WHEEL))
    assert ahead.highest_on_the_way[0] > ahead.highest[1]
    # The highest of many spokes, each known to some thirty newtons, lies somewhat above that of the likeliest wheel.
    assert up.tension.max() < np.mean(ahead.highest_on_the_way) < 1.1 * up.tension.max()


def test_bands_of_each_spoke_hold_the_likeliest_wheel():
    told = Stand(sample_job()).predict(left="-1/4")
    for (low, high), now in ((told.outlook.lateral, told.after.state.edge), (told.outlook.tension,
                                                                            told.after.state.tension)):
        assert (low < now).all()
        assert (high > now).all()
