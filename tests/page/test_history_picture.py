"""The history on the page: a mark for each reading, filled where it was read."""

import numpy as np

from tests.estimation.test_course import bench
from wheelsim import Stand
from wheelsim.page.history_picture import history_picture


def test_marks():
    stand = Stand(bench(seed=3, errors=np.random.default_rng(3))[0])
    found = stand.assess()
    drawn = history_picture(found.readings, stand.predict().limits)
    assert drawn.count('class="as-read"') == 6  # all three quantities were read twice
    assert drawn.count('class="said"') == 3
    assert f"{found.view.highest:.0f} now" in drawn
    assert "history of 2 readings: gap" in drawn
