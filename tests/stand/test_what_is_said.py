"""What an assessment says of wheels read in part, of one odd spoke, of a missing one, of a slack wheel."""

import io
from dataclasses import replace

import numpy as np
import pytest

from tests.estimation.test_estimate import gauge, only, read_all
from tests.wheels import dished, front, side_turns
from wheelsim.estimation.assumed import NewSpokes
from wheelsim.estimation.certainty import some_read
from wheelsim.job.job import Job, Work
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.plan import plan
from wheelsim.readings.reading import Reading
from wheelsim.report.terminal.assess import tell_assessment
from wheelsim.report.terminal.shared import printer
from wheelsim.report.words.planning import first_words
from wheelsim.report.words.stand import judged_words
from wheelsim.report.words.verdict import verdict_words
from wheelsim.stand.advice import OddFirst, PutIn, RimLies, TurnSides
from wheelsim.stand.assess import assess

FRONT, REAR = front(), dished()
EIGHT = range(1, 37, 5)


def odd(wheel, turns):
    """An even wheel but for these nipples: turns by spoke, from 1."""
    out = 0.02 * np.random.default_rng(1).standard_normal(wheel.n)
    for spoke, turn in turns.items():
        out[spoke - 1] += turn
    return equilibrium(wheel, out)


def places(reading, spokes):
    """The reading with both dials at these spokes alone."""
    return replace(reading, **{name: tuple(pair for pair in getattr(reading, name) if pair[0] in spokes)
                               for name in ("lateral", "radial")})


def wobbly(size):
    """A front with two waves that turns of such a size make."""
    angle = np.asarray(FRONT.rim.hole_angles)
    return equilibrium(FRONT, size * np.where(np.arange(36) % 2 == 0, 1.0, -1.0) * np.cos(2 * angle))


def text(found):
    stream = io.StringIO()
    tell_assessment(found, printer(stream))
    return stream.getvalue()


def line(found, start):
    return next(one for one in text(found).splitlines() if one.startswith(start))


def status(found, name):
    return next(check.status for check in found.checks if check.name == name)


def test_a_few_places_tell_that_a_rim_is_out_of_true_and_never_that_it_is_true():
    bad, good = (assess(Job(FRONT, (places(read_all(wobbly(size)), EIGHT),))) for size in (0.3, 0.0))
    assert [status(found, "true") for found in (bad, good)] == ["outside", "unknown"]
    assert bad.verdict == "outside"
    assert "not enough read" not in line(bad, "true ")
    assert "not enough read" in line(good, "true ")


def test_one_place_or_none_tells_nothing():
    state = wobbly(0.3)
    for spokes in ((), (7,)):
        assert status(assess(Job(FRONT, (places(read_all(state), spokes),))), "true") == "unknown"
    assert some_read(FRONT, [Reading(lateral=((1, 0.0), (9, 1e-3)))])["lateral_runout"]
    assert not some_read(FRONT, [Reading(lateral=((1, 0.0),), radial=((1, 0.0),))])["radial_runout"]


def test_a_spread_of_a_few_spokes_read_may_be_outside():
    state = odd(REAR, {9: 1.5})
    found = assess(Job(REAR, (replace(only(read_all(state), (1, 9, 17, 25)), lateral=(), radial=()),)))
    assert (status(found, "spread right"), status(found, "spread left")) == ("outside", "unknown")


def test_a_dash_for_what_nobody_read_and_the_wobble_before_the_gauge():
    read = read_all(wobbly(0.2))
    found = assess(Job(FRONT, (replace(read, gauge=None, tension=()),)))
    assert line(found, "gap").split() == ["gap", "-", "-", "1.00", "mm", "-", "can't", "tell", "not", "read"]
    assert line(found, "highest tension").count(" - ") == 3
    assert line(found, "right mean against usual").split()[-2:] == ["not", "read"]
    assert found.as_dict()["checks"][0]["value"] == pytest.approx(0.0, abs=0.05)  # the number stays in JSON
    said = [one for one in found.as_dict()["advice"] if "wobble" in one]
    assert len(said) == 1
    assert f"wobble ({found.view.true * 1e3:.2f} mm) would make the gauge doubtful" in said[0]
    assert "true it before the gauge is read" in said[0]
    assert found.as_dict()["advice"][1].startswith("next, read the gauge")
    even = assess(Job(FRONT, (replace(read_all(wobbly(0.0)), gauge=None),))).as_dict()["advice"]
    assert not [one for one in even if "wobble" in one]


