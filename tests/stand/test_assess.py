"""Is it within limits, how surely, and what then: every line of the verdict."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ndtr

import wheelsim
import wheelsim.cli.app
from tests.estimation.test_estimate import gauge, only, read_all
from tests.wheels import dished, front, side_turns, with_limits
from wheelsim.estimation.assumed import AsNominal, AsReadBefore
from wheelsim.estimation.estimate import estimate
from wheelsim.files import sample_job
from wheelsim.files.reader import sample_path
from wheelsim.job.job import Job, Pass, Work
from wheelsim.measures.bounds import from_load
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.gauge import Gauge, saddle_error
from wheelsim.readings.reading import Reading
from wheelsim.stand.assess import VERDICT_MARGINS, assess
from wheelsim.wheel.parts import Load

FRONT, REAR = front(), dished()
WAY = np.where(np.arange(36) % 2 == 0, 1.0, -1.0)
ANGLE = np.asarray(FRONT.rim.hole_angles)
DECENT = equilibrium(FRONT, 0.05 * np.random.default_rng(1).standard_normal(36))
ALL = read_all(DECENT)
TRUE = tuple((i + 1, 0.0) for i in range(36))  # a dial that stands still
NAMES = ["gap", "true", "round", "highest tension", "lowest tension", "spread right", "spread left",
         "right mean against half of buckling"]


def by_name(found):
    return {check.name: check for check in found.checks}


def statuses(subject):
    return {name: check.status for name, check in by_name(assess(subject)).items()}


def waved(waves, turns):
    """A front with so many waves made by turns."""
    return equilibrium(FRONT, turns * WAY * np.cos(waves * ANGLE))


def test_a_wheel_alone_is_as_its_file_says():
    found = assess(wheelsim.read_wheel(sample_path("front.toml")))
    assert found.verdict == "within"
    assert [check.name for check in found.checks] == NAMES
    assert all(check.status == "within" and check.sd == 0 for check in found.checks)
    assert found.assumed == (AsNominal(),)
    assert found.suspects == found.advice == ()


def test_shipped_sample():
    """Read in full: the gap alone is outside."""
    found = assess(sample_job())
    assert found.verdict == "outside"
    assert {name for name, check in by_name(found).items() if check.status != "within"} == {"gap"}
    assert all(check.read for check in found.checks)
    assert found.checks[0].value == pytest.approx(3.0, abs=0.02)
    assert found.as_dict()["advice"][0].startswith("the rim lies 1.50 mm left; it must move right")


def test_gauge_alone_can_not_tell_the_rest():
    found = assess(Job(FRONT, (Reading(gauge=gauge(0.2e-3)),)))
    assert found.verdict == "unknown"
    assert {name for name, check in by_name(found).items() if check.status == "within"} == {"gap"}
    assert [check.read for check in found.checks] == [True] + 7 * [False]
    assert len(found.assumed) == 3
    assert assess(Job(FRONT, (Reading(gauge=gauge(0.8e-3)),))).verdict == "outside"


def test_dial_alone_tells_true():
    found = assess(Job(FRONT, (Reading(lateral=ALL.lateral),)))
    assert found.verdict == "unknown"
    assert {name for name, check in by_name(found).items() if check.status == "within"} == {"true"}
    bad = statuses(Job(FRONT, (Reading(lateral=read_all(waved(3, 0.5)).lateral),)))
    assert bad["true"] == "outside"
    assert bad["gap"] == "unknown"


@pytest.mark.parametrize(("gap", "status"), [(0.85, "within"), (0.95, "unknown"), (1.05, "unknown"),
                                             (1.15, "outside")])
def test_one_standard_deviation_is_kept_from_the_limit(gap, status):
    """A gauge of 0.1 mm against a limit of 1 mm, on a rim that the dial finds true."""
    found = by_name(assess(Job(FRONT, (Reading(gauge=gauge(gap / 2 * 1e-3), lateral=TRUE),))))["gap"]
    # Rounded to a thousandth, and pulled in by as much; the dial's own error makes the feet stray some per cent.
    assert (found.value, found.sd) == (pytest.approx(gap, abs=2e-3), pytest.approx(0.1, rel=0.1))
    assert found.status == status


@pytest.mark.parametrize("margin", [0.0, 0.5, 1.0, 2.0, 5.0])
@pytest.mark.parametrize("reading", [
    ALL, Reading(gauge=ALL.gauge), only(ALL, (1, 2, 20)), read_all(waved(2, 0.1)),
    replace(ALL, tension=tuple((spoke, 1.17 * value) for spoke, value in ALL.tension)),
], ids=["all", "gauge", "three spokes", "saddle", "tight"])
def test_margin_and_status_of_every_line(reading, margin):
    """Inside by so much in the bench's unit; within or outside as rarely doubted as by that many deviations."""
    found = assess(Job(FRONT, (reading,), Work(margin=margin)))
    for check in found.checks:
        rare = ndtr(-margin if check.name == "gap" else -VERDICT_MARGINS * margin)
        inside = check.value - check.limit if check.name == "lowest tension" else check.limit - check.value
        # Three roundings to a tenth of a newton, or to a thousandth.
        assert check.margin == pytest.approx(inside, abs=0.16 if check.unit == "N" else 1.6e-3)
        expected = "within" if check.sure >= 1 - rare else "outside" if check.sure <= rare else "unknown"
        # The share is rounded to a thousandth.
        if min(abs(check.sure - rare), abs(check.sure - 1 + rare)) > 1e-3 or not check.read:
            assert check.status == (expected if check.read else "unknown")
        # The deviation tells the same wherever it is small beside the distance to the limit.
        beyond = check.likely - check.limit if check.name != "lowest tension" else check.limit - check.likely
        if check.sd:
            assert (check.sure > 0.5) == (beyond < 0) or abs(beyond) < check.sd
            assert check.sure == pytest.approx(ndtr(-beyond / check.sd), abs=0.08) or check.name == "gap"
    listed = [check.status for check in found.checks]
    assert found.verdict == next((word for word in ("outside", "unknown") if word in listed), "within")


