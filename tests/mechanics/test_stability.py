"""Where a wheel buckles: the eigenvalue against the stiffness, an exact wheel, and plain sense.

Formulas of rings and smeared spokes are met in tests/published (Ford, Timoshenko).
"""

from dataclasses import replace

import numpy as np
import pytest
from scipy.linalg import eigh

import wheelsim.cli.app
from tests.mechanics.exact import ExactWheel
from tests.published.test_ford_buckling import RIMS, parts
from tests.published.wheels import cosines, smeared
from tests.wheels import dished, front, make_wheel, paired, two_to_one
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import point_stiffness
from wheelsim.mechanics.stability import buckling, critical_tension
from wheelsim.mechanics.structure import Unstable
from wheelsim.report.words.warned import warning_words
from wheelsim.stand.predict import near_buckling, predict
from wheelsim.stand.warned import NearBuckling
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import Joint

WHEELS = {"front": front(), "dished": dished(), "2:1": two_to_one(), "paired": paired(), "24": make_wheel(24),
          "off-centre seats": dished(seat_offset=3e-3, inset=8e-3), "broken": dished(missing=(5,)),
          "soft joint": replace(front(), rim=replace(front().rim, joint=Joint(np.pi, 0.2, 0.5)))}
EACH = pytest.mark.parametrize("wheel", WHEELS.values(), ids=WHEELS)


def at(wheel, share):
    """The wheel at a share of its critical tension."""
    return replace(wheel, tension=share * critical_tension(wheel))


# With a spoke missing the wheel rests out of true, so that it is soft long before a true one would buckle.
@pytest.mark.parametrize("wheel", [one for name, one in WHEELS.items() if name != "broken"],
                         ids=[name for name in WHEELS if name != "broken"])
def test_stiffness_goes_singular_there(wheel):
    """Just below it a force meets almost nothing, in proportion to what is missing; just above, no answer."""
    critical = critical_tension(wheel)
    # Where the mode is largest: a force on a node of it would not feel it.
    spoke = int(np.abs(buckling(wheel).mode).argmax()) + 1
    bare = point_stiffness(replace(wheel, tension=0.0), spoke)[0]
    near = [point_stiffness(at(wheel, share), spoke)[0] for share in (0.99, 0.999)]
    assert 0 < near[1] < near[0] < 0.1 * bare
    # Near the end one mode is all there is, so a straight line leads to zero at the critical tension.
    end = 0.99 + 0.009 * near[0] / (near[0] - near[1])
    assert end == pytest.approx(1.0, abs=5e-4)
    assert critical > 0
    with pytest.raises(Unstable):
        point_stiffness(at(wheel, 1.01), spoke)
    with pytest.raises(Unstable):
        equilibrium(at(wheel, 1.01))


@EACH
@pytest.mark.parametrize("tension", [0.0, 300.0, 1500.0])
def test_nominal_tension_does_not_matter(wheel, tension):
    # Rounding of an eigenvalue problem whose matrix doesn't hold the nominal tension.
    assert critical_tension(replace(wheel, tension=tension)) == pytest.approx(critical_tension(wheel), rel=1e-9)


def exact_share(wheel, members):
    """Critical tension of the exact wheel over the product's: where its least eigenvalue runs through zero."""
    least = []
    for share in (0.97, 1.03):
        exact = ExactWheel(at(wheel, share), members)
        stiffness = exact._assemble(exact.nominal, np.zeros(wheel.n), exact.g.present)[1].toarray()
        least.append(eigh(stiffness, eigvals_only=True, subset_by_index=[0, 0])[0])
    return 0.97 + 0.06 * least[0] / (least[0] - least[1])


@pytest.mark.parametrize("name", ["front", "dished", "2:1", "24", "off-centre seats"])
def test_exact_wheel_buckles_there(name):
    """A rim of straight members, its hoop force and moments as the pulls make them, gives way at the same tension."""
    wheel = WHEELS[name]
    # 96 to 144 straight members for the circle, and in the product a hoop force that is even all round.
    assert exact_share(wheel, 6 if wheel.n == 24 else 4) == pytest.approx(1.0, abs=6e-3)


