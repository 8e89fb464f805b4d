"""The numbers under Found."""

import numpy as np

from experiments import tighter_is_not_stiffer
from tests.experiments.told import WORDS, Told
from wheelsim.units import MM


def test_found():
    told, found = Told(tighter_is_not_stiffer), tighter_is_not_stiffer.run()
    told("As long as no spoke is slack")
    for curve, words in (
            (found.front, "{:.0f} N/mm with hardly any tension, {:.0f} N/mm at its {:,.0f} N, {:.0f} N/mm at the "
                          "{:,.0f} N allowed, none at {:,.0f} N, where it buckles in {} waves"),
            (found.rear, "{:.0f} N/mm, {:.0f} N/mm at its {:,.0f} N, {:.0f} N/mm at the {:,.0f} N allowed, none at "
                         "{:,.0f} N, in {} waves")):
        told(words, curve.stiffness[0] * MM, curve.nominal * MM, curve.wheel.tension, curve.at_limit * MM,
             curve.wheel.limits.max_tension, curve.buckles, WORDS[curve.waves])
    told("is {:,.0f} and {:,.0f} N: the rear's allowed tension is past it", found.front.buckles / 2,
         found.rear.buckles / 2)
    assert found.rear.buckles / 2 < found.rear.wheel.limits.max_tension
    assert found.front.buckles / 2 > found.front.wheel.limits.max_tension
    told("Where a spoke hangs slack, the others at {:,.0f} N, the front has {:.0f} N/mm", found.front.wheel.tension,
         found.slack * MM)
    assert told.left == []



def test_stiffness_only_falls_and_to_nothing():
    found = tighter_is_not_stiffer.run()
    for curve in (found.front, found.rear):
        assert (np.diff(curve.stiffness) < 0).all()
        # Half a per cent short of buckling the buckling mode alone, all but gone, decides.
        assert curve.stiffness[-1] < 0.05 * curve.stiffness[0]


def test_draws():
    figure = tighter_is_not_stiffer.draw(tighter_is_not_stiffer.run())
    assert "137 at 1,000 N, none at 2,659 N" in " ".join(figure.get_suptitle().split())
    assert "[N/mm]" in figure.axes[0].get_ylabel()
    assert "[N]" in figure.axes[0].get_xlabel()
