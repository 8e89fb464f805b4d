"""The numbers under Found."""

import numpy as np
import pytest

from experiments import turn_of_a_side
from experiments.common import front, with_flanges
from experiments.turn_of_a_side import CROSSES
from tests.experiments.told import Told
from wheelsim.units import MM
from wheelsim.wheel.geometry import LAT, wheel_geometry


@pytest.fixture(scope="module")
def found():
    return turn_of_a_side.run()


def test_found(found):
    told, picked = Told(turn_of_a_side), [0, 6, 8]
    narrow, shipped, wide = turn_of_a_side.SPACING[picked] / MM
    shift, _, promised = found.spacing[picked].T / MM
    told("Flanges {:.0f} mm apart give {:.2f} mm, {:.0f} mm apart (the shipped front wheel) {:.2f} mm, {:.0f} mm apart "
         "{:.2f} mm", narrow, shift[0], shipped, shift[1], wide, shift[2])
    assert 2 * front().hub.left.offset / MM == pytest.approx(shipped)
    told("thread and lean alone promise {:.2f}, {:.2f} and {:.2f} mm", *promised)
    told("the tension of {:,.0f} N holds back", front().tension)
    told("Barely tensioned the shipped wheel's rim goes the whole {:.2f} mm", found.loose / MM)
    fewest, *_, most = CROSSES
    told("Twenty-four spokes give {:.2f} mm, {} give {:.2f} mm", found.count[0, 0] / MM, most, found.count[-1, 0] / MM)
    thin, thick = turn_of_a_side.DIAMETERS[[0, -1]] / MM
    told("Spokes of {:.1f} mm give {:.2f} mm, of {:.1f} mm {:.2f} mm", thin, found.gauge[0, 0] / MM, thick,
         found.gauge[-1, 0] / MM)
    told("Mean tension rises {:.0f} N whatever the flanges", found.spacing[:, 1].mean())
    assert np.ptp(found.spacing[:, 1]) < 1.0
    told("{:.0f} N with {} and {:.0f} N with {} spokes", found.count[0, 1], fewest, found.count[-1, 1], most)
    told("{:.0f} N with {:.1f} mm and {:.0f} N with {:.1f} mm", found.gauge[0, 1], thin, found.gauge[-1, 1], thick)
    assert told.left == []


def test_thread_and_lean_by_hand(found):
    """Half of the thread's way of a quarter turn, over the sine of the lean, from the wheel's measures."""
    wheel = front()
    rim, hub = wheel.rim.seat_radius, wheel.hub.left.hole_circle / 2
    turned = 4 * np.pi * wheel.spokes.left.cross / wheel.n  # of a spoke's hub hole against its rim hole
    plan = np.sqrt(rim**2 + hub**2 - 2 * rim * hub * np.cos(turned))
    for far, row in zip(turn_of_a_side.SPACING, found.spacing, strict=True):
        sine = far / 2 / np.hypot(far / 2, plan)
        assert row[2] == pytest.approx(0.25 * wheel.spokes.thread_pitch / 2 / sine, rel=1e-6)


def test_what_is_missing_is_what_the_tension_holds_back(found):
    """A spoke of stiffness k, length l and tension T that leans by the sine s holds a rim that goes sideways with
    k s^2 + T (1 - s^2) / l, and thread and lean know the first part only."""
    for far, (shift, gain, promised) in zip(turn_of_a_side.SPACING, found.spacing, strict=True):
        g = wheel_geometry(with_flanges(front(), far / 2, far / 2))
        sine, tension = np.abs(g.axis[:, LAT]).mean(), front().tension + gain / 2
        own = g.stiffness.mean() * sine**2
        held = promised * own / (own + tension * (1 - sine**2) / g.length.mean())
        # The rim twists under the pulls a little, which this leaves out.
        assert promised - shift == pytest.approx(promised - held, rel=0.1)
    # A newton instead of a thousand holds back a thousandth of it.
    assert found.loose == pytest.approx(found.spacing[6, 2], rel=1e-3)



def test_what_the_sentence_says(found):
    assert (np.diff(found.spacing[:, 0]) < 0).all()
    # "Doesn't matter": less over twice as many spokes than the flanges do in five millimetres.
    assert np.ptp(found.count[:, 0]) < np.abs(np.diff(found.spacing[:, 0])).min()


def test_draws(found):
    figure = turn_of_a_side.draw(found)
    assert "0.60 mm at 40 mm, 0.38 mm at 80 mm" in " ".join(figure.get_suptitle().split())
    assert all("[" in axes.get_xlabel() for axes in figure.axes[3:])
