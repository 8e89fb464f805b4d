"""Hints answer to the wheel as it stands, by cause."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import dished, front, side_turns, with_limits
from wheelsim.measures.bounds import broken, resolved
from wheelsim.measures.on_the_way import RISE_ABOVE, passed_on_the_way
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.practice.causes import CAUSES
from wheelsim.practice.faults import hidden_wheel
from wheelsim.practice.hints import hint_for
from wheelsim.practice.moves import AMOUNTS, Bench
from wheelsim.practice.session import Session


def hint(wheel, turns=None, shape=None, plainly=False, stuck=frozenset()):
    return hint_for(equilibrium(wheel, turns, shape), resolved(wheel), stuck, plainly=plainly)


def one(n, spoke, turns):
    out = np.zeros(n)
    out[spoke - 1] = turns
    return out


def bend(n=36):
    return np.stack([5e-3 * np.exp(-((np.arange(n) - 20) / 1.6) ** 2), np.zeros(n)])


SLACK = one(36, 7, -5.0)
ROW = 1.1 * np.isin(np.arange(36), [6, 18, 30]) + 1.1 * np.isin(np.arange(36), [7, 19, 31])
LOW = -0.5 * np.isin(np.arange(36), [8, 20, 32])
UNEVEN = 0.6 * np.isin(np.arange(36), [2, 10, 22]) - 0.6 * np.isin(np.arange(36), [4, 12, 24])
ANGLE = 2 * np.pi * (np.arange(36) + 0.5) / 36
WAVE = np.cos(2 * ANGLE)
SIGN = np.where(np.arange(36) % 2 == 0, 1.0, -1.0)

WHEELS = [
    ("within", front(), None, None, "done", "done"),
    ("slack", front(), SLACK, None, "Spoke 7 hangs loose", "Spoke 7 hangs loose"),
    ("bent rim", front(), None, bend(), "what else holds that shape", "Near spoke 21 the rim itself is bent"),
    ("one spoke", front(tension=900.0), one(36, 7, 1.2), None, "unlike the others", "loosen spoke 7 by"),
    ("one spoke", front(tension=900.0), one(36, 8, -1.6), None, "unlike the others", "tighten spoke 8 by"),
    ("too tight", front(tension=1300.0), None, None, "loosen first", "Back off both flanges"),
    ("too tight", front(tension=1300.0), side_turns(front(), left=0.4), None, "loosen first",
     "a quarter turn off the left, once round, does both"),
    ("over the limit", front(tension=1000.0), ROW, None, "a spoke here and there pulls more", "loosen spoke"),
    ("wobble first", front(tension=800.0), side_turns(front(), right=0.5) + 0.35 * SIGN * WAVE, None,
     "wobbles by more", "wobbles by"),
    ("no room", dished(tension=1050.0), side_turns(dished(), left=0.6), None, "hardly any room left",
     "quarter turn off the left"),
    ("no room", with_limits(front(tension=1060.0), max_tension=1260.0), side_turns(front(), right=0.45), None,
     "both sides are tight already", "quarter turn off the right"),
    ("none to give", with_limits(front(tension=450.0), min_tension=400.0), side_turns(front(), right=-0.3), None,
     "little tension to give away", "Tighten the right"),
    ("dish", front(tension=700.0), side_turns(front(), right=0.5), None, "must go left", "A quarter turn on the left"),
    ("true", front(tension=900.0), 0.2 * SIGN * WAVE, None, "leans to one flange where", "It leans "),
    ("round", front(tension=850.0), 1.2 * WAVE, None, "pull the rim in toward the hub", "most near spoke"),
    ("too loose", with_limits(front(tension=250.0), min_tension=300.0), None, None, "loose all round",
     "Tighten both flanges a quarter turn"),
    ("too loose", with_limits(front(tension=380.0), min_tension=300.0, side_spread=0.5), LOW, None,
     "A spoke here and there pulls less", "tighten spoke"),
    ("uneven", front(tension=900.0), UNEVEN, None, "the meter can", "and its neighbour"),
]


@pytest.mark.parametrize(("cause", "wheel", "turns", "shape", "words", "plain"), WHEELS,
                         ids=[f"{row[0]}-{k}" for k, row in enumerate(WHEELS)])
def test_by_cause(cause, wheel, turns, shape, words, plain):
    first, then = (hint(wheel, turns, shape, plainly=plainly) for plainly in (False, True))
    assert (first.cause, then.cause) == (cause, cause)
    assert words in first.words
    assert plain in then.words
    assert first.turns is None


def test_every_cause_is_tried_here():
    assert {row[0] for row in WHEELS} | {"small turns", "no way seen"} == {name for name, _ in CAUSES} | {"within"}


def followed(level, seed, most=60):
    """(what plain hints named last, what they left broken, limits passed, turns named) of one who follows them."""
    case = hidden_wheel(level, seed)
    state, passed, named = case.state, {}, []
    for _ in range(most):
        found = hint_for(state, case.limits, case.stuck, case.state.tension, plainly=True)
        if found.turns is None:
            break
        after = equilibrium(case.wheel, state.turns + found.turns, state.own_shape, start=state)
        passed |= passed_on_the_way(case.state.tension, case.limits.max_tension, state, after, found.turns)
        named.append(found.turns)
        state = after
    return found.cause, broken(view(state).values, case.limits), passed, named, case


@pytest.mark.parametrize("level", ["near-side", "one-spoke", "true", "round", "tension", "rebuild"])
@pytest.mark.parametrize("seed", range(5))
def test_who_follows_them_mends_the_wheel_and_passes_no_limit(level, seed):
    cause, left, passed, named, case = followed(level, seed)
    assert (cause, left, passed) == ("within", [], {})
    assert 0 < len(named) < 45
    assert not any(turns[k - 1] for turns in named for k in case.stuck)


@pytest.mark.parametrize("seed", range(5, 14))
def test_a_rebuild_is_never_led_past_a_limit(seed):
    cause, left, passed, _, _ = followed("rebuild", seed)
    assert (cause, left, passed) == ("within", [], {})


def test_followed_as_a_learner_would():
    """By typed turns: the session finds no limit passed, and the wheel within."""
    session = Session("rebuild", 5)
    for _ in range(30):
        session.hint()
        turns = session.hint().turns
        if turns is None:
            break
        session.predict("still")
        session.turn(spokes={i + 1: float(turns[i]) for i in np.flatnonzero(turns)})
    assert session.hint().cause == "within"
    assert not session.passed
    assert session.peak <= max(session.limits.max_tension, session.case.state.tension.max()) + 1e-3


@pytest.mark.parametrize("seed", range(20))
def test_uneven_names_true_neighbours(seed):
    """Of one flange, next to each other, and of opposite kinds."""
    case = hidden_wheel("tension", seed)
    found = hint_for(case.state, case.limits, plainly=True)
    assert found.cause == "uneven"
    loosened, tightened = (np.flatnonzero(sign * found.turns > 0) for sign in (-1, 1))
    assert (len(loosened), len(tightened)) == (1, 1)
    tight, loose = int(loosened[0]), int(tightened[0])
    assert (tight - loose) % 36 in (2, 34)  # sides alternate
    mean = view(case.state).mean["right" if tight % 2 == 0 else "left"]
    assert case.state.tension[tight] > mean > case.state.tension[loose]
    assert f"spoke {tight + 1} is" in found.words
    assert f"its neighbour {loose + 1} " in found.words


def test_no_way_seen_says_so():
    """Every nipple seized, and one far too tight: nothing is named that can't be done."""
    wheel = front(tension=900.0)
    found = hint(wheel, one(36, 7, 1.2), plainly=True, stuck=frozenset(range(1, 37)))
    assert found.cause == "no way seen"
    assert found.turns is None


