"""M. Ford, "Reinventing the Wheel: Stress Analysis, Stability, and Optimization of the Bicycle Wheel",
PhD dissertation, Northwestern University, 2018, appendix: the standard research wheel, fully specified.
"""

import pytest

from tests.published.row import Row, assert_holds
from tests.published.wheels import BUTTED, point_load, smeared, wheel
from wheelsim.mechanics.influence import influence, point_stiffness
from wheelsim.mechanics.loads import loading
from wheelsim.wheel.geometry import wheel_geometry

SOURCE, WHERE = "Ford 2018", "appendix \"Standard research wheel\""
AGAINST_TENSION = "\"Lateral stiffness vs. spoke tension\""
SHARES = "\"Role of spoke tension in supporting in-plane loads\""
DERIVED = "Ford 2018, worked out"
WHOLE = "the printed digits round more than that"
# Read off the published curve of the general finite elements: tension N, lateral stiffness N/mm.
CURVE = ((0, "109.3"), (200, "106.5"), (400, "102.6"), (600, "97.9"), (800, "92.2"), (1000, "85.4"),
         (1200, "77.3"), (1400, "67.6"), (1500, "62.0"), (1600, "55.8"), (1800, "41.3"), (2000, "22.8"))
# Read off the same figure: tests on the real wheel.
MEASURED = ((353, "97.0"), (485, "92.4"), (615, "94.6"), (737, "89.7"), (870, "85.5"), (1067, "76.0"))


def _lateral(tension):
    return point_stiffness(wheel(tension=tension), 1)[0] / 1e3


def spokes():
    """Printed length, cosine and stiffness of the butted spokes, from the printed dimensions."""
    geometry = wheel_geometry(wheel(segments=BUTTED, modulus=210e9))
    length, stiffness = geometry.length[0], geometry.stiffness[0]
    for what, printed, ours, unit in (
        ("spoke length", "276.3", length * 1e3, "mm"),
        ("lateral direction cosine c1", "0.0959", geometry.axis[0, 0], "1"),
        ("EsAs of the butted spoke", "522", stiffness * length / 1e3, "kN"),
        ("K of the butted spoke", "1891", stiffness / 1e3, "N/mm"),
    ):
        yield Row(SOURCE, WHERE, what, printed, ours, unit,
                  why="three printed digits, and lengths of the butts printed to 1 mm",
                  rel=1.5e-3)


def untensioned():
    """Stiffness at a spoke without tension: discrete model 109.5 +-1 %, radial 4.36 to 4.38 kN/mm."""
    lateral, radial = point_stiffness(wheel(), 1)
    yield Row(SOURCE, f"{AGAINST_TENSION} (figure)", "lateral stiffness at a spoke, T = 0", 109.5,
              lateral / 1e3, "N/mm", shown="109.7 discrete spokes, 109.3 finite elements",
              why="two models of the source lie 0.4 % apart, and the reading of the figure is 0.3 %",
              rel=0.01)
    yield Row(SOURCE, f"{WHERE} (figure)", "radial stiffness at a spoke, T = 0", 4.37, radial / 1e6, "kN/mm",
              shown="4.36-4.38",
              why="reading of the figure",
              rel=0.01)


def _against_tension(tension, printed, ours, words):
    common = {"source": SOURCE, "where": f"{AGAINST_TENSION} (figure)", "printed": printed, "ours": ours,
              "unit": "N/mm", "what": f"lateral stiffness at {tension} N, {words}",
              "under": ("prestress",) if tension else ()}
    over = abs(ours / float(printed) - 1) > 0.01
    remark = ("ours falls sooner: from 600 N on, the published curve is ours moved 33 to 36 N up the tension "
              "axis, which tells the more the steeper it falls") if over else ""
    if tension <= 1400:
        return Row(**common, remark=remark,
                   why="two ways to put prestress into elements, and 0.3 N/mm of reading the figure",
                   rel=0.03, absolute=0.3)
    if tension <= 1600:
        return Row(**common, remark=remark,
                   why="steeper: 30 N of tension is 4 % here; and 0.3 N/mm of reading the figure",
                   rel=0.04, absolute=0.3)
    return Row(**common, remark=f"reported, being so near buckling: {remark}")


def tensioned():
    """Lateral stiffness against tension, general finite elements (figure)."""
    for tension, printed in CURVE:
        yield _against_tension(tension, printed, _lateral(tension), "K as printed, 1891 N/mm")
    for tension, printed in CURVE:
        if tension in (0, 1000, 1400, 1600):
            butted = wheel(segments=BUTTED, modulus=210e9, tension=tension)
            yield _against_tension(tension, printed, point_stiffness(butted, 1)[0] / 1e3,
                                   "K from the butts as printed, 1889 N/mm")


