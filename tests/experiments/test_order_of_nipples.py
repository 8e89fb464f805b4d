"""The numbers under Found."""

import numpy as np
import pytest

from experiments import order_of_nipples
from experiments.common import dished_rear
from tests.experiments.told import Told
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return order_of_nipples.run()


def test_found(found):
    told = Told(order_of_nipples)
    told("The end is {:,.0f} N", found.highest["once round"][-1])
    told("the highest spoke has {:,.0f} N once round from the valve, {:,.0f} N with every other one first, {:,.0f} N "
         "by opposite pairs", *(one.max() for one in found.highest.values()))
    told("up to {:.2f} mm on the way once round, {:.2f} mm with every other one first, {:.2f} mm by opposite pairs",
         *(one.max() / MM for one in found.true.values()))
    assert told.left == []


def test_all_orders_turn_the_same_nipples_and_end_alike(found):
    mine = dished_rear().on_side("right")
    for name, order in order_of_nipples.orders(mine).items():
        assert sorted(order) == mine
        assert found.highest[name][-1] == pytest.approx(found.highest["once round"][-1], abs=1e-3)
        assert found.true[name][-1] < 1e-6


def test_opposite_pairs_are_opposite():
    mine = dished_rear().on_side("right")
    pairs = np.reshape(order_of_nipples.orders(mine)["opposite pairs"], (-1, 2))
    assert (np.diff(pairs) == dished_rear().n / 2).all()


def test_draws(found):
    figure = order_of_nipples.draw(found)
    assert "1,307" in figure.get_suptitle()
    assert "N]" in figure.axes[0].get_ylabel()
    assert "mm]" in figure.axes[1].get_ylabel()
