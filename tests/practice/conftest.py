"""Plans beside a session, ended by counted work and not by the clock: a busy machine has them too."""

import pytest

from wheelsim.planning import highs
from wheelsim.practice import ending

LONGEST = 60.0  # [s]
PLANS = {}  # by level and seed


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


@pytest.fixture
def plans_shared(quick_plans, monkeypatch):
    """Such a plan is made once a hidden wheel, however many sessions end on it; what was made, to be forgotten."""

    def once(case, made=ending.best_plan):
        key = case.level.name, case.seed
        if key not in PLANS:
            PLANS[key] = made(case)
        return PLANS[key]

    monkeypatch.setattr(ending, "best_plan", once)
    return PLANS