def test_a_rim_within_its_limit_is_not_called_out_of_true():
    found = assess(Job(FRONT, (read_all(wobbly(0.035)),)))
    assert status(found, "true") == "within"
    said = next(one for one in found.as_dict()["advice"] if "wobble" in one)
    assert "out of true" not in said
    assert "True first" not in said
    assert "True first" in " ".join(assess(Job(FRONT, (read_all(wobbly(0.3)),))).as_dict()["advice"])


@pytest.mark.parametrize(("wheel", "turn"), [(FRONT, 1.0), (FRONT, -1.0), (REAR, 1.0)])
def test_one_odd_spoke_is_named_and_no_side_is_turned(wheel, turn):
    found = assess(Job(wheel, (read_all(odd(wheel, {9: turn})),)))
    named = found.advice[0]
    assert isinstance(named, OddFirst)
    assert [one.spoke for one in named.spokes] == [9]
    # Whole quarters: the nearest one.
    assert named.spokes[0].turn == pytest.approx(-turn, abs=0.13)
    words = found.as_dict()["advice"]
    way, verb = ("tighter", "loosen") if turn > 0 else ("looser", "tighten")
    assert words[0].startswith(f"spoke 9 is far {way} than its side (")
    assert f"{verb} its nipple first, by about " in words[0]
    assert words[0].endswith(" turn, then read again")
    assert not [one for one in found.advice if isinstance(one, TurnSides)]
    assert "evenly" not in " ".join(words)


def test_two_odd_spokes_and_a_gap_that_waits():
    turns = 0.02 * np.random.default_rng(1).standard_normal(36) + side_turns(FRONT, right=-0.3, left=0.3)
    turns[[8, 10]] += 1.0, -1.0
    found = assess(Job(FRONT, (read_all(equilibrium(FRONT, turns)),)))
    assert {(one.spoke, one.turn > 0) for one in found.advice[0].spokes} == {(9, False), (11, True)}
    words = found.as_dict()["advice"]
    assert "loosen spoke 9 by about " in words[0]
    assert "tighten spoke 11 by about " in words[0]
    assert isinstance(found.advice[1], RimLies)
    assert found.advice[1].then is None
    assert words[1].endswith("it must move right")


def test_a_slack_wheel_with_an_odd_spoke_is_slack_first():
    turns = side_turns(FRONT, right=-1.0, left=-1.0)
    turns[8] += 1.0
    assert not [one for one in assess(Job(FRONT, (read_all(equilibrium(FRONT, turns)),))).advice
                if isinstance(one, OddFirst)]


def test_a_missing_spoke_is_put_in_before_anything_else():
    wheel = dished(missing=(9,))
    found = assess(Job(wheel, (read_all(equilibrium(wheel)),)))
    assert found.advice[0] == PutIn((9,))
    assert found.as_dict()["advice"][0].startswith("put in a new spoke at 9, ")
    assert not [one for one in found.advice if isinstance(one, TurnSides | RimLies | OddFirst)]


def test_slack_is_in_the_headline():
    slack = assess(Job(FRONT, (read_all(equilibrium(FRONT, side_turns(FRONT, right=-0.9, left=-0.9))),)))
    assert slack.verdict == "within"
    mean = slack.view.mean["right"]
    assert mean == pytest.approx(slack.view.mean["left"], abs=0.01)
    said = judged_words(slack).replace(" left ", " right ")  # both as far off
    assert said == f"Within its limits, but slack: right {mean:.0f} N where 1000 N is usual."
    assert judged_words(slack) in text(slack)
    assert slack.as_dict()["verdict"] == "within"
    unread = assess(Job(FRONT, (replace(read_all(slack.view.state), radial=()),)))
    assert judged_words(unread).startswith("Can't tell")
    assert judged_words(unread).endswith("N where 1000 N is usual.")
    assert " It is slack: " in judged_words(unread)
    assert judged_words(assess(FRONT)) == "Within its limits."


def test_a_slack_wheel_whose_side_can_not_be_told_is_tightened_evenly():
    two_waves = 0.05 * np.where(np.arange(36) % 2 == 0, 1.0, -1.0) * np.cos(2 * np.asarray(FRONT.rim.hole_angles))
    state = equilibrium(FRONT, two_waves - 0.9)
    words = assess(Job(FRONT, (replace(read_all(state), gauge=gauge(0.06e-3)),))).as_dict()["advice"]
    assert words[0].startswith("which side the rim lies can't be told")
    assert words[1] == "the wheel is slack: tighten both sides evenly, a quarter a round"


