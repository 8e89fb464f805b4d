"""Common practice, no source: what every wheel truer knows, asked of the model."""

import numpy as np
import pytest

from tests.wheels import dished, front, side_turns
from wheelsim.estimation.estimate import estimate
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.report.words.passes import SPANNER

GAP = 3e-3
# set on, gap at, where the rim lies, which way it must move
FOUR_CASES = [
    ("right", "hub", "left", "right"),
    ("right", "feet", "right", "left"),
    ("left", "hub", "right", "left"),
    ("left", "feet", "left", "right"),
]


@pytest.mark.parametrize(("set_on", "gap_at", "lies", "move"), FOUR_CASES)
def test_four_cases_of_the_gauge(set_on, gap_at, lies, move):
    """Common practice, no source: where the rim lies for each way the gauge is set and read."""
    dish = Gauge(set_on, gap_at, GAP, GAP).dish
    assert dish == pytest.approx({"left": -1.5e-3, "right": 1.5e-3}[lies])
    wheel = front()
    turns = side_turns(wheel, **{move: 0.25})
    shift = equilibrium(wheel, turns).dish
    assert np.sign(shift) == -np.sign(dish), "tightening the side it must move to brings it back"


@pytest.mark.parametrize(("set_on", "gap_at", "lies", "move"), FOUR_CASES)
def test_gauge_reaches_the_state(set_on, gap_at, lies, move):
    state = estimate(front(), Reading(gauge=Gauge(set_on, gap_at, GAP, GAP))).state
    # A free side offset leaves the reading its say: within a thousandth.
    assert state.dish == pytest.approx(Gauge(set_on, gap_at, GAP, GAP).dish, rel=1e-3)


def test_gap_is_twice_the_offset():
    """Common practice, no source."""
    state = equilibrium(front(), side_turns(front(), right=0.5))
    assert view(state).gap == pytest.approx(2 * state.lateral.mean())
    assert Gauge("left", "hub", 2e-3, 2e-3).dish == pytest.approx(1e-3)


def test_one_foot_shows_four_times_the_offset():
    """Common practice, no source: with one foot resting the other shows both ends' worth."""
    assert Gauge("right", "one foot", 4e-3, 4e-3).dish == pytest.approx(1e-3)


@pytest.mark.parametrize("wheel", [front(), dished()], ids=["front", "dished"])
def test_two_ways_to_move_right(wheel):
    """Common practice, no source: tightening right or loosening left moves the rim right; the reverse, left."""
    assert equilibrium(wheel, side_turns(wheel, right=0.25)).dish > 0.1e-3
    assert equilibrium(wheel, side_turns(wheel, left=-0.25)).dish > 0.1e-3
    assert equilibrium(wheel, side_turns(wheel, right=-0.25)).dish < -0.1e-3
    assert equilibrium(wheel, side_turns(wheel, left=0.25)).dish < -0.1e-3


@pytest.mark.parametrize("wheel", [front(), dished()], ids=["front", "dished"])
@pytest.mark.parametrize("side", ["right", "left"])
def test_tightening_one_side_raises_both(wheel, side):
    """Common practice, no source; and loosening either lowers both."""
    before = view(equilibrium(wheel)).mean
    tighter = view(equilibrium(wheel, side_turns(wheel, **{side: 0.25}))).mean
    looser = view(equilibrium(wheel, side_turns(wheel, **{side: -0.25}))).mean
    for name in before:
        assert looser[name] + 10 < before[name] < tighter[name] - 10


def test_near_flange_is_tighter():
    """Common practice, no source: the flange nearer the centre carries more; the far side some two thirds or less."""
    mean = view(equilibrium(dished())).mean
    assert mean["left"] < 0.67 * mean["right"]
    mirrored = dished(right=36e-3, left=19e-3)
    mean = view(equilibrium(mirrored)).mean
    assert mean["right"] < 0.67 * mean["left"]


def test_far_flange_moves_a_dished_rim_more_for_less():
    """Common practice, no source: on a dished rear the far side moves the rim more, for less near-side tension.

    Derived: as the flanges' distances from the hub's middle, nearly.
    """
    wheel = dished(36, right=18e-3, left=36e-3)
    before = view(equilibrium(wheel))
    near = view(equilibrium(wheel, side_turns(wheel, right=0.25)))
    far = view(equilibrium(wheel, side_turns(wheel, left=0.25)))
    # The rim also gives inward, which takes about a sixth off.
    assert abs(far.dish) / near.dish == pytest.approx(36 / 18, rel=0.25)
    assert far.mean["right"] - before.mean["right"] < (near.mean["right"] - before.mean["right"]) / 2


def test_loosening_first_keeps_the_near_side_lower_on_the_way():
    """Common practice, no source: when both sides must move, loosen first, then tighten."""
    wheel = dished()
    loosen, tighten = side_turns(wheel, left=-0.5), side_turns(wheel, right=0.25)
    first = equilibrium(wheel, loosen).tension.max()
    other = equilibrium(wheel, tighten).tension.max()
    assert first < other - 100


def test_which_way_the_spanner_turns():
    """Common practice, no source: clockwise seen from the tyre side tightens."""
    assert SPANNER["tighten"].startswith("clockwise")
    assert "tyre side" in SPANNER["tighten"]
    assert SPANNER["loosen"].startswith("anticlockwise")


def test_one_nipple_speaks_to_its_neighbours():
    """Common practice, no source: tightening a spoke eases its own side's neighbours and loads the other side's."""
    wheel = front()
    change = equilibrium(wheel, 0.25 * (np.arange(36) == 10)).tension - 1000
    assert change[10] > 60
    assert change[8] < -10
    assert change[12] < -10


