"""M. Ford, "Reinventing the Wheel", PhD dissertation, Northwestern University, 2018: side load on a wheel until a
spoke lets go, and on until it gives way, by general finite elements with slack spokes.

Wheel B of the table of examples, radial bending 150 N.m2. Not given to us: which way the load pushes from the
flange of the spoke it stands at. Here away from it, where spokes beside it let go first; the other way is reported.
"""

from functools import cache

import numpy as np
import pytest

from tests.published import side_load
from tests.published.row import Row, assert_holds
from tests.published.test_ford_smeared import COMMON, WHEELS
from tests.published.wheels import wheel
from wheelsim.mechanics.stability import critical_tension

SOURCE, WHERE = "Ford 2018", "side load until collapse, wheel B (figure)"
# Tension over buckling tension, load at the first slack spoke and largest load, N.
CURVES = ((0.1, "83", "406"), (0.2, "162", "415"), (0.3, "222", "425"), (0.4, "280", "434"), (0.5, "320", "444"),
          (0.6, "343", "429"), (0.7, "346", "401"), (0.8, "336", "379"), (0.9, "299", "332"))
AWAY, TOWARD = -1.0, 1.0  # spoke 1 stands on the right
FURTHEST = 16.5e-3  # [m] followed to here; the rim has then turned by some 7 degrees at the load
STEP = 5e-4  # [m]


@cache
def wheel_b(share):
    """Wheel B at a share of the tension at which it buckles itself, 36 spokes."""
    parts = WHEELS["B"][3]
    return wheel(tension=share * critical_tension(wheel(**COMMON, **parts)), **COMMON, **parts)


def first_slack():
    """Load at which the first spoke lets go, followed: linear theory is 1 to 40 % short of it near buckling."""
    for share, printed, _ in CURVES:
        common = {"source": SOURCE, "where": WHERE, "printed": printed, "unit": "N", "under": ("prestress",)}
        what = f"load at the first slack spoke, {share:g} of the buckling tension"
        ours = side_load.first_slack(wheel_b(share), AWAY, step=STEP)
        off = abs(ours / float(printed) - 1) > 0.01
        yield Row(**common, what=what, ours=ours,
                  why="0.3 % of 500 N for reading the figure, and the wheel buckles 2 % below its smeared formula",
                  rel=0.02, absolute=1.5, remark="the buckling tension it is a share of is our own" if off else "")
        if share in (0.1, 0.5, 0.9):
            yield Row(**common, what=f"{what}, pushed toward the flange",
                      ours=side_load.first_slack(wheel_b(share), TOWARD, step=STEP),
                      remark="reported: the spoke at the load itself lets go, sooner; the source's way is not known")


def largest_load():
    """Largest load of the path, as far as it is followed."""
    shifts = AWAY * np.arange(STEP, FURTHEST + STEP / 2, STEP)
    for share, _, printed in CURVES:
        loads = np.abs(side_load.path(wheel_b(share), shifts))
        inside = loads.argmax() < len(loads) - 1
        how = ("the rim has turned by 5 to 7 degrees there, past the few that the model is for" if inside
               else f"the load still rises at {len(loads) * STEP * 1e3:g} mm, where the model, for turns of a few "
                    "degrees, is left")
        yield Row(SOURCE, WHERE, f"largest load, {share:g} of the buckling tension", printed, loads.max(), "N",
                  remark=f"reported: {how}", under=("prestress", "slack"))


CHECKS = (first_slack, largest_load)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_ford_side_load(check):
    """Side load with slack: every row within its tolerance."""
    assert_holds(check)
