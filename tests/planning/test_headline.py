"""The headline of a plan: its reason, and the moves in the order in which they are made."""

import io
from dataclasses import replace

import numpy as np
import pytest

from tests.estimation.test_estimate import gauge, only, read_all
from tests.wheels import dished, front, side_turns
from wheelsim.estimation.assumed import NewSpokes
from wheelsim.estimation.estimate import estimate
from wheelsim.estimation.known import known
from wheelsim.estimation.outlook import outlook
from wheelsim.job.job import Job
from wheelsim.measures.bounds import resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.plan import plan
from wheelsim.planning.stands_out import OddSpoke
from wheelsim.planning.verdict import Move, Reason, explained, verdict_of
from wheelsim.readings.reading import Reading
from wheelsim.report.terminal.plan import tell_plan
from wheelsim.report.terminal.shared import printer
from wheelsim.report.words.estimation import chance_words, check_words
from wheelsim.report.words.verdict import verdict_words

FRONT, REAR = front(), dished()
READ = dict.fromkeys((*Quantity, "right", "left"), True)
WAY = np.where(np.arange(36) % 2 == 0, 1.0, -1.0)
ANGLE = np.asarray(FRONT.rim.hole_angles)


def by_spoke(wheel, turns):
    out = np.zeros(wheel.n)
    for spoke, turn in turns.items():
        out[spoke - 1] = turn
    return out


def headline(before, passes, *, odd=(), new=(), read=READ, wheel=FRONT):
    """The verdict's words on turns (n,) of a wheel before, made by these passes; with what its record holds."""
    turns = np.sum(passes, axis=0)
    limits, aims = resolved(wheel), resolved(wheel, aims=True)
    after = equilibrium(before.wheel, before.turns + turns, before.own_shape, start=before)
    told = verdict_of("best so far", view(before), view(after), turns, (), limits, (), aims=aims)
    told = explained(told, aims, read, odd, passes, new)
    assert isinstance(told.why, Move)
    return verdict_words(told), told.why


def slack(by=0.9):
    return equilibrium(FRONT, side_turns(FRONT, right=-by, left=-by))


def test_what_the_first_pass_turns_is_named_first():
    tighten, loosen = side_turns(FRONT, right=0.5), by_spoke(FRONT, {2: -0.25})
    words, _ = headline(slack(), [tighten, loosen])
    assert ", so tighten the right side 1/2, then loosen spoke 2 by 1/4: " in words
    words, _ = headline(slack(), [loosen, tighten])
    assert "Loosen spoke 2 by 1/4, then tighten the right side 1/2: " in words
    # A spoke of a side is not yet the side.
    words, _ = headline(slack(), [loosen, tighten, side_turns(FRONT, left=0.5)])
    assert "tighten the right side 1/2, then tighten the left side 1/2 (spoke 2 by 1/4): " in words
    right, left = side_turns(FRONT, right=0.25), side_turns(FRONT, left=0.25)
    assert "tighten the left side 1/2, then tighten the right side 1/4" in headline(slack(), [left, right, left])[0]


def test_without_passes_what_loosens_comes_first():
    before = equilibrium(FRONT, side_turns(FRONT, right=0.3, left=-0.3))
    turns = side_turns(FRONT, right=-0.25, left=0.25)
    told = verdict_of("best so far", view(before), view(equilibrium(FRONT)), turns, (), resolved(FRONT), (),
                      first="left")
    assert "loosen the right side 1/4, then tighten the left side 1/4" in verdict_words(told)


def test_no_so_where_the_first_move_does_not_follow():
    words, why = headline(slack(), [by_spoke(FRONT, {2: -0.25}), side_turns(FRONT, right=0.5)])
    assert why.reason is Reason.SLACK
    assert words.startswith("The wheel is slack (")
    assert "). Loosen spoke 2 by 1/4, then " in words
    assert ", so " not in words


