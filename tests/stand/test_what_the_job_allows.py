"""Advice on what to turn keeps to what the job allows, and says what stands in the way."""

from dataclasses import replace

import numpy as np
import pytest

from tests.estimation.test_estimate import gauge, read_all
from tests.wheels import front, side_turns
from wheelsim.job.job import Job, Work
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.notes import Hold
from wheelsim.planning.plan import plan
from wheelsim.stand.advice import NoQuarterHelps, OddFirst, OddHeld, RimLies, SidesHeld, TurnSides, WithinAim
from wheelsim.stand.assess import assess

FRONT = front()
RIGHT, LEFT = (frozenset(i + 1 for i in FRONT.on_side(side)) for side in ("right", "left"))


def wheel_with(turns=None, right=0.0, left=0.0):
    """An even front but for whole sides and some nipples: turns by spoke, from 1."""
    out = 0.02 * np.random.default_rng(1).standard_normal(36) + side_turns(FRONT, right=right, left=left)
    for spoke, turn in (turns or {}).items():
        out[spoke - 1] += turn
    return equilibrium(FRONT, out)


def advised(state, work, kinds):
    """Advice of these kinds, that of where the rim lies looked into; and all of it in words."""
    found = assess(Job(FRONT, (read_all(state),), work))
    every = [one.then if isinstance(one, RimLies) else one for one in found.advice]
    return [one for one in every if isinstance(one, kinds)], found.as_dict()["advice"]


TIGHT, TWO = wheel_with({9: 1.0}), wheel_with({9: 1.0, 11: -1.0})
ODD, SIDES = (OddFirst, OddHeld, TurnSides), (TurnSides, SidesHeld)


def test_a_stuck_odd_spoke_is_freed_before_anything_is_turned():
    (told,), words = advised(TIGHT, Work(stuck=frozenset({9})), ODD)
    assert (told.spoke.spoke, told.by) == (9, Hold.STUCK)
    assert words[0].startswith("spoke 9 is far tighter than its side (")
    assert words[0].endswith("), and it is stuck: free it first")


@pytest.mark.parametrize(("work", "hold", "said"), [
    (Work(leave=frozenset({9})), Hold.LEFT_ALONE, "nipples left alone"),
    (Work(direction="tighten"), Hold.TIGHTEN_ONLY, "tightening only"),
    (Work(sides="left"), Hold.ONE_SIDE, "turning one side only"),
    (Work(max_turns=0.125), Hold.THREAD, "the thread left"),
])
def test_an_odd_spoke_that_must_not_be_loosened(work, hold, said):
    """It is told, and no side is turned for the one tension that is past its limit."""
    (told,), words = advised(TIGHT, work, ODD)
    assert (told.spoke.spoke, told.by) == (9, hold)
    assert words[0].endswith(f"; to loosen its nipple would mend that, and the job does not allow it ({said})")
    assert not [line for line in words if "evenly" in line]


def test_of_two_odd_spokes_the_one_that_may_be_turned():
    for work in (Work(leave=frozenset({9})), Work(direction="tighten")):
        (first, held), words = advised(TWO, work, ODD)
        assert [one.spoke for one in first.spokes] == [11]
        assert held.spoke.spoke == 9
        assert words[0].startswith("spoke 11 is far looser than its side (")
        assert "tighten its nipple first" in words[0]
    (held, first), _ = advised(TWO, Work(stuck=frozenset({9})), ODD)
    assert (held.by, [one.spoke for one in first.spokes]) == (Hold.STUCK, [11])


def test_an_odd_spoke_is_turned_as_far_as_the_job_allows():
    (first,), words = advised(TIGHT, Work(max_turns=0.5), ODD)
    assert first.spokes[0].turn == -0.5
    assert "by about 1/2 turn" in words[0]


