"""Plans beside a session, ended by counted work and not by the clock: a busy machine has them too."""

import pytest

from wheelsim.planning import highs
from wheelsim.practice import ending

LONGEST = 60.0  # [s]


@pytest.fixture
def plan_effort(monkeypatch):
    """Sets how much work a plan at a session's end may take."""

    def set_to(effort):
        monkeypatch.setattr(ending, "PLAN_SECONDS", LONGEST)
        monkeypatch.setattr(highs, "EFFORT_A_SECOND", effort / LONGEST)

    return set_to


@pytest.fixture
def quick_plans(plan_effort):
    plan_effort(0.4)
