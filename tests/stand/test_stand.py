"""One wheel asked many times gives the answers of the functions, and is estimated once."""

from dataclasses import replace
from functools import partial

import pytest

import wheelsim
from wheelsim.estimation import known
from wheelsim.files import sample_job
from wheelsim.report.words.verdict import verdict_words


@pytest.fixture(scope="module")
def job():
    return sample_job()


def test_same_answers_as_the_functions(job):
    stand = wheelsim.Stand(job)
    assert stand.predict(right="1/4").as_dict() == wheelsim.predict(job, right=0.25).as_dict()
    assert stand.predict(spokes={7: "1/2", 9: -0.125}).as_dict() == wheelsim.predict(
        job, spokes={7: 0.5, 9: -0.125}).as_dict()
    assert stand.assess().as_dict() == wheelsim.assess(job).as_dict()
    one, other = (planned(effort=0.2, seconds=60) for planned in (stand.plan, partial(wheelsim.plan, job)))
    assert one.as_dict()["turns"] == other.as_dict()["turns"]


def test_estimates_once(job, monkeypatch):
    counted = []

    def counting(*given):
        counted.append(given)
        return estimate(*given)

    estimate = known.estimate
    monkeypatch.setattr(known, "estimate", counting)
    stand = wheelsim.Stand(job)
    stand.predict(left="-1/4")
    stand.predict(right="1/4")
    stand.assess()
    stand.plan(effort=0.2, seconds=60)
    assert len(counted) == 1


def test_a_wheel_alone(job):
    assert wheelsim.Stand(job.wheel).predict().before.dish == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("turns", ["a quarter", "1/0", float("nan"), 25.0, True])
def test_turns_that_are_none(job, turns):
    with pytest.raises(ValueError, match="expected"):
        wheelsim.Stand(job).predict(right=turns)


def test_the_gauge_shows_the_gap_and_not_the_distance_to_a_target(job):
    """3.00 to 1.85 mm on the gauge whatever the frame wants; a target of -1 mm stands beside it, 1.00 and 0.15 off."""
    from io import StringIO

    from wheelsim.report.terminal.plan import tell_plan
    from wheelsim.report.terminal.shared import printer

    target = replace(job, work=replace(job.work, target_dish=-1.0e-3))
    found = wheelsim.plan(target, effort=0.2, seconds=60)
    out = StringIO()
    tell_plan(found, printer(out))
    (line,) = [line for line in out.getvalue().splitlines() if "Expect the gap" in line]
    assert ("from 3.00 mm (rim left; 1.00 mm left of the target) to 1.85 mm (rim left; 0.15 mm right of the target)"
            in line)
    assert found.after.gap == pytest.approx(2 * found.after.dish)
    assert found.after.off_target == pytest.approx(2 * (found.after.dish + 1.0e-3))
    assert "gap 3.0 mm (rim left) to 1.9 mm (rim left), 0.1 mm from the target" in verdict_words(found.verdict)
