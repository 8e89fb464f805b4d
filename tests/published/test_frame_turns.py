"""Wheels rebuilt in OpenSees, a general library of frames, and turned far: prestress, large displacements, slack.

Spokes are corotational trusses that only pull, the rim corotational straight beams, 144 for the circle, of a shape
that the nominal pulls bring to the true one. Nipples turn by up to two turns; a spoke is loosened until it is slack;
and wheel B of Ford 2018 is pushed aside until spokes let go.
"""

from functools import cache

import numpy as np
import pytest

from tests.published import opensees, side_load
from tests.published.row import Row, assert_holds
from tests.published.test_ford_side_load import wheel_b
from tests.published.wheels import REAR, wheel
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.wheel.geometry import wheel_geometry

SOURCE = "OpenSees"
WHEELS = {"dished": REAR, "not dished": {**REAR, "flanges": (0.034, 0.034)}}
SPOKE = 5  # on the right
LOOSENED = -3.0  # turns, enough to let it go slack
EVEN = "144 straight members for the circle leave 3e-4"
UNEVEN = "our hoop force is the same all round; with pulls so uneven it is not, by some thousandths of the rim's shift"


def absent():
    """Whether the library can't be loaded; the rows of this module are then left out."""
    return opensees.library() is None


@cache
def turned(wheel, side=0.0, one=0.0):
    """Turns (n,) of the right side and of one spoke, the frame's lateral shift and tension, and our state."""
    turns = np.where(wheel_geometry(wheel).side > 0, side, 0.0)
    turns[SPOKE - 1] += one
    there = opensees.frame(wheel, turns)
    return there.lateral(), there.tension(), equilibrium(wheel, turns)


def _rows(where, words, case, rel, why, under):
    lateral, tension, state = case
    common = {"source": SOURCE, "where": where, "kind": "frame library", "under": under}
    pulling = tension > 1.0  # N
    beside = SPOKE  # the next on, counted from 0
    yield Row(**common, what=f"{words}: tension of spoke {beside + 1}", printed=float(tension[beside]),
              ours=float(state.tension[beside]), unit="N",
              why=why,
              rel=rel)
    yield Row(**common, what=f"{words}: largest difference of a tension, over it", printed=0.0,
              ours=float(np.abs(state.tension / np.where(pulling, tension, 1.0) - 1)[pulling].max()), unit="1",
              why=f"{why}; at the worst of all 36",
              absolute=rel)
    yield Row(**common, what=f"{words}: largest difference of a lateral shift, over the largest shift", printed=0.0,
              ours=float(np.abs(state.lateral - lateral).max() / np.abs(lateral).max()), unit="1",
              why=f"{why}; at the worst of all 36",
              absolute=rel)


def sides():
    """The right side by a quarter turn and by a full one."""
    for words, parts in WHEELS.items():
        this = wheel(tension=1000.0, **parts)
        for amount, under in ((0.25, ("prestress",)), (1.0, ("prestress", "large turns"))):
            yield from _rows(f"36 spokes at 1000 N, crossed, {words}", f"right side by {amount:g} turn",
                             turned(this, side=amount), 1e-3, EVEN, under)


def one_nipple():
    """One nipple by two turns."""
    for words, parts in WHEELS.items():
        yield from _rows(f"36 spokes at 1000 N, crossed, {words}", "one nipple by 2 turns",
                         turned(wheel(tension=1000.0, **parts), one=2.0), 5e-3, UNEVEN, ("prestress", "large turns"))


def slack():
    """One spoke loosened until it lets go: the same one slack, and no other."""
    for words, parts in WHEELS.items():
        where, under = f"36 spokes at 1000 N, crossed, {words}", ("prestress", "large turns", "slack")
        case = turned(wheel(tension=1000.0, **parts), one=LOOSENED)
        loose = case[1] < 1e-3
        yield Row(SOURCE, where, "one nipple loosened by 3 turns: number of the only spoke slack",
                  float(np.flatnonzero(loose)[0] + 1) if loose.sum() == 1 else -1.0,
                  float(np.flatnonzero(case[2].slack)[0] + 1) if case[2].slack.sum() == 1 else 0.0, "1",
                  kind="frame library", under=under,
                  why="a spoke is slack or not",
                  absolute=1e-9)
        yield from _rows(where, "one nipple loosened by 3 turns", case, 5e-3, UNEVEN, under)


def pushed_aside():
    """Wheel B of Ford 2018 at half of its buckling tension, pushed at a spoke away from its flange, spokes slack."""
    this, step = wheel_b(0.5), 5e-4
    ours = side_load.path(this, -step * np.arange(1, 25))
    for millimetres, rel, why in ((3, 5e-3, "the rim has turned by 0.02 rad: none slack yet"),
                                  (6, 0.01, "the rim has turned by 0.05 rad, our ring is linear in its moving frame"),
                                  (9, 0.02, "the rim has turned by 0.07 rad, our ring is linear in its moving frame"),
                                  (12, 0.02, "the rim has turned by 0.09 rad, our ring is linear in its moving frame")):
        pushed = opensees.frame(this, np.zeros(36))
        load = pushed.pushed(-millimetres * 1e-3, 4 * millimetres)
        loose = int((pushed.tension() < 1e-3).sum())
        yield Row(SOURCE, "wheel B of Ford 2018, half of its buckling tension",
                  f"load that pushes the rim {millimetres} mm aside, {loose} spokes slack", abs(load),
                  abs(ours[2 * millimetres - 1]), "N", kind="frame library",
                  under=("prestress", "slack") if loose else ("prestress",),
                  why=why,
                  rel=rel, remark="ours is the stiffer where the rim turns far" if millimetres > 6 else "")


CHECKS = (sides, one_nipple, slack, pushed_aside)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_frame_turns(check):
    """Same wheel, other program, turned far: every row within its tolerance."""
    pytest.importorskip("openseespy", reason="openseespy isn't installed: pip install '.[frames]'")
    if absent():
        pytest.skip("openseespy is installed, but its binary doesn't load here")
    assert_holds(check)
