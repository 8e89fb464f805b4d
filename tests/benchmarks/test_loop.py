"""The benchmark of the loop itself, on two wheels by the rule of thumb, which is quick."""

import numpy as np
import pytest

from tests.benchmarks.loop import KINDS, PLANS, made, read, story, told
from wheelsim.readings.simulated import Tools


@pytest.mark.parametrize("part", list(PLANS))
def test_the_same_wheel_has_the_same_story(part):
    one, again = (story(1, "rear", "rule", part) for _ in range(2))
    assert one == again
    assert len(one.plans) == PLANS[part]
    assert one.after(10**6) == one.passes[-1] == one.plans[-1]
    assert one.turns > 0
    assert one.highest > 500
    words = told(part, "rule", [one, story(2, "disc front", "rule", part)])
    assert f"after plans 1 to {PLANS[part]}: " in words
    assert "on average, above its limit in" in words


@pytest.mark.parametrize("kind", list(KINDS))
def test_a_hand_reads_four_tensions_a_side_again(kind):
    rng = np.random.default_rng(3)
    wheel, state = made(rng, kind)
    found, everything = (read(Tools(rng), state, part) for part in ("hand", "all"))
    spokes = {spoke for spoke, _ in found.tension}
    assert [len(spokes.intersection(i + 1 for i in wheel.on_side(side))) for side in ("right", "left")] == [4, 4]
    assert (len(found.lateral), len(found.radial)) == (wheel.n, wheel.n)
    assert found.gauge is not None
    assert len(everything.tension) == wheel.n