@pytest.mark.parametrize(("left", "said"), [(0.5, "mm left to"), (0.25, " to ")])
def test_the_rim_that_ends_on_the_other_side_says_so(left, said):
    before = equilibrium(FRONT, side_turns(FRONT, left=0.3))
    words, why = headline(before, [side_turns(FRONT, left=-left)])
    crossed = why.before.gap * why.after.gap < 0
    assert crossed == (left == 0.5)
    assert ("mm right" in words) == crossed
    assert said in words


def test_the_reason_is_out_of_true_out_of_round_or_uneven():
    wobble = equilibrium(FRONT, 0.2 * WAY * np.cos(2 * ANGLE))
    words, why = headline(wobble, [by_spoke(FRONT, {1: -0.25, 2: 0.25})])
    assert why.reason is Reason.UNTRUE
    assert words.startswith(f"The rim is out of true ({why.before.true * 1e3:.2f} mm), so ")
    hop = equilibrium(FRONT, 0.0 * WAY, [np.zeros(36), 0.4e-3 * np.cos(2 * ANGLE)])
    words, why = headline(hop, [by_spoke(FRONT, {1: -0.25, 2: 0.25})])
    assert why.reason is Reason.UNROUND
    assert words.startswith(f"The rim is out of round ({why.before.round * 1e3:.2f} mm), so ")
    # What nobody read is no reason.
    assert headline(hop, [by_spoke(FRONT, {1: -0.25})], read={**READ, Quantity.ROUND: False})[1].reason is None
    uneven = equilibrium(FRONT, by_spoke(FRONT, {3: -1.0}) - 0.1)
    words, why = headline(uneven, [by_spoke(FRONT, {3: 0.25})],
                          read={**READ, Quantity.TRUE: False, Quantity.ROUND: False})
    assert why.reason is Reason.UNEVEN
    spread = 100 * why.before.spread["right"]
    assert words.startswith(f"Spokes of the right side are uneven (spread {spread:.0f} %), so ")


def test_a_rim_off_centre_that_is_out_of_round_too():
    before = equilibrium(FRONT, side_turns(FRONT, right=0.3, left=-0.3),
                         [np.zeros(36), 0.4e-3 * np.cos(2 * ANGLE)])
    words, why = headline(before, [0.25 * WAY * np.cos(3 * ANGLE).round()])
    assert (why.reason, why.beside) == (Reason.OFF_CENTRE, Reason.UNROUND)
    assert words.startswith(f"The rim lies right and is out of round ({why.before.round * 1e3:.2f} mm), its tension")


def test_an_odd_spoke_is_the_reason_and_not_the_wheel():
    before = equilibrium(FRONT, by_spoke(FRONT, {9: 1.2}))
    assert view(before).highest > FRONT.limits.max_tension
    one = OddSpoke(9, "right", before.tension[8], 980.0, -1.25)
    words, _ = headline(before, [by_spoke(FRONT, {9: -1.0})], odd=(one,))
    start = f"Spoke 9 is far too tight ({before.tension[8]:.0f} N, its side 980 N)"
    assert words.startswith(f"{start}, so loosen it by 1: ")
    words, _ = headline(before, [by_spoke(FRONT, {9: -1.0, 1: 0.25})], odd=(one,))
    assert "so loosen spoke 9 by 1, then tighten spoke 1 by 1/4: " in words
    # One of many that are turned, it is still named by itself.
    many = by_spoke(FRONT, {1: -0.25, 5: 0.25, 9: -1.0, 13: -0.25, 17: 0.25, 21: -0.25, 25: 0.25})
    assert "so loosen spoke 9 by 1, then even out single spokes on the right side: " in headline(
        before, [many], odd=(one,))[0]
    # A plan that turns it the other way has another reason.
    assert "far too" not in headline(before, [by_spoke(FRONT, {9: 0.25, 1: -0.25})], odd=(one,))[0]