@pytest.mark.parametrize("more", ["right", "left"])
def test_where_both_are_tightened_the_side_that_centres_comes_first(more):
    """Slack, and off to the other side: first the flange it must move to, as in a plan (common practice, no source)."""
    less = "left" if more == "right" else "right"
    job = Job(FRONT, (read_all(equilibrium(FRONT, side_turns(FRONT, **{more: -1.1, less: -0.6}))),))
    assert f"it must move {more}; the wheel is slack: tighten {more}, then tighten {less}" in " ".join(
        assess(job).as_dict()["advice"])
    assert plan(job, effort=2, seconds=60).passes[0].side == more


def test_a_slack_wheel_is_no_reason_to_loosen():
    """Slack by a fifth and off by 2 mm: where a side is loosened for the dish, the reason is the dish."""
    for right, left in ((-0.8, 0.1), (0.1, -0.8)):
        words = assess(Job(REAR, (read_all(equilibrium(REAR, side_turns(REAR, right=right, left=left))),)))
        said = " ".join(words.as_dict()["advice"])
        assert "it must move" in said
        assert "slack: loosen" not in said
        assert "tight: tighten" not in said


def test_both_evenly_because_a_spoke_is_past_its_limit():
    """Its mean about right, and several spokes of either side too tight: that is the reason, not the mean."""
    turns = np.zeros(36)
    turns[[2, 7, 14, 20, 25, 31]] = 0.6
    found = assess(Job(FRONT, (read_all(equilibrium(FRONT, turns)),)))
    assert found.view.highest > FRONT.limits.max_tension
    both = [one for one in found.as_dict()["advice"] if "evenly" in one]
    assert both
    assert "its highest spoke is past its limit: loosen both sides evenly" in both[0]


def test_gap_and_gauge_speak_of_the_same_target():
    read = replace(read_all(equilibrium(FRONT)), gauge=gauge(0.45e-3))
    found = assess(Job(FRONT, (read,), Work(target_dish=2e-3)))
    assert line(found, "gap from the target").split()[4] == "3.10"
    assert "you read 0.90 mm (rim right), 3.10 mm from the target" in text(found)
    assert "from the target" not in text(assess(Job(FRONT, (read,))))


@pytest.mark.parametrize(("share", "said"), [(1.0, "over 99"), (0.995, "over 99"), (0.99, "99"), (0.005, "under 1"),
                                             (0.01, "1"), (0.0, "under 1")])
def test_never_a_hundred_of_a_hundred(share, said):
    found = assess(Job(FRONT, (read_all(equilibrium(FRONT)),)))
    only_gap = replace(found, checks=(replace(found.checks[0], sure=share),))
    assert line(only_gap, "gap").split("within")[1].strip() == said


def test_several_missing_spokes_are_new_spokes():
    """In the assessment's advice and before a plan's passes alike."""
    for missing, said in (((9,), "ut in a new spoke at 9, of the right length, and "),
                          ((7, 8, 20), "ut in new spokes at 7, 8, 20, each of the right length, and ")):
        wheel = dished(missing=missing)
        words = (assess(Job(wheel, (read_all(equilibrium(wheel)),))).as_dict()["advice"][0],
                 first_words(NewSpokes(missing)))
        assert all(said in one for one in words)
        assert all((" it " in one) == (len(missing) == 1) for one in words[1:])


@pytest.mark.parametrize("spokes", [(), range(1, 37)])
def test_tension_that_nobody_read_is_taken_as_usual(spokes):
    """In the advice and in a plan's headline; what is read is told with its figures."""
    state = equilibrium(FRONT, side_turns(FRONT, right=0.3, left=-0.3))
    job = Job(FRONT, (only(read_all(state), spokes),))
    words, headline = assess(job).as_dict()["advice"][0], verdict_words(plan(job, effort=0.2, seconds=60).verdict)
    said = "its tension is about right" if spokes else "its tension is taken as usual"
    assert f"; {said}: loosen right, then tighten left" in words
    assert headline.startswith(f"The rim lies right, {said}" + (" (right " if spokes else ", so "))