def test_a_seized_spoke_far_off_is_left_to_its_neighbours():
    wheel = front(tension=900.0)
    free, seized = (hint(wheel, one(36, 7, 1.2), plainly=True, stuck=stuck) for stuck in (frozenset(), frozenset({7})))
    assert free.cause == "one spoke"
    assert free.turns[6] < 0
    assert seized.cause != "one spoke"
    assert seized.turns[6] == 0
    assert seized.turns.any()


@pytest.mark.parametrize("sizes", [AMOUNTS])
def test_a_move_that_passes_a_limit_is_not_named(sizes):
    """A near side within 20 N of its limit: tightening it is refused, loosening the far one is not."""
    wheel = dished(tension=1150.0)
    state = equilibrium(wheel, side_turns(wheel, left=0.3))
    bench = Bench(state, with_top(resolved(wheel), state.tension.max() + 20), state.tension)
    assert bench.tried(bench.whole(right=sizes[0])) is None
    assert bench.tried(bench.whole(left=-sizes[0])) is not None
    # Tightening the far side passes it as well, on the near one.
    assert bench.tried(bench.whole(left=sizes[0])) is None


def test_a_move_that_leaves_a_spoke_slack_is_not_named():
    wheel = front(tension=900.0)
    state = equilibrium(wheel, one(36, 7, -1.8))
    bench = Bench(state, resolved(wheel), state.tension)
    assert not view(state).slack
    assert state.tension[6] < bench.limits.min_tension
    assert bench.tried(bench.single([6], -0.125)) is not None
    assert bench.tried(bench.single([6], -2.0)) is None


