"""The dish gauge: what a rim out of true makes of it, by an exact rule and by a gauge built of straight lines."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import front
from wheelsim.estimation.estimate import estimate
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.errors import GAUGE_SD
from wheelsim.readings.gauge import Gauge, feet_deviation, gauge_reading, saddle_error
from wheelsim.readings.reading import Reading

ANGLE = 2 * np.pi * (np.arange(36) + 0.5) / 36
SIZE = 0.6e-3  # of one wave [m]
QUARTER = np.pi / 2


def waves(number, phase=ANGLE[0], dish=-1.0e-3):
    """A rim at ``dish`` in so many waves, a crest at the first station."""
    return dish + SIZE * np.cos(number * (ANGLE - phase))


def solid_gauge(lateral, set_at, read_at, *, flange=0.05, rim_width=0.02, radius=0.3):
    """Gap that a stiff gauge shows at its pointer when set on the right face and read on the left. [m]

    Plus: daylight between the hub's left face and the pointer. Minus: the pointer meets the face first, and
    the gauge stands that far off the rim. Points in (right, up of the gauge's own plane); stations of the rim
    where the feet stand, half a turn apart.
    """
    half_turn = len(lateral) // 2

    def beam_at_axle(station, side):
        ends = [(lateral[k % len(lateral)] + side * rim_width / 2, up) for k, up in
                ((station, radius), (station + half_turn, -radius))]
        (x1, y1), (x2, y2) = ends
        return x1 + (x2 - x1) * (0 - y1) / (y2 - y1)

    reach = flange - beam_at_axle(set_at, +1)  # beam to pointer's tip, set to touch the right face
    tip = beam_at_axle(read_at, -1) - reach  # flipped: the pointer now reaches to the left
    return -flange - tip


@pytest.mark.parametrize("seed", range(5))
def test_rule_agrees_with_a_solid_gauge(seed):
    """Derived: twice the dish, the feet's deviation when set and the same when read."""
    rng = np.random.default_rng(seed)
    lateral = rng.normal(0.5e-3, 1e-3, 36)
    set_at, read_at = rng.integers(36, size=2)
    shown = gauge_reading(ANGLE, lateral, ANGLE[set_at], ANGLE[read_at])
    # Sums of millimetres: rounding only. The rule is signed like the dish, and set right the hub's gap means left.
    assert -solid_gauge(lateral, set_at, read_at) == pytest.approx(shown, abs=1e-15)


@pytest.mark.parametrize("dish", [-1.5e-3, 0.8e-3])
def test_words_agree_with_a_solid_gauge(dish):
    """Set on the right and read on the left, then the other way about: four ways to see one true rim's offset."""
    for set_on, lies in (("right", dish), ("left", -dish)):
        # The wheel seen from its other side is a wheel with left and right exchanged.
        daylight = solid_gauge(np.full(36, lies), 3, 11)
        gap_at = "hub" if daylight > 0 else "feet"
        # Rounding only.
        assert Gauge(set_on, gap_at, abs(daylight), abs(daylight)).dish == pytest.approx(dish, rel=1e-9)


def test_one_foot_resting_doubles_the_gap():
    """A beam whose middle the hub holds off the rim, tipped until one end rests: the other end stands off twice that.

    Derived, by the lever; common practice, no source, has it as four times the offset.
    """
    dish, radius = 0.5e-3, 0.3
    level = -solid_gauge(np.full(36, dish), 0, 0)
    tip = np.arctan(level / radius)
    other = level + radius * np.tan(tip)
    # Rounding only.
    assert Gauge("right", "one foot", other, other).dish == pytest.approx(dish, rel=1e-9)
    assert Gauge("right", "feet", level, level).dish == pytest.approx(dish, rel=1e-9)


@pytest.mark.parametrize("number", [1, 3, 5, 7])
@pytest.mark.parametrize("place", [0, 4, 9])
def test_odd_waves_cancel(number, place):
    """Derived: opposite feet stand on a crest and in a trough."""
    lateral = waves(number)
    # Rounding only: the feet stand at stations.
    assert feet_deviation(ANGLE, lateral, ANGLE[[place]]) == pytest.approx([0.0], abs=1e-15)
    assert gauge_reading(ANGLE, lateral, ANGLE[place], ANGLE[0]) == pytest.approx(-2.0e-3, abs=1e-15)


def test_saddle_doubles_at_the_same_place():
    """Derived: the crest's height when set and again when read; a quarter round the same, the other way."""
    lateral = waves(2)
    crest, trough = ANGLE[0], ANGLE[9]
    # Rounding only.
    assert gauge_reading(ANGLE, lateral, crest, crest) == pytest.approx(-2.0e-3 + 2 * SIZE, abs=1e-15)
    assert gauge_reading(ANGLE, lateral, trough, trough) == pytest.approx(-2.0e-3 - 2 * SIZE, abs=1e-15)
    assert gauge_reading(ANGLE, lateral, crest, trough) == pytest.approx(-2.0e-3, abs=1e-15)


@pytest.mark.parametrize("place", [0, 2, 5, 13])
def test_quarter_round_and_average_removes_the_saddle(place):
    """Derived: twice the dish is left, wherever one starts; odd waves were never in it."""
    lateral = waves(2, phase=1.234) + waves(3, phase=0.5, dish=0.0)
    both = [gauge_reading(ANGLE, lateral, at, at) for at in (ANGLE[place], ANGLE[place] + QUARTER)]
    # Rounding only: a quarter of 36 spokes is a whole number of them.
    assert np.mean(both) == pytest.approx(-2.0e-3, abs=1e-15)
    assert abs(both[0] - both[1]) > 0.05 * SIZE, "one place alone would not have done"


def test_between_stations_the_rim_is_taken_straight():
    """And the last station's neighbour is the first, with the valve between them."""
    lateral = np.zeros(36)
    lateral[[0, 35]] = 1e-3, 3e-3
    mean = lateral.mean()
    # Rounding only.
    assert feet_deviation(ANGLE, lateral, [0.0]) == pytest.approx([(2e-3 + 0.0) / 2 - mean], abs=1e-15)
    assert feet_deviation(ANGLE, lateral, [np.pi, 5 * np.pi]) == pytest.approx([1e-3 - mean] * 2, abs=1e-15)


def test_saddle_error():
    """Derived: two waves and four, crests together: all of both at one place, twice the four once averaged."""
    lateral = waves(2) + 0.25 * waves(4, dish=0.0) + waves(3, dish=0.0)
    one, averaged = saddle_error(ANGLE, lateral)
    # Places are looked at a degree apart, stations stand on half of them: a crest may be missed by half a degree
    # of a chain of straight pieces, 1 per cent.
    assert one == pytest.approx(2 * SIZE * 1.25, rel=0.01)
    # The four waves alone are shorter: half a degree and the straight pieces are 3 per cent of them.
    assert averaged == pytest.approx(2 * SIZE * 0.25, rel=0.03)
    assert saddle_error(ANGLE, waves(5)) == pytest.approx((0.0, 0.0), abs=1e-15)


def read_exactly(state):
    """Gauge and lateral dial of a state without error."""
    gap = abs(2 * state.dish)
    dial = tuple((i + 1, float(value)) for i, value in enumerate(state.lateral))
    return Reading(gauge=Gauge("left" if state.dish > 0 else "right", "hub", gap, gap), lateral=dial)


def test_saddle_spoils_what_is_known_of_the_dish():
    """Where the feet stood is not known: a saddle of amplitude A is A over root 2 of uncertainty in the offset."""
    wheel = front()
    known, stands = {}, {}
    for number in (0, 2, 3):
        shape = np.stack([SIZE * np.cos(number * ANGLE) if number else np.zeros(36), np.zeros(36)])
        truth = equilibrium(wheel, own_shape=shape)
        stands[number] = np.ptp(truth.lateral) / 2
        known[number] = estimate(wheel, read_exactly(truth)).dish_sd
    # What the dial's own error leaves unknown under the feet adds some per cent.
    assert known[0] == pytest.approx(GAUGE_SD / 2, rel=0.1)
    assert stands[2] > 0.4e-3
    # Straight pieces between spokes and the dial's own error take a per cent or two off the saddle.
    assert known[2] == pytest.approx(np.hypot(GAUGE_SD / 2, stands[2] / np.sqrt(2)), rel=0.03)
    # Three waves cancel between the feet but for what the estimate mistakes for others.
    assert stands[3] > 0.4e-3
    assert known[3] < 1.02 * known[0]


@pytest.mark.parametrize("place", range(0, 18, 3))
def test_a_gauge_set_on_a_saddle_stays_within_what_is_claimed(place):
    wheel = front()
    shape = np.stack([SIZE * np.cos(2 * (ANGLE - ANGLE[0])), np.zeros(36)])
    truth = equilibrium(wheel, own_shape=shape)
    shown = gauge_reading(ANGLE, truth.lateral, ANGLE[place], ANGLE[place])
    gauge = Gauge("left" if shown > 0 else "right", "hub", abs(shown), abs(shown))
    found = estimate(wheel, replace(read_exactly(truth), gauge=gauge))
    # The worst place of a wave is root 2 of its standard deviation.
    assert abs(found.state.dish - truth.dish) < 1.5 * found.dish_sd


def test_feelers_are_an_interval():
    """A gap anywhere between two feelers, read to GAUGE_SD: the offset's spread by drawing it."""
    gauge = Gauge("right", "hub", 1.2e-3, 1.6e-3)
    rng = np.random.default_rng(0)
    gap = rng.uniform(1.2e-3, 1.6e-3, 200_000) + rng.normal(0, GAUGE_SD, 200_000)
    # 200,000 draws know a standard deviation to 0.2 per cent, a mean to 0.02.
    assert gauge.dish_sd == pytest.approx(np.std(gap / 2), rel=0.01)
    assert gauge.dish == pytest.approx(-np.mean(gap / 2), rel=1e-3)


def test_each_way_of_reading_knows_its_offset():
    """The same error of a gap is half as much offset, or a quarter where one foot rests."""
    assert Gauge("right", "hub", 1e-3, 1e-3).dish_sd == pytest.approx(GAUGE_SD / 2)
    assert Gauge("right", "feet", 1e-3, 1e-3).dish_sd == pytest.approx(GAUGE_SD / 2)
    assert Gauge("right", "one foot", 1e-3, 1e-3).dish_sd == pytest.approx(GAUGE_SD / 4)


def test_wide_feelers_leave_the_dish_less_known():
    wheel = front()
    true = tuple((i + 1, 0.0) for i in range(wheel.n))
    sd = [estimate(wheel, Reading(gauge=Gauge("right", "hub", low, 2e-3), lateral=true)).dish_sd
          for low in (2e-3, 1.6e-3, 0.5e-3)]
    assert sd[0] < sd[1] < sd[2]
    # Root 12 of an even spread of 1.5 mm, halved, beside which the gauge's own error is nearly nothing.
    # The dial's error under the feet adds another per cent or two.
    assert sd[2] == pytest.approx(1.5e-3 / np.sqrt(12) / 2, rel=0.05)


@pytest.mark.parametrize("gap", [3e-3, -0.7e-3, 0.0])
@pytest.mark.parametrize("set_on", [None, "right", "left"])
def test_a_gauge_that_shows_a_gap(gap, set_on):
    """Read back, it says the same; where nobody says how it was set, the gap is at the hub."""
    gauge = Gauge.showing(gap, set_on)
    assert gauge.gap == gap
    assert gauge.dish == gap / 2
    assert (gauge.set_on == set_on) if set_on else (gauge.gap_at == "hub")