@pytest.mark.parametrize(("work", "right", "left"), [
    (Work(), 1, -1), (Work(sides="right"), 1, 0), (Work(sides="left"), 0, -1), (Work(leave=LEFT), 1, 0),
    (Work(stuck=RIGHT), 0, -1), (Work(direction="tighten"), 1, 0), (Work(direction="loosen"), 0, -1),
    (Work(max_turns=0.25, sides="left"), 0, -1),
])
def test_of_whole_sides_those_that_may_be_turned(work, right, left):
    """A front that lies left, its tension about right: half of each, or all of it by what the job allows."""
    (told,), words = advised(wheel_with(right=-0.3, left=0.3), work, SIDES)
    assert (np.sign(told.right), np.sign(told.left), told.still) == (right, left, ())
    assert work.max_turns is None or max(abs(told.right), abs(told.left)) <= work.max_turns
    assert ("loosen left" in words[0], "tighten right" in words[0]) == (left < 0, right > 0)


@pytest.mark.parametrize(("work", "by"), [
    (Work(leave=RIGHT | LEFT), (Hold.LEFT_ALONE,)), (Work(leave=RIGHT, stuck=LEFT), (Hold.STUCK, Hold.LEFT_ALONE)),
    (Work(sides="right", direction="loosen"), (Hold.ONE_SIDE, Hold.LOOSEN_ONLY)), (Work(max_turns=0.0), (Hold.THREAD,)),
])
def test_where_no_side_may_be_turned_it_says_what_stands_in_the_way(work, by):
    (told,), words = advised(wheel_with(right=-0.3, left=0.3), work, SIDES)
    assert (type(told), told.by) == (SidesHeld, by)
    assert "it must move right, and the job does not allow what would do it (" in words[0]
    assert not {"loosen left", "tighten right"} & set(words[0].replace(",", ";").split("; "))


def test_a_spoke_of_the_side_that_may_not_be_turned_is_named():
    (told,), words = advised(wheel_with(right=-0.3, left=0.3), Work(stuck=frozenset({3}), leave=frozenset({4, 6})),
                             SIDES)
    assert told.still == (3, 4, 6)
    assert words[0].endswith("loosen left, then tighten right (not spokes 3, 4, 6)")


def test_a_slack_wheel_that_lies_nobody_knows_where():
    """Both sides evenly or none: one alone might take the rim the wrong way."""
    waves = 0.05 * np.where(np.arange(36) % 2 == 0, 1.0, -1.0) * np.cos(2 * np.asarray(FRONT.rim.hole_angles))
    reading = replace(read_all(equilibrium(FRONT, waves - 0.9)), gauge=gauge(0.06e-3))
    for work, said in ((Work(), "tighten both sides evenly, a quarter a round"),
                       (Work(stuck=frozenset({3})), "tighten both sides evenly, a quarter a round (not spoke 3)"),
                       (Work(sides="right"), "the job does not allow what would do it (turning one side only)"),
                       (Work(direction="loosen"), "the job does not allow what would do it (loosening only)")):
        words = assess(Job(FRONT, (reading,), work)).as_dict()["advice"]
        assert words[0].startswith("which side the rim lies can't be told")
        assert words[1].startswith("the wheel is slack")
        assert words[1].endswith(said)


@pytest.mark.parametrize("gap", [0.0, 0.1e-3])
def test_no_side_is_turned_for_the_margin_alone(gap):
    """Within its aims, its highest spoke nearer the limit than the margin: neither plan nor advice turns anything."""
    wheel = replace(FRONT, limits=replace(FRONT.limits, max_tension=1060.0))
    job = Job(wheel, (replace(read_all(equilibrium(wheel, np.full(36, 0.03))), gauge=gauge(gap)),))
    found = assess(job)
    assert found.view.highest < 1060.0
    assert found.checks[3].status == "unknown"
    told = [one.then if isinstance(one, RimLies) else one for one in found.advice]
    assert not [one for one in told if isinstance(one, TurnSides | SidesHeld | NoQuarterHelps)]
    assert bool([one for one in told if isinstance(one, WithinAim)]) == (gap > 0)
    assert plan(job, effort=0.2, seconds=60).status == "nothing to do"
