"""The state behind a reading: at rest whatever was read, right where all was read, honest where little was."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import dished, front, paired, side_turns, two_to_one
from wheelsim.estimation.assumed import AsNominal, TyreTakes
from wheelsim.estimation.estimate import estimate
from wheelsim.estimation.problem import Problem
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.errors import GAUGE_SD, METER_SCATTER, ToolErrors
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.report.words.estimation import assumed_words

WHEELS = {"front": front(), "dished": dished(), "two to one": two_to_one(), "paired": paired(),
          "spoke 7 missing": dished(missing=(7,))}
REAR = dished()
RIGHT, LEFT = (np.array(REAR.on_side(side)) for side in ("right", "left"))
ANGLE = np.asarray(REAR.rim.hole_angles)


def gauge(dish):
    """Read at the hub, without error. [m]"""
    return Gauge("left" if dish > 0 else "right", "hub", abs(2 * dish), abs(2 * dish))


def read_all(state):
    """Everything read of a state, without error."""
    lateral, radial, tension = (tuple((i + 1, float(value)) for i, value in enumerate(values))
                                for values in (state.lateral, state.radial, state.tension))
    there = tuple(pair for pair in tension if pair[0] not in state.wheel.spokes.missing)
    return Reading("", gauge(state.dish), lateral, radial, there)


def only(reading, spokes):
    """The reading with the tensions of these spokes alone."""
    return replace(reading, tension=tuple(pair for pair in reading.tension if pair[0] in spokes))


def uneven(wheel, seed=3):
    """A state with every nipple off, a side out, and a rim not quite flat or round itself."""
    rng = np.random.default_rng(seed)
    turns = 0.12 * rng.standard_normal(wheel.n) + side_turns(wheel, right=-0.3, left=0.3)
    angle = np.asarray(wheel.rim.hole_angles)
    shape = [0.2e-3 * np.cos(2 * angle + 0.3) + 0.1e-3 * np.cos(3 * angle + 1), 0.1e-3 * np.cos(2 * angle + 2)]
    return equilibrium(wheel, turns, shape)


def relative_sd_of_mean(found, spokes):
    return np.linalg.norm(found.tension_root[spokes].mean(axis=0)) / found.state.tension[spokes].mean()


TRUTH = uneven(REAR)
ALL = read_all(TRUTH)
PARTS = {
    "all": ALL,
    "gauge": Reading(gauge=ALL.gauge),
    "lateral": Reading(lateral=ALL.lateral),
    "radial": Reading(radial=ALL.radial),
    "two tensions": Reading(tension=ALL.tension[4:6]),
    "high and low": Reading(lateral=((7, 0.6e-3), (21, -0.4e-3))),
    "tyre on": replace(ALL, tyre="inflated"),
    "nothing": Reading(),
    "against each other": Reading("", gauge(-4e-3), ALL.lateral, ALL.radial[::3],
                                  tuple((spoke, 1500.0 if spoke % 3 else 100.0) for spoke in range(1, 33))),
}


@pytest.mark.parametrize("reading", PARTS.values(), ids=PARTS)
def test_at_rest_whatever_was_read(reading):
    """Pulls balance in force and moment, and the state is what its turns and shape give from the start."""
    found = estimate(REAR, reading)
    state = found.state
    # Newton stops at 1e-10 of some 1000 N; thirty-two spokes and a metre of arm stand behind the sum.
    assert np.abs(state.resultant()).max() < 1e-5
    again = equilibrium(REAR, state.turns, state.own_shape)
    # Two ways to the same rest, each within that stopping rule: far below a dial or a meter.
    assert state.lateral == pytest.approx(again.lateral, abs=1e-8)
    assert state.tension == pytest.approx(again.tension, abs=1e-2)
    for sd in (found.lateral_sd, found.radial_sd, found.tension_sd):
        assert np.isfinite(sd).all()
        assert (sd > 0).all()


@pytest.mark.parametrize("wheel", WHEELS.values(), ids=WHEELS)
def test_all_read_gives_the_truth_back(wheel):
    truth = uneven(wheel)
    found = estimate(wheel, read_all(truth))
    state, there = found.state, np.isin(np.arange(wheel.n) + 1, list(wheel.spokes.missing), invert=True)
    # Readings without error leave only the pull of the priors: within one standard deviation.
    assert (np.abs(state.tension - truth.tension)[there] < found.tension_sd[there]).all()
    assert (np.abs(state.lateral - truth.lateral) < found.lateral_sd).all()
    assert (np.abs(state.radial - truth.radial) < found.radial_sd).all()
    assert abs(state.dish - truth.dish) < 0.2 * found.dish_sd
    # A meter of 5 per cent and a tenth of a millimetre of dial are a quarter turn at the worst nipple, less than a
    # tenth on the whole; the rim's own shape to 0.2 mm likewise.
    assert np.abs(state.turns - truth.turns)[there].max() < 0.3
    assert np.std((state.turns - truth.turns)[there]) < 0.1
    assert np.abs(state.own_shape - truth.own_shape).max() < 0.2e-3
    assert (np.abs([misfit for _, _, misfit in found.residual]) < 1).all()


def test_missing_spoke_pulls_nothing():
    wheel = WHEELS["spoke 7 missing"]
    found = estimate(wheel, only(read_all(uneven(wheel)), (2, 9)))
    assert found.state.tension[6] == 0
    assert found.tension_sd[6] == 0
    assert not found.state.slack[6]
    assert np.delete(found.tension_sd, 6).min() > 10


def test_nothing_to_read_is_certain():
    """None is the wheel as its file has it: true, centred, nominal."""
    found = estimate(REAR, None)
    assert found.dish_sd == 0
    for sd in (found.lateral_sd, found.radial_sd, found.tension_sd):
        assert not sd.any()
    assert found.state.tension[RIGHT] == pytest.approx(1050.0)
    # Rounding of Newton's stopping rule.
    assert found.state.lateral == pytest.approx(0.0, abs=1e-9)
    assert found.assumed == (AsNominal(),)


def test_gauge_alone():
    """It tells the dish as well as an unseen rim lets its feet, and nothing of true, round or tension."""
    found = estimate(REAR, Reading(gauge=gauge(-1.5e-3)))
    # A free side offset of four turns leaves the gauge its say within a thousandth.
    assert found.state.dish == pytest.approx(-1.5e-3, rel=1e-3)
    # Usual nipples put the rim out by some millimetre, and half of that's saddle under the feet.
    assert 3 * GAUGE_SD < found.dish_sd < 6 * GAUGE_SD
    seen = estimate(REAR, Reading(gauge=gauge(-1.5e-3), lateral=tuple((i + 1, 0.0) for i in range(REAR.n))))
    # The dial shows it true: the feet stray by what a mean of dial readings does, a twentieth.
    assert seen.dish_sd == pytest.approx(GAUGE_SD / 2, rel=0.1)
    # The mean is taken from the file; moving the rim 1.5 mm shifts hundreds of newtons between the sides at most.
    assert found.state.tension[RIGHT].mean() == pytest.approx(1050, rel=1e-3)
    assert found.tension_sd.min() > 80
    assert found.lateral_sd.min() > 0.2e-3
    assert len(found.assumed) == 3
    assert "the mean of the right side is taken from [tension], 1050 N" in assumed_words(found.assumed[0])


@pytest.mark.parametrize("side", [RIGHT, LEFT], ids=["right", "left"])
def test_the_other_side_follows_from_balance(side):
    """A wheel some 400 N tighter than its file says, read on one side only, with the gauge."""
    truth = equilibrium(REAR, side_turns(REAR, right=0.5, left=0.45))
    assert truth.tension[RIGHT].mean() > 1400
    other = LEFT if side is RIGHT else RIGHT
    reading = Reading("", gauge(truth.dish), lateral=read_all(truth).lateral, tension=read_all(truth).tension)
    found = estimate(REAR, only(reading, side + 1))
    # Lateral balance knows the ratio; priors of four turns pull a thousandth.
    assert found.state.tension[side].mean() == pytest.approx(truth.tension[side].mean(), rel=2e-3)
    assert found.state.tension[other].mean() == pytest.approx(truth.tension[other].mean(), rel=2e-3)
    # Known hardly worse than the side that was read: the ratio is geometry, but for half a millimetre at each flange.
    flanges = np.hypot(0.5 / 19, 0.5 / 36)
    assert relative_sd_of_mean(found, other) < 1.02 * np.hypot(relative_sd_of_mean(found, side), flanges)


def test_high_and_low_of_the_dial():
    """Two places a millimetre apart: the rim there differs by nearly that, and no other place stands out."""
    found = estimate(REAR, PARTS["high and low"])
    state = found.state
    # A dial of 0.05 mm against a rim that strays some 0.4 mm unread: pulled in by 2 per cent.
    assert state.lateral[6] - state.lateral[20] == pytest.approx(1.0e-3, rel=0.03)
    # Between two spokes the curve may overshoot a little.
    assert np.ptp(state.lateral) < 1.1e-3
    assert {int(state.lateral.argmax()), int(state.lateral.argmin())} <= {5, 6, 7, 19, 20, 21}
    assert found.lateral_sd[[6, 20]].max() < 0.85 * found.lateral_sd[[0, 13]].min()


def test_zero_of_the_dial_is_free():
    here = estimate(REAR, PARTS["high and low"]).state
    there = estimate(REAR, Reading(lateral=((7, 10.6e-3), (21, 9.6e-3)))).state
    # A zero of 50 mm's sd pulls a 10 mm shift by less than a micrometre.
    assert here.lateral == pytest.approx(there.lateral, abs=2e-6)
    # One place alone says nothing but the zero.
    assert np.ptp(estimate(REAR, Reading(lateral=((7, 0.6e-3),))).state.lateral) < 1e-6


def test_read_spokes_are_known_better_than_unread():
    spokes = (1, 2, 9, 14, 22)
    found = estimate(REAR, only(ALL, spokes))
    read = np.isin(np.arange(32) + 1, spokes)
    for side in (RIGHT, LEFT):
        mine = np.isin(np.arange(32), side)
        # All share the meter's scale, some 6 per cent; what is each spoke's own is known far better where it was read.
        own = np.linalg.norm(found.tension_root - found.tension_root[mine].mean(axis=0), axis=1)
        assert own[mine & read].max() < 0.95 * own[mine & ~read].min()
    off = np.abs(found.state.tension - TRUTH.tension)
    # Hidden turns at random: all of 32 within three standard deviations.
    assert (off < 3 * found.tension_sd).all()
    every = estimate(REAR, ALL)
    assert (every.tension_sd < found.tension_sd).all(), "more read, more known"


@pytest.mark.parametrize("spoke", [4, 11, 19, 26])
@pytest.mark.parametrize("off", [-1.5, 1.0])
def test_one_nipple_far_off_that_no_meter_read(spoke, off):
    """The dial and eight other spokes show it; a plain Gaussian prior would spread it and be sure of that."""
    turns = 0.06 * np.random.default_rng(spoke).standard_normal(32)
    turns[spoke - 1] += off
    truth = equilibrium(REAR, turns)
    found = estimate(REAR, only(read_all(truth), {1, 2, 9, 10, 17, 18, 29, 30}))
    short = found.state.tension - truth.tension
    # Hidden turns at random, two standard deviations; the Gaussian misses by two to three and a half.
    assert abs(short[spoke - 1]) < 1.9 * found.tension_sd[spoke - 1]
    # Three quarters of it are found, the rest taken for shape and neighbours; the Gaussian finds half.
    assert found.state.turns[spoke - 1] / off > 0.65


@pytest.mark.parametrize("spokes", [4, 8, 16, 32])
def test_scatter_averages_out_and_the_scale_does_not(spokes):
    """However many spokes are read, the mean is never known below the meter's shared errors: 5 per cent everywhere,
    4 on each side."""
    numbers = {*(RIGHT[: spokes // 2] + 1), *(LEFT[: spokes // 2] + 1)}
    known = relative_sd_of_mean(estimate(REAR, only(ALL, numbers)), np.arange(32))
    usual = ToolErrors()
    shared = np.hypot(usual.meter, usual.sides / np.sqrt(2))
    least = np.hypot(shared, METER_SCATTER / np.sqrt(spokes))
    assert known > shared * 0.97  # the prior of each side's turns takes a little
    # Weights are not quite even, and few read leave the unread spokes' own spread in the mean.
    assert least * 0.96 < known < least * 1.12


def test_scale_error_is_not_mistaken_for_shape():
    """All read 12 per cent high, two standard deviations: nothing in a true wheel's shape can tell."""
    high = replace(ALL, tension=tuple((spoke, 1.12 * value) for spoke, value in ALL.tension))
    found, honest = estimate(REAR, high), estimate(REAR, ALL)
    # Unread, the scale keeps what little the prior of twelve turns a side takes off.
    assert found.state.tension.mean() == pytest.approx(1.12 * honest.state.tension.mean(), rel=1e-2)
    assert max(abs(misfit) for _, _, misfit in found.residual) < 1
    far = abs(found.state.tension.mean() - TRUTH.tension.mean())
    # The truth itself lies a half deviation off what the honest readings say.
    assert 1.3 < far / np.linalg.norm(found.tension_root.mean(axis=0)) < 2.5


