"""A reading far from what was expected is told before it leads a plan astray, with the slip that would explain it."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import make_wheel
from wheelsim.estimation.doubts import KgfAsNewtons
from wheelsim.estimation.expected import Slip, unexpected
from wheelsim.estimation.held_out import DialFarOff
from wheelsim.job.job import Job, Pass
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Shown
from wheelsim.readings.simulated import Hand, Tools
from wheelsim.report.words.estimation import unexpected_words
from wheelsim.units import KGF

WHEEL = make_wheel(32, right=0.0195, left=0.036, tension=1000.0)


def worked(seed=0, uneven=0.1):
    """A rear, nipples uneven by so many turns, read with erring tools, its left loosened by a real hand, read again."""
    rng = np.random.default_rng(seed)
    turns = rng.normal(0, uneven, WHEEL.n)
    turns[WHEEL.on_side("left")] += 0.9
    tools, hand = Tools.with_errors(rng), Hand.of(rng, WHEEL.n)
    state = equilibrium(WHEEL, turns)
    first = replace(tools.everything(state), after_pass=0)
    loosened = np.where(np.isin(np.arange(WHEEL.n), WHEEL.on_side("left")), -0.25, 0.0)
    then = tools.everything(hand.turn(state, loosened), after_pass=1)
    made = Pass(1, tuple((int(i) + 1, -0.25) for i in np.flatnonzero(loosened)))
    return Job(WHEEL, (first, then), passes=(made,))


def typed(job, **changes):
    """The same with the last reading typed otherwise."""
    return replace(job, readings=(*job.readings[:-1], replace(job.last, **changes)))


@pytest.mark.parametrize("uneven", [0.1, 0.25, 0.4])
def test_sound_readings_are_not_told(uneven):
    """Of wheels as little and as far out of true (6 mm) as they are brought in: none at any visit."""
    for seed in range(15 if uneven == 0.1 else 8):
        job = worked(seed, uneven)
        assert unexpected(job) == ()
        assert unexpected(replace(job, readings=job.readings[:1], passes=())) == ()


@pytest.mark.parametrize(("change", "slip", "asks"), [
    (lambda g: replace(g, set_on={"right": "left", "left": "right"}[g.set_on]), Slip.OTHER_WAY, "other face, or feet"),
    (lambda g: replace(g, gap_at="feet"), Slip.OTHER_WAY, "feet for hub"),
    (lambda g: replace(g, low=10 * g.low, high=10 * g.high), Slip.TENFOLD, "a point missing"),
    (lambda g: replace(g, low=g.low / 10, high=g.high / 10), Slip.TENTH, "a point too many"),
    (lambda g: replace(g, low=g.low + 6e-3, high=g.high + 6e-3), None, "read it again"),
])
def test_the_gauge(change, slip, asks):
    job = worked()
    one, = unexpected(typed(job, gauge=change(job.last.gauge)))
    assert (one.tool, one.slip) == ("gauge", slip)
    assert asks in unexpected_words(one)
    assert one.deviations > 4
    assert one.low < job.last.gauge.gap < one.high
    assert not one.low < one.read < one.high


def test_one_foot_for_both():
    job = worked()
    gauge = Gauge.showing(job.last.gauge.gap, "right" if job.last.gauge.gap > 0 else "left")
    assert gauge.gap_at == "feet"
    assert unexpected(typed(job, gauge=gauge)) == ()
    one, = unexpected(typed(job, gauge=replace(gauge, gap_at="one foot")))
    assert one.slip is Slip.FEET


def times(pairs, factor):
    return tuple((spoke, factor * value) for spoke, value in pairs)


@pytest.mark.parametrize(("dial", "factor", "slip"), [
    ("lateral", 10.0, Slip.TENFOLD), ("radial", 10.0, Slip.TENFOLD), ("lateral", -1.0, Slip.OTHER_WAY)])
def test_a_dial_in_another_unit_or_the_other_way(dial, factor, slip):
    job = worked(uneven=0.25)
    one, = unexpected(typed(job, **{dial: times(getattr(job.last, dial), factor)}))
    assert (one.tool, one.slip) == (dial, slip)
    assert f"at spoke {one.spoke}" in unexpected_words(one)


def test_one_place_with_its_point_missing():
    job = worked(uneven=0.25)
    spoke, value = max(job.last.lateral, key=lambda one: abs(one[1]))
    one, = unexpected(typed(job, lateral=tuple((dict(job.last.lateral) | {spoke: 10 * value}).items())))
    assert (one.spoke, one.slip, one.read) == (spoke, Slip.TENFOLD, 10 * value)
    assert one.low < value < one.high


def test_its_highest_and_lowest_place():
    job = worked()
    values = dict(job.last.lateral)
    ends = tuple((spoke, 10 * values[spoke]) for spoke in (max(values, key=values.get), min(values, key=values.get)))
    one, = unexpected(typed(job, lateral=ends, extremes=frozenset({"lateral"})))
    assert (one.tool, one.spoke, one.slip) == ("lateral", None, Slip.TENFOLD)
    assert unexpected(typed(job, lateral=times(ends, 0.1), extremes=frozenset({"lateral"}))) == ()
    assert unexpected(typed(job, lateral=ends[:1])) == ()  # one place: the dial's zero is free


def test_the_first_reading_of_a_dial_is_compared_with_any_wheel():
    job = worked(uneven=0.25)
    first = replace(job, readings=job.readings[:1], passes=())
    one, = unexpected(typed(first, lateral=times(first.last.lateral, 20.0)))
    assert isinstance(one, DialFarOff)
    high, *_ = sorted(first.last.lateral, key=lambda one: -one[1])
    one, = unexpected(typed(first, lateral=tuple((dict(first.last.lateral) | {high[0]: 7e-3}).items())))
    assert (one.tool, one.spoke) == ("lateral", high[0])


def test_tensions():
    job = worked()
    pairs = dict(job.last.tension)
    one, = unexpected(typed(job, tension=tuple((pairs | {5: pairs[5] / 10}).items())))
    # A tenth of the nominal among others near it: told of all together.
    assert one.spokes == (5,)
    one, = unexpected(typed(job, tension=tuple((pairs | {5: 1.7 * pairs[5]}).items())))
    assert (one.tool, one.spoke, one.slip) == ("tension", 5, None)
    all_of_them, = unexpected(typed(job, tension=times(job.last.tension, 1 / KGF)))
    assert isinstance(all_of_them, KgfAsNewtons)


def test_tensions_shown_in_another_unit():
    """Compared in newtons: sound ones in kgf are not told, one that is 1.7 times what it was is."""
    job = worked()
    shown = {spoke: Shown(spoke, newtons / KGF, "kgf") for spoke, newtons in job.last.tension}
    assert not unexpected(typed(job, tension=(), shown=tuple(shown.values())))
    shown[5] = replace(shown[5], value=1.7 * shown[5].value)
    one, = unexpected(typed(job, tension=(), shown=tuple(shown.values())))
    assert (one.tool, one.spoke) == ("tension", 5)


def test_with_the_tyre_on_nothing_is_compared():
    job = worked()
    assert unexpected(typed(job, gauge=replace(job.last.gauge, low=9e-3, high=9e-3), tyre="inflated")) == ()