def measured():
    """Tests on the real wheel (figure): the model is stiffer, by up to 15 to 20 %."""
    for tension, printed in MEASURED:
        yield Row(SOURCE, f"{AGAINST_TENSION} (figure)", f"lateral stiffness of the real wheel at {tension} N", printed,
                  _lateral(tension), "N/mm", kind="measured",
                  why="the source says stiffer, by up to about 15 to 20 %",
                  span=(float(printed), 1.2 * float(printed)), under=("prestress",),
                  remark="the source's models too are stiffer than the real wheel, by up to 15 to 20 %")


def load_share():
    """Share of a radial load in the loaded spoke and its neighbours, smeared and discrete."""
    geometry = wheel_geometry(wheel())
    discrete = 100 * loading(wheel(), "radial").share[:, 0]
    # Smeared: where the even bed of 144 thin spokes lets the rim go, one of 36 spokes would carry this.
    even, _ = point_load(smeared(144), radial=-1.0)
    bed = -100 * geometry.stiffness[0] * geometry.axis[0, 2] ** 2 * even[::4, 2]
    for j, (name, seen, derived) in enumerate((("loaded spoke", "44", "42"), ("next spoke", "24", "25"),
                                               ("next but one", "3", "3"))):
        yield Row(SOURCE, SHARES, f"share of a radial load, smeared spokes (here 144): {name}", seen, bed[j], "%",
                  why="whole per cents, and how the source smears is not known to the last one",
                  absolute=2.0,
                  remark="" if j == 1 else "printed in whole per cents; leaving hoop stretch out takes 0.9 off ours")
        yield Row(DERIVED, SHARES, f"share of a radial load, discrete spokes: {name}", derived, discrete[j], "%",
                  kind="derived",
                  why="whole per cents",
                  absolute=0.5, remark=WHOLE if j else "")


def one_turn_of_one():
    """One full turn of one spoke, T -> 0: tensions and rim shift round the wheel."""
    own = influence(wheel())
    for away, printed in enumerate(("370", "-90", "-131", "106", "-22", "54", "2", "17", "22")):
        yield Row(DERIVED, WHERE, f"one turn of one spoke: tension {away} spokes away", printed,
                  own.tension[away, 0], "N", kind="derived",
                  why="whole newtons",
                  absolute=1.0, remark=WHOLE if abs(float(printed)) < 50 else "")
    for away, printed in enumerate(("0.707", "0.670", "0.573", "0.445", "0.310", "0.186", "0.084", "0.009", "-0.039")):
        yield Row(DERIVED, WHERE, f"one turn of one spoke: lateral shift {away} spokes away", printed,
                  own.lateral[away, 0] * 1e3, "mm", kind="derived",
                  why="whole thousandths of a millimetre",
                  absolute=1e-3, remark=WHOLE if away == 7 else "")
    yield Row(DERIVED, WHERE, "one turn of one spoke: radial shift at it, inward", "0.191",
              -own.radial[0, 0] * 1e3, "mm", kind="derived",
              why="whole thousandths of a millimetre",
              absolute=1e-3)


def one_turn_of_many():
    """All 36 one turn, and the left side only, T -> 0."""
    this = wheel()
    own = influence(this)
    left = this.on_side("left")
    yield Row(DERIVED, WHERE, "all 36 one turn: tension of each", "588", own.tension[0].sum(), "N",
              kind="derived",
              why="whole newtons",
              absolute=1.0)
    yield Row(DERIVED, WHERE, "all 36 one turn: rim radius", "-0.142", own.radial[0].sum() * 1e3, "mm",
              kind="derived",
              why="at a spoke the rim dips 0.001 mm below its mean circle, and the digits in print",
              rel=0.01, absolute=5e-4)
    yield Row(DERIVED, WHERE, "left side one turn: the rim moves left, p/(2 c1)", "2.364",
              -own.lateral[:, left].sum(axis=1).mean() * 1e3, "mm", kind="derived",
              why="whole thousandths of a millimetre",
              absolute=1e-3)
    for side in ("right", "left"):
        yield Row(DERIVED, WHERE, f"left side one turn: tension of the {side} side", "294",
                  own.tension[this.on_side(side)][:, left].sum(axis=1).mean(), "N", kind="derived",
                  why="whole newtons",
                  absolute=1.0)


CHECKS = (spokes, untensioned, tensioned, measured, load_share, one_turn_of_one, one_turn_of_many)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_ford_wheel(check):
    """The standard research wheel: every row within its tolerance."""
    assert_holds(check)
