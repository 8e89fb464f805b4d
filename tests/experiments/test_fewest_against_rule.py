"""The numbers under Found of experiments/fewest_against_rule.py."""

import pytest

from experiments import fewest_against_rule
from experiments.fewest_against_rule import SEEDS, draw, run


@pytest.fixture(scope="module")
def found():
    return run()


def test_numbers_under_found(found):
    assert found.proven.all()
    assert found.within.all()
    text = " ".join(fewest_against_rule.__doc__.split())
    # As printed there.
    assert f"with {found.rule.mean():.1f} turns on average where {found.fewest.mean():.1f} are enough" in text
    assert f": {found.rule.mean() / found.fewest.mean():.1f} times as many" in text
    worst = (found.highest - found.limit).argmax()
    assert f"spokes up to {found.highest[worst]:,.0f} N where {found.limit[worst]:,.0f} N is allowed" in text


def test_fewest_is_fewer_on_every_wheel(found):
    assert (found.fewest < found.rule).all()


def test_figure_says_it(found):
    figure = draw(found)
    assert "times the turns that are enough" in " ".join(figure.get_suptitle().split())
    assert len(figure.axes[0].patches) == 2 * len(SEEDS)
    assert all("[" in axes.get_ylabel() for axes in figure.axes)
