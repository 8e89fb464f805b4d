"""Readings that can't well be true are named, sound ones are left in peace."""

from dataclasses import replace

import numpy as np
import pytest

from tests.benchmarks.coverage import random_case
from tests.estimation.test_estimate import gauge, only, read_all
from tests.wheels import dished, front, paired
from wheelsim.estimation.estimate import estimate
from wheelsim.estimation.suspects import suspects
from wheelsim.files import FileError, read_job
from wheelsim.files.reader import sample_path
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.reading import Shown
from wheelsim.report.words.estimation import doubt_words
from wheelsim.units import KGF

WHEELS = {"front": front(), "dished": dished(), "paired": paired()}
every_wheel = pytest.mark.parametrize("wheel", WHEELS.values(), ids=WHEELS)


def bench(wheel, seed=2):
    """A decent wheel, read in full with a meter of 5 per cent, a dial of 0.05 mm and a gauge of 0.1 mm."""
    rng = np.random.default_rng(seed)
    state = equilibrium(wheel, 0.06 * rng.standard_normal(wheel.n))
    exact = read_all(state)
    lateral, radial = (tuple((spoke, value + rng.normal(0, 0.05e-3)) for spoke, value in pairs)
                       for pairs in (exact.lateral, exact.radial))
    tension = tuple((spoke, value * (1 + rng.normal(0, 0.05))) for spoke, value in exact.tension)
    return replace(exact, gauge=gauge(state.dish + rng.normal(0, 0.05e-3)), lateral=lateral, radial=radial,
                   tension=tension)


def changed(reading, kind, change):
    """The reading with each (spoke, value) of a kind changed."""
    return replace(reading, **{kind: tuple((spoke, change(spoke, value)) for spoke, value in getattr(reading, kind))})


def in_words(wheel, reading, found):
    return tuple(map(doubt_words, suspects(wheel, reading, found)))


def named(wheel, reading):
    return in_words(wheel, reading, estimate(wheel, reading))


@every_wheel
@pytest.mark.parametrize("seed", [2, 3, 4])
def test_sound_readings_are_left_in_peace(wheel, seed):
    assert named(wheel, bench(wheel, seed)) == ()


@every_wheel
@pytest.mark.parametrize("read", [slice(None), slice(3, 8)], ids=["all", "five"])
def test_kilograms_written_as_newtons(wheel, read):
    light = changed(bench(wheel), "tension", lambda spoke, value: value / KGF)
    found = named(wheel, replace(light, tension=light.tension[read]))
    assert len(found) == 1
    assert "N: is this kgf?" in found[0]
    assert "tension_kgf" in found[0]


def test_newtons_written_as_kilograms():
    """On a lightly built wheel ten times the tension is still a wheel."""
    wheel = front(tension=150.0)
    found = named(wheel, changed(bench(wheel), "tension", lambda spoke, value: value * KGF))
    assert len(found) == 1
    assert "newtons written as kilogram-force" in found[0]


def kilograms_job(tmp_path, kilograms):
    path = tmp_path / "job.toml"
    spokes = ", ".join(f"{spoke} = {kilograms}" for spoke in (1, 2, 11, 12))
    path.write_text(f'wheel = "{sample_path("front.toml")}"\n[[reading]]\ntension_kgf = {{ {spokes} }}\n',
                    encoding="utf-8")
    return path


def test_newtons_written_as_kilograms_in_a_file(tmp_path):
    """On any other wheel ten times the tension would buckle it, or is beyond every spoke; both are told in words."""
    job = read_job(kilograms_job(tmp_path, 900))
    found = named(job.wheel, job.last)
    assert "newtons written as kilogram-force" in found[0]
    with pytest.raises(FileError) as caught:
        read_job(kilograms_job(tmp_path, 1100))
    assert len(caught.value.lines()) == 4
    assert all("1100; is 10787 N; expected from 0 to 10000 N" in line for line in caught.value.lines())


@pytest.mark.parametrize("off", [1, -1], ids=["one on", "one back"])
def test_sides_swapped_or_numbering_off_by_one(off):
    wheel = WHEELS["dished"]
    reading = bench(wheel)
    tension = dict(reading.tension)
    found = named(wheel, changed(reading, "tension", lambda spoke, value: tension[(spoke - 1 + off) % wheel.n + 1]))
    assert len(found) == 1
    assert "wrong way round" in found[0]
    assert "numbering off by one" in found[0]