def test_a_wheel_is_too_tight_only_if_a_side_is():
    above = equilibrium(FRONT, by_spoke(FRONT, {9: 1.2}) - 0.12)
    assert max(view(above).mean.values()) < 1000.0
    words, why = headline(above, [by_spoke(FRONT, {9: -1.0})])
    assert why.reason is Reason.SPOKE_ABOVE
    assert words.startswith(f"Spoke 9 is too tight ({above.tension[8]:.0f} N, limit 1200 N; its side ")
    tight = equilibrium(FRONT, by_spoke(FRONT, {9: 0.8}) + 0.1)
    words, why = headline(tight, [side_turns(FRONT, right=-0.25, left=-0.25)])
    assert why.reason is Reason.ABOVE_LIMIT
    assert why.before.mean[why.side] > 1000.0
    assert words.startswith("The wheel is too tight (")


def test_a_plan_names_the_odd_spoke():
    state = equilibrium(FRONT, by_spoke(FRONT, {9: 1.0}) + 0.02 * np.random.default_rng(1).standard_normal(36))
    found = plan(known(Job(FRONT, (read_all(state),))), effort=0.2, seconds=600)
    assert verdict_words(found.verdict).startswith("Spoke 9 is far too tight (")
    assert found.unread == ()


def test_a_missing_spoke_has_no_outlook():
    """How tight a new spoke comes nobody knows: its chances are not told, and it is the first thing said."""
    wheel = dished(missing=(9,))
    found = plan(known(Job(wheel, (read_all(equilibrium(wheel)),))), effort=0.2, seconds=600)
    assert NewSpokes((9,)) in found.first
    assert found.passes
    assert found.outlook is not None  # JSON has it
    assert found.foreseen is None
    stream = io.StringIO()
    tell_plan(found, printer(stream), full=False)
    said = stream.getvalue()
    assert "Outlook" not in said
    assert "Spoke 9 is missing: put a new one in first, then " in said
    assert "just short of pulling" not in said  # told once, before the first pass


def test_the_chance_is_not_told_for_what_nobody_read():
    state = equilibrium(REAR, side_turns(REAR, left=0.3))
    full = read_all(state)
    few = replace(only(full, (1, 2, 9, 10, 17, 18)), lateral=(), radial=())
    for reading, hidden in ((full, False), (few, True), (Reading(gauge=gauge(0.5e-3)), True)):
        told = known(Job(REAR, (reading,)))
        found = told.found
        ahead = outlook(found, [found.state], [], replace(resolved(REAR), gap=3e-3))
        assert bool(told.unread) == hidden
        words = chance_words(ahead, told.unread)
        if hidden:
            assert words.startswith("not enough read: ")
            assert words.endswith("; chance not told")
            assert "true" in words
            assert check_words(ahead, (), told.unread) == ""
        else:
            assert "100 such wheels end within every limit" in words


def test_a_chance_that_is_small_for_what_was_read_is_told():
    few = replace(only(read_all(equilibrium(REAR)), (1, 2, 9, 10, 17, 18)), radial=(), gauge=gauge(3e-3))
    found = estimate(REAR, few)
    ahead = outlook(found, [found.state], [], resolved(REAR))
    assert chance_words(ahead, (Quantity.ROUND,)).startswith("fewer than 1 in 100")


def test_new_spokes_come_first_whatever_else_their_side_does():
    """Spokes 9 and 20 are put in; the left side, and the right side without spoke 9, are turned after them."""
    new = [by_spoke(FRONT, {9: 2.0}), by_spoke(FRONT, {20: 1.5})]
    left, right = side_turns(FRONT, left=-0.25), side_turns(FRONT, right=0.25)
    left[19] = right[8] = 0.0
    words, _ = headline(slack(0.2), [*new, left, right], new=(9, 20))
    assert ("put new ones in first, then tighten spoke 9 by 2, then tighten spoke 20 by 1 1/2, then loosen the left "
            "side 1/4 (not spoke 20), then tighten the right side 1/4 (not spoke 9): ") in words
    # Turned by as much as another, a new one is still turned before it.
    words, _ = headline(slack(0.2), [by_spoke(FRONT, {9: 0.25}), by_spoke(FRONT, {3: 0.25})], new=(9,))
    assert "then tighten spoke 9 by 1/4, then tighten spoke 3 by 1/4: " in words