def test_a_move_that_takes_a_spoke_below_its_least_is_not_named():
    wheel = with_limits(front(tension=420.0), min_tension=400.0)
    state = equilibrium(wheel)
    bench = Bench(state, resolved(wheel), state.tension)
    assert bench.tried(bench.whole(left=-0.25)) is None
    assert bench.tried(bench.whole(left=-0.0625 / 2)) is not None


def test_all_slack_nipples_seized():
    turns = one(36, 7, -5.0) + one(36, 25, -5.0)
    found = hint(front(), turns, plainly=True, stuck=frozenset({7, 25}))
    assert found.cause == "slack"
    assert "never force" in found.words
    assert "until the hand feels" not in found.words
    assert found.turns is None


def test_after_a_limit_was_passed_they_still_lead_on():
    """A near side taken past its limit by the learner: the way down is named, and ends within."""
    session = Session("rebuild", 3)
    session.predict("right")
    session.turn(right=0.25)
    assert session.passed
    for _ in range(40):
        session.hint()
        if (turns := session.hint().turns) is None:
            break
        session.predict("still")
        session.turn(spokes={i + 1: float(turns[i]) for i in np.flatnonzero(turns)})
    assert session.hint().cause == "within"


def test_a_spoke_received_above_its_limit_may_rise_a_little_in_passing():
    wheel = front(tension=900.0)
    state = equilibrium(wheel, one(36, 7, 1.5))
    limit = state.tension[6] - 100
    rise = one(36, 7, 0.1)
    after = equilibrium(wheel, state.turns + rise, start=state)
    more = after.tension[6] - state.tension[6]
    assert 20 < more < RISE_ABOVE
    assert not passed_on_the_way(state.tension, limit, state, after, rise)
    far = equilibrium(wheel, state.turns + 2 * rise, start=state)
    assert list(passed_on_the_way(state.tension, limit, state, far, 2 * rise)) == [7]
    # Received within it, it has no such leave.
    assert list(passed_on_the_way(np.full(36, 900.0), limit, state, after, rise)) == [7]


def with_top(limits, tension):
    return replace(limits, max_tension=float(tension))


def test_seized_nipple_is_named_where_it_matters():
    wheel = front(tension=900.0)
    near, far = (hint(wheel, 0.2 * SIGN * WAVE, plainly=True, stuck=frozenset({k})) for k in (28, 10))
    assert "spoke 28 is seized" in near.words
    assert "seized" not in far.words
    assert "seized" not in hint(wheel, 0.2 * SIGN * WAVE, stuck=frozenset({28})).words


def test_follows_the_wheel():
    """Plainer when asked again of the same wheel; another once the wheel is another."""
    session = Session("near-side", 0)
    first, again = session.hint(), session.hint()
    assert first.cause == again.cause == "no room"
    assert again.words.startswith(first.words)
    assert len(again.words) > len(first.words)
    session.predict("right")
    session.turn(left=-0.25)
    session.turn(left=-0.25)
    assert session.hint().cause == "within"
    assert session.hints == 3