def test_margin_of_the_job_decides():
    """The sample's highest tension lies two standard deviations inside, not three."""
    job = sample_job()
    assert statuses(job)["highest tension"] == "within"
    assert statuses(replace(job, work=replace(job.work, margin=3.0)))["highest tension"] == "unknown"


@pytest.mark.parametrize(("target", "gap", "status"), [(-1.5, 0, "within"), (0, 3, "outside"), (1.5, 6, "outside"),
                                                       (-1.0, 1, "unknown"), (-1.9, 0.8, "within")])
def test_gap_is_against_the_target(target, gap, status):
    """Common practice, no source: a frame built off-centre wants its rim there."""
    true = tuple((i + 1, 0.0) for i in range(REAR.n))
    job = Job(REAR, (Reading(gauge=gauge(-1.5e-3), lateral=true),), Work(target_dish=target * 1e-3))
    found = assess(job)
    # The reading is pulled to nought by a thousandth of 3 mm.
    assert found.checks[0].value == pytest.approx(gap, abs=5e-3)
    assert found.checks[0].status == status
    off = -1.5 - target
    if off:
        assert f"the rim lies {abs(off):.2f} mm {'left' if off < 0 else 'right'}" in found.as_dict()["advice"][0]
        assert "it must move " + ("right" if off < 0 else "left") in found.as_dict()["advice"][0]
        assert ("of where it should be" in found.as_dict()["advice"][0]) == bool(target)
    else:
        assert "the rim lies" not in found.as_dict()["advice"][0]


@pytest.mark.parametrize("tension", [1300.0, 1450.0])
def test_half_of_buckling(tension):
    """A wheel is untrue well before it buckles: whatever its spokes stand, half is the ceiling."""
    wheel = with_limits(front(tension=tension), max_tension=2000.0)
    half = wheelsim.critical_tension(wheel) / 2
    assert 1300 < half < 1450
    check = by_name(assess(wheel))["right mean against half of buckling"]
    # Rounded to a tenth of a newton.
    assert (check.value, check.limit) == (pytest.approx(tension, abs=0.06), pytest.approx(half, abs=0.06))
    assert assess(wheel).verdict == check.status == ("within" if tension < half else "outside")


def test_values_are_those_of_the_state():
    """Each side's spread from that side's own mean, the spoke that makes it named; run-outs, extremes."""
    turns = side_turns(REAR, left=0.3)
    turns[[9, 18]] += -0.6, 0.4  # spokes 10, left, and 19, right
    found = assess(Job(REAR, (read_all(equilibrium(REAR, turns)),)))
    state, checks = found.as_dict()["state"], by_name(found)
    tension = np.array(state["tension_N"])
    # Rounded to a tenth of a newton or a thousandth of a per cent or a millimetre.
    for side, spoke in (("right", 19), ("left", 10)):
        mine = tension[REAR.on_side(side)]
        spread = 100 * np.abs(mine - mine.mean()).max() / mine.mean()
        assert checks[f"spread {side}"].value == pytest.approx(spread, abs=2e-3)
        assert checks[f"spread {side}"].spoke == spoke
    assert checks["highest tension"].value == pytest.approx(tension.max(), abs=0.06)
    assert checks["lowest tension"].value == pytest.approx(tension.min(), abs=0.06)
    assert checks["highest tension"].spoke == tension.argmax() + 1 == 19
    assert checks["lowest tension"].spoke == tension.argmin() + 1 == 10
    assert checks["true"].value == pytest.approx(np.ptp(state["lateral_mm"]), abs=1e-3)
    assert checks["round"].value == pytest.approx(np.ptp(state["radial_mm"]), abs=1e-3)
    assert checks["gap"].value == pytest.approx(abs(2 * np.mean(state["lateral_mm"])), abs=1e-3)