@pytest.mark.parametrize("waves", [3, 4])
def test_own_shape_is_told_from_turns_by_tension(waves):
    """The same waves in the rim itself, and made by turns: read in full, each is put where it belongs."""
    way = np.where(np.isin(np.arange(32), RIGHT), 1.0, -1.0)
    wave = np.cos(waves * ANGLE)

    def size(values):
        return 2 * abs(np.mean(values * np.exp(-1j * waves * ANGLE)))

    bent = estimate(REAR, read_all(equilibrium(REAR, own_shape=[0.4e-3 * wave, 0 * wave]))).state
    turned = estimate(REAR, read_all(equilibrium(REAR, 0.3 * way * wave))).state
    # A meter of 5 per cent leaves a sixth of it in doubt, of the shape a fifth.
    assert size(bent.own_shape[0]) == pytest.approx(0.4e-3, rel=1 / 6)
    assert size(bent.turns * way) < 0.3 / 6
    assert size(turned.turns * way) == pytest.approx(0.3, rel=1 / 6)
    assert size(turned.own_shape[0]) < 0.4e-3 / 5


def test_draws_are_centred_on_the_estimate():
    found = estimate(REAR, only(ALL, (1, 2, 9, 14, 22)))
    state = found.state
    parts = zip(found.draw(), (state.lateral, state.radial, state.tension),
                (found.lateral_sd, found.radial_sd, found.tension_sd), strict=True)
    for drawn, value, sd in parts:
        assert drawn.shape == (32, 400)
        # Every deviation comes with its mirror image: rounding only.
        assert drawn.mean(axis=1) == pytest.approx(value, rel=1e-12, abs=1e-12)
        # Two hundred independent draws know a standard deviation to 5 per cent; the worst of 32 to four times that.
        assert drawn.std(axis=1) == pytest.approx(sd, rel=0.2)
    assert (found.draw()[2] == found.draw()[2]).all()
    assert (found.draw(seed=1)[2] != found.draw()[2]).any()


