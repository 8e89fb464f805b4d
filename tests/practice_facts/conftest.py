"""Plans as a mechanic is told them."""

import pytest

from wheelsim.planning import planner


@pytest.fixture(autouse=True)
def no_fewest_beside(monkeypatch):
    """The literal fewest turns, which stand beside a plan and take as long as all the rest, are not looked at here."""
    monkeypatch.setattr(planner, "as_good", lambda *_: None)