def test_few_spokes_buckle_a_little_sooner():
    """With 16 spokes the rim between them bends under the pulls, which the eigenvalue leaves out: 2 % unsafe."""
    # As far off as the exact wheel, at 12 members a gap, shows it; half of buckling is the ceiling anyway.
    assert exact_share(make_wheel(16, cross=2), 12) == pytest.approx(0.978, abs=3e-3)


def test_mode_is_a_wave():
    """Largest 1, no mean, and as many waves as it says; symmetric wheels buckle in pure waves."""
    for wheel in (front(), dished(), make_wheel(24)):
        found = buckling(wheel)
        assert found.mode.shape == (wheel.n,)
        assert found.mode[np.abs(found.mode).argmax()] == 1.0
        angle = wheel_geometry(wheel).angle
        amount = np.abs(np.exp(-1j * np.outer(np.arange(wheel.n // 2), angle)) @ found.mode) * 2 / wheel.n
        assert found.waves == amount.argmax() >= 2
        # The two sides lean differently and crossed spokes come in pairs: a few per cent of other waves.
        assert np.delete(amount, found.waves).max() < 0.05


@pytest.mark.parametrize("row", RIMS, ids=lambda row: f"{row[0]}-{row[3]}")
def test_waves_as_the_formula_has_them(row):
    """Ford 2018: the m at which [lam + mu m^2 (m^2-1)^2/(1 + mu m^2)]/(m^2 - g) is least."""
    wheel, m = smeared(72, **parts(row)), np.arange(2, 9)
    g, rim = wheel_geometry(wheel), wheel.rim
    c1, c2 = cosines(g)
    mu = rim.torsion / rim.lateral_bending
    lam = wheel.n * g.stiffness[0] * c1**2 / (2 * np.pi) * rim.section_radius**3 / rim.lateral_bending
    softer = rim.section_radius * (1 - c1**2) / (g.length[0] * c2)
    pull = (lam + mu * m**2 * (m**2 - 1) ** 2 / (1 + mu * m**2)) / (m**2 - softer)
    assert buckling(wheel).waves == m[pull.argmin()]


def test_plain_sense():
    """What holds the rim better lets it bear more: torsion, wider flanges, a stiff joint."""
    critical = critical_tension(front())
    for better in (front(torsion=50.0), front(right=40e-3, left=40e-3),
                   replace(front(), rim=replace(front().rim, joint=Joint(np.pi, 0.3, 3.0)))):
        assert critical_tension(better) > critical
    for worse in (front(missing=(7,)), replace(front(), rim=replace(front().rim, joint=Joint(np.pi, 0.3, 0.3)))):
        assert critical_tension(worse) < critical


def test_mirror_image_buckles_alike():
    """The mean of the right side is meant, the near one here and the far one in the mirror: balance relates them."""
    wheel = dished()
    mirror = dished(right=36e-3, left=19e-3)
    g = wheel_geometry(wheel)
    ratio = g.tension[1::2].mean() / g.tension[0::2].mean()
    # Spoke 1 lies on the other flange as well, which a symmetric lacing doesn't feel but for rounding.
    assert critical_tension(mirror) == pytest.approx(critical_tension(wheel) * ratio, rel=1e-9)


@pytest.mark.parametrize("name", [name for name in WHEELS if name != "broken"])
def test_warned_above_half(name):
    """predict warns when the right side ends above half of buckling, and only then."""
    wheel = WHEELS[name]
    below, above = at(wheel, 0.48), at(wheel, 0.53)
    assert near_buckling(equilibrium(below)) is None
    assert not predict(below).warnings
    near = near_buckling(equilibrium(above))
    assert near in predict(above).warnings
    words = warning_words(near)
    assert f"{critical_tension(wheel):.0f} N" in words
    assert f"{buckling(wheel).waves} waves" in words
    # Turns that take it past half: what counts is where the wheel ends.
    assert any(isinstance(one, NearBuckling) for one in predict(below, right=0.5, left=0.5).warnings)


def test_warned_on_the_command_line(capsys):
    assert wheelsim.cli.app.run(["predict", "--right", "1", "--left", "1"]) == 0
    assert "buckles" in capsys.readouterr().out
    assert wheelsim.cli.app.run(["predict"]) == 0
    assert "buckles" not in capsys.readouterr().out
