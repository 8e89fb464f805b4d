"""DIN 79012, spoke thread FG 2.3: 56 threads an inch (seen in a table of the standard)."""

import pytest

from tests.published.row import Row, assert_holds
from tests.published.wheels import wheel
from wheelsim.mechanics.influence import influence
from wheelsim.wheel.geometry import wheel_geometry


def thread():
    """Pitch 25.4/56 mm: what a turn of a nipple shortens a spoke by."""
    this = wheel()
    geometry = wheel_geometry(this)
    own = influence(this)
    # What a turn takes up is what the spoke stretches plus what its seat comes nearer the hub.
    stretch = own.tension[0, 0] / geometry.stiffness[0]
    nearer = geometry.axis[0, 0] * own.lateral[0, 0] + geometry.axis[0, 2] * own.radial[0, 0]
    for what, printed, ours in (("pitch, as the product has it", "0.45357", this.spokes.thread_pitch),
                                ("what one turn takes up, stretch and rim shift", "0.45357", stretch + nearer),
                                ("a quarter turn moves the nipple", "0.1134", (stretch + nearer) / 4)):
        yield Row("DIN 79012", "FG 2.3", what, printed, ours * 1e3, "mm",
                  why="the printed digits",
                  rel=3e-4)


CHECKS = (thread,)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_thread(check):
    """The thread: every row within its tolerance."""
    assert_holds(check)
