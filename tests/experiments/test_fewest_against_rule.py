"""The numbers under Found of experiments/fewest_against_rule.py."""

import numpy as np
import pytest

from experiments import fewest_against_rule
from experiments.fewest_against_rule import SEEDS, draw, run
from tests.experiments.told import WORDS, Told
from wheelsim.measures.on_the_way import RISE_ABOVE


@pytest.fixture(scope="module")
def found():
    return run()


def test_found(found):
    told = Told(fewest_against_rule)
    assert found.within.all()
    told("within limits on all {}, with {:.1f} turns on average where {:.1f} are enough: {:.1f} times as many",
         WORDS[len(SEEDS)], found.rule.mean(), found.fewest.mean(), found.rule.mean() / found.fewest.mean())
    told("lifts a spoke up to {:.0f} N above its limit", found.rule_lifts.max())
    told("as on {} of the {}, by over {:.0f} N", WORDS[np.count_nonzero(found.came_in_above)], WORDS[len(SEEDS)],
         RISE_ABOVE)
    assert told.left == []


def test_fewest_is_fewer_on_every_wheel(found):
    assert (found.fewest < found.rule).all()


def test_what_no_plan_does_on_the_way(found):
    # Linear steps between exact ends, here and in the plan alike: but for rounding the same.
    assert (found.plan_lifts_within <= 0.01).all()
    assert (found.plan_lifts <= RISE_ABOVE + 0.01).all()
    assert (found.rule_lifts > RISE_ABOVE).any()


def test_lifts_counts_from_where_a_spoke_came_in():
    """A pass that only loosens a side lifts none of its own spokes, those above the limit included."""
    state = fewest_against_rule.uneven(3)
    right = np.array(state.wheel.on_side("right"))
    turns = np.zeros(state.wheel.n)
    turns[right] = -0.25
    lifted = fewest_against_rule.lifts(state, [turns])
    above = state.tension > state.wheel.limits.max_tension
    assert above[right].any()
    assert (lifted[right] <= 0.0).all()
    assert lifted[above] == pytest.approx(0.0, abs=1e-9)  # it stood there before the pass began


def test_figure_says_it(found):
    figure = draw(found)
    assert "times the turns that are enough" in " ".join(figure.get_suptitle().split())
    assert len(figure.axes[0].patches) == 2 * len(SEEDS)
    assert all("[" in axes.get_ylabel() for axes in figure.axes)