@every_wheel
@pytest.mark.parametrize("share", [0.7, 1.3])
def test_ratio_that_breaks_balance(wheel, share):
    """One side's readings 30 per cent off: meter, flange figures or numbering, never the wheel (lateral balance)."""
    reading = bench(wheel)
    right = set(np.array(wheel.on_side("right")) + 1)
    found = named(wheel, changed(reading, "tension", lambda spoke, value: value * (share if spoke in right else 1.0)))
    assert len(found) == 1
    assert "A wheel can't do that; check the flange distances, the meter on these spokes, the numbering" in found[0]
    nominal = 1.0 if wheel is not WHEELS["dished"] else 36 / 19
    # Chance moves the mean of sixteen readings of 5 per cent, and hidden turns, by a few per cent.
    assert float(found[0].split("read ")[1].split(",")[0]) == pytest.approx(share * nominal, rel=0.05)


@every_wheel
@pytest.mark.parametrize("share", [0.6, 1.5])
def test_one_spoke_misread(wheel, share):
    reading = changed(bench(wheel), "tension", lambda spoke, value: value * (share if spoke == 9 else 1.0))
    found = estimate(wheel, reading)
    lines = in_words(wheel, reading, found)
    way = "higher" if share > 1 else "lower"
    shown = dict(reading.tension)[9]
    assert f"tension at spoke 9, {shown:.0f} N, is {way} than all else says: read it again" in lines
    assert max(found.residual, key=lambda one: abs(one[2]))[:2] == ("tension", 9)
    assert len(lines) <= 2, "a neighbour at most is doubted with it"
    # Named, not dropped: it is still among what the state was asked to explain.
    assert [spoke for kind, spoke, _ in found.residual if kind == "tension"] == list(range(1, wheel.n + 1))
    honest = estimate(wheel, bench(wheel))
    assert (found.state.tension[8] - honest.state.tension[8]) * (share - 1) > 0


def test_a_doubted_reading_is_told_as_it_was_typed():
    wheel = WHEELS["front"]
    reading = changed(bench(wheel), "tension", lambda spoke, value: value * (1.5 if spoke == 9 else 1.0))
    newtons = dict(reading.tension)[9]
    for unit, shown, typed in (("Hz", 512.0, "512 Hz"), ("meter", 410.0, "410 on the meter")):
        told = named(wheel, replace(reading, shown=(Shown(9, shown, unit),)))
        assert f"tension at spoke 9, {newtons:.0f} N ({typed}), is higher" in told[0]


@every_wheel
@pytest.mark.parametrize("kind", ["lateral", "radial"])
@pytest.mark.parametrize("wrong", [-0.6e-3, 1.0e-3])
def test_wrong_dial_at_one_spoke(wheel, kind, wrong):
    """No rim has a step of half a millimetre at one spoke; its neighbours may be doubted too, it must be."""
    reading = changed(bench(wheel), kind, lambda spoke, value: value + (wrong if spoke == 12 else 0.0))
    found = estimate(wheel, reading)
    way = "higher" if wrong > 0 else "lower"
    shown = dict(getattr(reading, kind))[12] * 1e3
    assert f"{kind} dial at spoke 12, {shown:.2f} mm, is {way} than all else says: read it again" in (
        in_words(wheel, reading, found))
    worst = max(found.residual, key=lambda one: abs(one[2]))
    assert worst[:2] == (kind, 12)
    doubted = {spoke for what, spoke, misfit in found.residual if what == kind and abs(misfit) > 3}
    assert doubted <= {11, 12, 13}


def test_false_alarms_are_rare():
    """Fifty random wheels, some with a nipple a turn and a half out, read as a bench reads them: all of it sound."""
    rng = np.random.default_rng(1)
    cases = [random_case(rng, read) for read in (None, 99) * 25]
    alarmed = sum(bool(named(case.wheel, case.reading)) for case in cases)
    # Over 1200 cases one in twenty with three to eight spokes read, one in three hundred with all: of these fifty
    # some 1.4, and in 99 draws of 100 not above four.
    assert alarmed <= 4


@every_wheel
@pytest.mark.parametrize("spokes", [(1, 2, 9, 20), (1, 2, 5, 6, 9, 14, 19, 24)], ids=["four", "eight"])
@pytest.mark.parametrize("share", [0.3, 2.0])
def test_one_of_few_spokes_misread(wheel, spokes, share):
    """With the dial all round and few spokes read, a gross slip is still told, alone."""
    few = only(bench(wheel), spokes)
    bad = changed(few, "tension", lambda spoke, value: value * (share if spoke == 9 else 1.0))
    lines = named(wheel, bad)
    assert len(lines) == 1
    assert "tension at spoke 9" in lines[0]


@every_wheel
def test_a_gross_misread_does_not_accuse_its_neighbours(wheel):
    """The worst is left out before the rest is looked at."""
    lines = named(wheel, changed(bench(wheel), "tension", lambda spoke, value: value * (0.3 if spoke == 9 else 1)))
    assert len(lines) == 1
    assert "tension at spoke 9" in lines[0]


