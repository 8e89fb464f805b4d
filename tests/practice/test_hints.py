"""Hints answer to the wheel as it stands, by cause."""

import numpy as np
import pytest

from tests.wheels import dished, front, side_turns, with_limits
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.practice.faults import hidden_wheel
from wheelsim.practice.hints import CAUSES, hint_for
from wheelsim.practice.session import Session
from wheelsim.truing.bounds import resolved


def hint(wheel, turns=None, shape=None, plainly=False, stuck=frozenset()):
    return hint_for(equilibrium(wheel, turns, shape), resolved(wheel), stuck, plainly=plainly)


def one(n, spoke, turns):
    out = np.zeros(n)
    out[spoke - 1] = turns
    return out


def bend(n=36):
    return np.stack([5e-3 * np.exp(-((np.arange(n) - 20) / 1.6) ** 2), np.zeros(n)])


SLACK = one(36, 7, -5.0)
UNEVEN = 0.6 * np.isin(np.arange(36), [2, 10, 22]) - 0.6 * np.isin(np.arange(36), [4, 12, 24])
ANGLE = 2 * np.pi * (np.arange(36) + 0.5) / 36
WAVE = np.cos(2 * ANGLE)
SIGN = np.where(np.arange(36) % 2 == 0, 1.0, -1.0)

WHEELS = [
    ("within", front(), None, None, "done", "done"),
    ("slack", front(), SLACK, None, "Spoke 7 hangs loose", "Spoke 7 hangs loose"),
    ("bent rim", front(), None, bend(), "what else holds that shape", "Near spoke 21 the rim itself is bent"),
    ("one spoke", front(tension=900.0), one(36, 7, 1.2), None, "unlike the others", "Loosen it"),
    ("one spoke", front(tension=900.0), one(36, 8, -1.6), None, "unlike the others", "Tighten it"),
    ("too tight", front(tension=1300.0), None, None, "loosen first", "Back off both flanges"),
    ("too tight", front(tension=1300.0), side_turns(front(), left=0.4), None, "loosen first",
     "a quarter turn off the left, once round, does both"),
    ("wobble first", front(tension=800.0), side_turns(front(), right=0.5) + 0.35 * SIGN * WAVE, None,
     "wobbles by more", "wobbles by"),
    ("no room", dished(tension=1050.0), side_turns(dished(), left=0.6), None, "hardly any room left",
     "quarter turn off the left"),
    ("no room", with_limits(front(tension=1060.0), max_tension=1260.0), side_turns(front(), right=0.45), None,
     "both sides are tight already", "quarter turn off the right"),
    ("none to give", with_limits(front(tension=450.0), min_tension=400.0), side_turns(front(), right=-0.3), None,
     "little tension to give away", "Tighten the right"),
    ("dish", front(tension=700.0), side_turns(front(), right=0.5), None, "must go left", "A quarter turn on the left"),
    ("true", front(tension=900.0), 0.2 * SIGN * WAVE, None, "leans to one flange where", "and loosen the"),
    ("round", front(tension=850.0), 1.2 * WAVE, None, "pull the rim in toward the hub", "a pair there"),
    ("too loose", with_limits(front(tension=250.0), min_tension=300.0), None, None, "loose all round",
     "tighten both flanges"),
    ("uneven", front(tension=900.0), UNEVEN, None, "the meter can", "Tightest for its side"),
]


@pytest.mark.parametrize(("cause", "wheel", "turns", "shape", "words", "plain"), WHEELS,
                         ids=[f"{row[0]}-{k}" for k, row in enumerate(WHEELS)])
def test_by_cause(cause, wheel, turns, shape, words, plain):
    first, then = (hint(wheel, turns, shape, plainly=plainly) for plainly in (False, True))
    assert (first.cause, then.cause) == (cause, cause)
    assert words in first.words
    assert plain in then.words


def test_every_cause_is_tried_here():
    assert {row[0] for row in WHEELS} == {name for name, _ in CAUSES} | {"within"}


def test_seized_nipple_is_named_when_asked_again():
    case = hidden_wheel("rebuild", 0)
    seized = next(iter(case.stuck))
    assert "seized" not in hint_for(case.state, case.limits, case.stuck).words
    assert f"spoke {seized} is seized" in hint_for(case.state, case.limits, case.stuck, plainly=True).words


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