def test_missing_spoke_is_no_lowest_tension():
    wheel = dished(missing=(7,))
    check = by_name(assess(wheel))["lowest tension"]
    assert check.spoke != 7
    assert check.value > 50


@pytest.mark.parametrize("wheel", [FRONT, REAR], ids=["front", "dished"])
def test_quarter_turns_against_the_exact_wheel(wheel):
    """What the table says of each side, against the nonlinear wheel turned that much."""
    found = assess(Job(wheel, (read_all(equilibrium(wheel, side_turns(wheel, left=0.4))),)))
    state = found.view.state
    assert [(one.side, one.verb) for one in found.quarter_turns] == [
        ("right", "tighten"), ("right", "loosen"), ("left", "tighten"), ("left", "loosen")]
    for one in found.quarter_turns:
        turns = side_turns(wheel, **{one.side: 0.25 if one.verb == "tighten" else -0.25})
        after = equilibrium(wheel, state.turns + turns, state.own_shape)
        # Small-turn influence against a whole quarter: 2 per cent, as influence says of itself.
        assert one.dish == pytest.approx(after.dish - state.dish, rel=0.02)
        for side, change in (("right", one.right), ("left", one.left)):
            mine = wheel.on_side(side)
            exact = after.tension[mine].mean() - state.tension[mine].mean()
            # And as the rim moves half a millimetre the far spokes lean: 4 per cent of tension.
            assert change == pytest.approx(exact, rel=0.04)


def spoke_numbers(words):
    """Numbers out of ``1, 3-5, 9``."""
    for run in words.split(", "):
        first, _, last = run.partition("-")
        yield from range(int(first), int(last or first) + 1)


def advice(reading, wheel=FRONT):
    return assess(Job(wheel, (reading,))).as_dict()["advice"]


def test_out_of_true_rim_warns_of_the_gauge():
    """The saddle alone deceives the gauge, read or to be read; the amounts are the rule's."""
    saddle, three = waved(2, 0.05), waved(3, 0.1)
    warned = [line for line in advice(read_all(saddle)) if "doubtful" in line]
    assert len(warned) == 1
    one, averaged = saddle_error(ANGLE, estimate(FRONT, read_all(saddle)).state.lateral)
    assert one > 0.3e-3
    wobble = np.ptp(saddle.edge) * 1e3
    assert f"wobble ({wobble:.2f} mm) makes the gauge doubtful by {one * 1e3:.2f} mm" in warned[0]
    assert ("True first" in warned[0]) == (wobble > 0.5)
    assert f"({averaged * 1e3:.2f} mm off at most)" in warned[0]
    assert "a quarter round" in warned[0]
    assert np.ptp(three.lateral) > 0.2e-3
    assert not [line for line in advice(read_all(three)) if "doubtful" in line]
    unread = [line for line in advice(replace(read_all(saddle), gauge=None)) if "doubtful" in line]
    assert len(unread) == 1
    assert "true it before the gauge is read" in unread[0]


def test_next_reading():
    """What would tell most: gauge, then the lateral dial, then the spokes that leave least unknown, then the radial."""
    assert advice(Reading())[-1].startswith("next, read the gauge")
    assert advice(Reading(gauge=ALL.gauge))[-1].startswith("next, read the lateral dial")
    few = only(ALL, (1, 2, 19))
    line = advice(few)[-1]
    advised = list(spoke_numbers(line.split(":")[0].split("spokes ")[1]))
    assert not {1, 2, 19}.intersection(advised)
    assert len(advised) == 3

    def unknown(spokes):
        read = tuple(pair for pair in ALL.tension if pair[0] in (1, 2, 19, *spokes))
        return float(np.sqrt(np.mean(estimate(FRONT, replace(few, tension=read)).tension_sd ** 2)))

    promised = int(line.split("then to ")[1].split(" N")[0])
    # The promise is linear; the estimate is not.
    assert unknown(advised) == pytest.approx(promised, rel=0.08)
    rng = np.random.default_rng(0)
    others = [rng.choice([k for k in range(1, 37) if k not in (1, 2, 19)], 3, replace=False) for _ in range(8)]
    assert unknown(advised) <= min(unknown(spokes) for spokes in others) * 1.02
    assert advice(replace(ALL, radial=()))[-1].startswith("next, read the radial dial")
    assert not [line for line in advice(ALL) if line.startswith("next")]