def test_a_tyre_on_is_taken_off():
    """Common practice, no source: a tyre at pressure takes 10 to 20 per cent; what is shown is the wheel without it."""
    off, on = estimate(REAR, ALL), estimate(REAR, replace(ALL, tyre="inflated"))
    more = on.state.tension.mean() / off.state.tension.mean()
    # Ten to twenty per cent of the nominal mean, which this wheel has.
    assert 1.09 < more < 1.21
    known = [relative_sd_of_mean(found, np.arange(32)) for found in (off, on)]
    # The tyre's share is known to some 3 per cent of the tension.
    assert known[1] > np.hypot(known[0], 0.025)
    assert any(isinstance(one, TyreTakes) for one in on.assumed)


@pytest.mark.parametrize("tyre", ["off", "inflated"])
@pytest.mark.parametrize("edge", [None, 0.309], ids=["centre", "edge"])
@pytest.mark.parametrize("missing", [(), (7,)], ids=["whole", "one missing"])
def test_rows_are_derivatives(tyre, missing, edge):
    """Every row of what can be read against finite differences of the nonlinear wheel, away from the nominal one."""
    wheel = dished(missing=missing)
    wheel = replace(wheel, rim=replace(wheel.rim, edge_radius=edge))
    truth = uneven(wheel, 3)
    there = read_all(truth)
    some = (1, 2, 12) if tyre == "off" else (1, 2)  # with two read, the mean is assumed too
    reading = replace(only(there, some), lateral=there.lateral, radial=there.radial, gauge=gauge(1e-3), tyre=tyre,
                      dial_radius=0.311)
    problem = Problem(wheel, reading)
    rng = np.random.default_rng(1)
    at = 0.3 * problem.sd * rng.standard_normal(problem.size)
    at[problem.of_side] = 0.3
    at[problem.of_zero] = 1e-4

    base = None

    def rows_at(unknowns, **only):
        nonlocal base
        shape = problem.shape(unknowns)
        state = equilibrium(wheel, problem.turns(unknowns), shape,
                            start=None if base is None else replace(base, own_shape=shape))
        base = base or state
        if not hasattr(problem, "meter_sd"):
            problem.weigh(state, unknowns)
        return problem.rows(state, unknowns, **only)

    rows, _, spread, what = rows_at(at)
    for k in range(problem.size):
        step = np.zeros(problem.size)
        step[k] = 1e-3 * problem.prior_sd(at)[k]
        below, above = (rows_at(there, misfits_only=True)[1] for there in (at - step, at + step))
        slope = (below - above) / (2 * step[k])
        usual = problem.prior_sd(at)[k] / spread
        # Linear but for what the hoop force's change on a bent rim does: some hundredths of a reading's deviation.
        assert np.abs((rows[:, k] - slope) * usual).max() < 0.03 + 0.02 * np.abs(rows[:, k] * usual).max(), what


def test_a_missing_spoke_biases_no_mean():
    """With the gauge alone the spokes that are there have what the nominal wheel without that spoke has."""
    wheel = front(missing=(7,))
    found = estimate(wheel, Reading(gauge=gauge(0.0)))
    nominal = equilibrium(wheel)
    mine = wheel.pulling("right")
    assert found.state.tension[mine].mean() == pytest.approx(nominal.tension[mine].mean(), rel=0.01)