@every_wheel
def test_two_misread_spokes_are_both_named(wheel):
    wrong = {4: 0.4, 19: 2.0}
    lines = named(wheel, changed(bench(wheel), "tension", lambda spoke, value: value * wrong.get(spoke, 1.0)))
    assert len(lines) == 2
    assert {4, 19} == {spoke for spoke in range(1, wheel.n + 1) for line in lines if f"spoke {spoke}," in line}


@every_wheel
def test_one_loose_spoke_among_four_read_accuses_nobody(wheel):
    """Two turns loose and truly so: the wheel, not the meter."""
    state = equilibrium(wheel, -2.0 * (np.arange(wheel.n) == 4))
    assert named(wheel, only(read_all(state), (2, 5, 9, 14))) == ()


def test_missing_spokes_accuse_nobody():
    wheel = dished(20, cross=2, missing=(1, 3))
    assert named(wheel, read_all(equilibrium(wheel))) == ()


def test_tensions_against_the_gauge_are_named():
    """A gauge and right tensions a fifth low put the rim at two places: said, and that the gauge is believed."""
    wheel = WHEELS["dished"]
    exact = bench(wheel)
    right = set(np.array(wheel.on_side("right")) + 1)
    lines = named(wheel, changed(exact, "tension", lambda spoke, value: value * (0.8 if spoke in right else 1)))
    assert len(lines) == 1
    assert "the dish is taken from the gauge (set on the face that is written?)" in lines[0]


@every_wheel
def test_sides_a_little_apart_are_no_alarm(wheel):
    """Ten per cent between the sides is what meters and callipers do (common practice, no source)."""
    right = set(np.array(wheel.on_side("right")) + 1)
    reading = read_all(equilibrium(wheel))
    assert named(wheel, changed(reading, "tension", lambda spoke, value: value * (1.1 if spoke in right else 1))) == ()


@every_wheel
@pytest.mark.parametrize("gap", [-2.5e-3, -0.5e-3, 2e-3])
def test_the_gauge_is_the_better_witness_of_dish(wheel, gap):
    """A left meter 20 per cent high: the sides are named, and the dish stays as the gauge shows it."""
    state = equilibrium(wheel, np.isin(np.arange(wheel.n), wheel.on_side("right")) * gap * 200)
    reading = read_all(state)
    left = set(np.array(wheel.on_side("left")) + 1)
    reading = changed(reading, "tension", lambda spoke, value: value * (1.2 if spoke in left else 1))
    found = estimate(wheel, reading)
    # The gauge to 0.1 mm and the dial's saddle weigh against a ratio known to some 7 per cent, a millimetre of dish.
    assert 2 * found.state.dish == pytest.approx(2 * state.dish, abs=0.1e-3)
    lines = in_words(wheel, reading, found)
    assert len(lines) == 1
    assert "left reads" in lines[0]


def test_some_kilograms_among_newtons():
    wheel = WHEELS["dished"]
    slip = changed(bench(wheel), "tension", lambda spoke, value: value / KGF if spoke in (9, 10) else value)
    lines = named(wheel, only(slip, (1, 2, 9, 10, 17, 18)))
    assert len(lines) == 1
    assert "tension of spokes 9, 10 stands near a tenth of the nominal" in lines[0]


def test_tones_an_octave_high():
    """An octave is four times the tension (string law, any physics handbook)."""
    high = changed(bench(WHEELS["front"]), "tension", lambda spoke, value: 4 * value)
    assert "tones an octave high" in named(WHEELS["front"], only(high, (1, 2, 9)))[0]


def test_one_of_two_ends_of_the_dial_in_doubt_is_no_trap(tmp_path):
    """Ends alike at far places and all else between: whatever is doubted, the answer comes."""
    path = tmp_path / "job.toml"
    path.write_text(f'wheel = "{sample_path("front.toml")}"\n[[reading]]\nlateral_high = {{ spoke = 7, mm = 9.6 }}\n'
                    "lateral_low = { spoke = 9, mm = -9.6 }\n", encoding="utf-8")
    job = read_job(path)
    assert isinstance(suspects(job.wheel, job.last, estimate(job.wheel, job.last)), tuple)


@pytest.mark.parametrize("tensions", [slice(0), slice(None, None, 4)], ids=["none", "some"])
@pytest.mark.parametrize("name", ["front", "dished"])
def test_the_highest_and_the_lowest_place_are_extreme_by_definition(name, tensions):
    """A sound wobble, of which the dial told the two ends only: neither is doubted for being one."""
    wheel = WHEELS[name]
    waves = 0.25 * np.where(np.arange(wheel.n) % 2 == 0, 1.0, -1.0) * np.cos(2 * np.asarray(wheel.rim.hole_angles))
    read = read_all(equilibrium(wheel, waves))
    ends = tuple(pick(read.lateral, key=lambda pair: pair[1]) for pick in (max, min))
    few = replace(read, lateral=ends, radial=(), tension=read.tension[tensions], extremes=frozenset({"lateral"}))
    assert named(wheel, few) == ()