def test_loads_are_told():
    """A lower limit from the load says where it comes from; a side load is told and is no limit."""
    wheel = with_limits(front(), min_tension="from load")
    alone = assess(wheel)
    assert any("[load] states no radial_N: 300 N is used" in line for line in alone.as_dict()["advice"])
    assert by_name(alone)["lowest tension"].limit == 300.0
    loaded = replace(wheel, load=Load(radial=700.0, lateral=100.0))
    least = from_load(loaded).tension
    assert least != 300.0
    found = assess(loaded)
    # Rounded to a tenth of a newton.
    assert by_name(found)["lowest tension"].limit == pytest.approx(least, abs=0.06)
    assert any(f"below {least:.0f} N a spoke can go slack under 700 N" in line for line in found.as_dict()["advice"])
    side = [line for line in found.as_dict()["advice"] if line.startswith("from the side at the ground")]
    assert len(side) == 1
    assert "stated side load 100 N; not a limit" in side[0]
    assert not [line for line in alone.as_dict()["advice"] if line.startswith("from the side")]


@pytest.mark.parametrize(("saddle", "told"), [(0.3e-3, True), (6.0e-3, False)])
def test_a_side_that_can_not_be_known_is_not_named(saddle, told):
    """The gauge shows the rim right; on a rim far out of true that says nothing, and no side may be named."""
    wheel = front()
    wave = saddle / 2 * np.cos(2 * np.asarray(wheel.rim.hole_angles) + 0.4)
    lateral = tuple((i + 1, float(v)) for i, v in enumerate(wave))
    shows_right = Gauge("left", "hub", 0.8e-3, 0.8e-3)
    advice = " ".join(assess(Job(wheel, (Reading(gauge=shows_right, lateral=lateral),))).as_dict()["advice"])
    assert ("lies 0.40 mm right; it must move left" in advice) is told
    assert ("can't be told" in advice) is not told
    assert "must move right" not in advice


@pytest.mark.parametrize(("spokes", "told"), [((1, 2), set()), ((1, 3, 5, 2), {"spread right"}),
                                              ((1, 3, 5, 2, 4, 6), {"spread right", "spread left"})])
def test_a_side_of_which_too_little_was_read_can_not_be_told(spokes, told):
    """A spread of a side is judged only when three of its spokes were read, however even the rest may be."""
    checks = by_name(assess(Job(FRONT, (only(ALL, spokes),))))
    for name in ("spread right", "spread left"):
        assert checks[name].read is (name in told)
        if name not in told:
            assert checks[name].status == "unknown"
    assert checks["highest tension"].read is (len(spokes) >= 3)


@pytest.mark.parametrize("dialled", [(), (7,), (3, 4)])
def test_two_places_of_the_dial_do_not_tell_true(dialled):
    lateral = tuple(pair for pair in ALL.lateral if pair[0] in dialled)
    check = by_name(assess(Job(FRONT, (replace(ALL, lateral=lateral),))))["true"]
    assert (check.read, check.status) == (False, "unknown")


def test_readings_in_time_order_stand_side_by_side():
    """Each as it found the wheel; what the last left out counts as it was read before, and that is said."""
    first = read_all(waved(3, 0.3))
    found = assess(Job(FRONT, (replace(first, label="as received", after_pass=0),
                               Reading("after", gauge=gauge(0.1e-3), after_pass=1)),
                       passes=(Pass(1, ((1, 0.0625),)),)))
    before, after = (one.as_dict() for one in found.readings)
    assert (before["label"], after["label"]) == ("as received", "after")
    assert before["lateral_runout_mm"] == pytest.approx(np.ptp([v for _, v in first.lateral]) * 1e3, rel=0.05)
    assert after["lateral_runout_mm"] is None
    # The turn moved the rim by next to nothing, so both gauge readings, nought and 0.2, speak for it alike.
    assert after["gauge_gap_mm"] == pytest.approx(0.1, abs=0.02)
    assert after["predicted_gap_mm"] == pytest.approx(0.0, abs=0.05)
    assert AsReadBefore(("lateral", "radial", "tension")) in found.assumed
