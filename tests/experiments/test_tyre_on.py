"""The numbers under Found, and the mechanics that they must obey."""

from dataclasses import replace

import numpy as np
import pytest

from experiments import tyre_on
from experiments.common import dished_rear, with_flanges
from tests.experiments.told import Told
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.tyre import PRACTICE, squeeze
from wheelsim.units import BAR, MM
from wheelsim.wheel.geometry import LAT, RAD, wheel_geometry


@pytest.fixture(scope="module")
def found():
    return tyre_on.run()


def test_found(found):
    told, one = Told(tyre_on), found.at(tyre_on.MIDDLE)
    lost = {side: mean[0] - mean[one] for side, mean in found.tension.items()}
    share = {side: 100 * lost[side] / found.tension[side][0] for side in lost}
    told("A tyre that takes {:.0f} % of the mean tension", 100 * tyre_on.SHARES[one])
    told("takes {:.0f} N off the near side ({:.1f} %) and {:.0f} N off the far side ({:.1f} %)", lost["right"],
         share["right"], lost["left"], share["left"])
    told("The rim moves {:.2f} mm toward the near side, so the gauge shows {:.2f} mm", found.dish[one] / MM,
         2 * found.dish[one] / MM)
    told("true stays within {} mm", 0.001)
    assert found.true.max() / MM < 0.001
    told("take {:.1f} % at {:.0f} mm and {:.0f} bar", 100 * found.theory, tyre_on.TYRE.width / MM,
         tyre_on.TYRE.pressure / BAR)
    told("practice's {:.0f} to {:.0f} %", *(100 * edge for edge in PRACTICE))
    assert told.left == []
    assert found.front_dish == pytest.approx(0, abs=1e-9)


def test_the_tyre_takes_what_it_is_said_to(found):
    mean = np.mean(list(found.tension.values()), axis=0)  # as many spokes on either side
    assert 1 - mean / mean[0] == pytest.approx(tyre_on.SHARES, abs=1e-9)


def test_sideways_pulls_still_balance():
    """The squeeze is radial, so what the two sides pull sideways must balance with the tyre as without it: with the
    tensions found, and each spoke from its hub hole to where its seat has gone."""
    wheel = dished_rear()
    g, taken = wheel_geometry(wheel), 0.002 * equilibrium(wheel).tension.mean()  # so little that linear is exact
    change = squeeze(wheel)
    spoke = g.lever - g.hub  # from the hub hole to the seat
    before = spoke.copy()
    spoke[:, LAT] += change.lateral * taken
    spoke[:, RAD] += change.radial * taken
    tension = equilibrium(wheel).tension + change.tension * taken

    def sideways(tension, spoke):
        return tension * spoke[:, LAT] / np.linalg.norm(spoke, axis=1)

    lost = np.abs(sideways(tension, spoke)).sum() - np.abs(sideways(equilibrium(wheel).tension, before)).sum()
    # A dish a tenth off leaves half a per cent unbalanced.
    assert sideways(tension, spoke).sum() == pytest.approx(0, abs=5e-4 * abs(lost))


def test_a_mirrored_wheel_does_the_mirrored(found):
    near, far = (dished_rear().hub.flange(side).offset for side in ("right", "left"))
    wheel = replace(with_flanges(dished_rear(), right=far, left=near), tension_side="left")
    change, taken = squeeze(wheel), tyre_on.SHARES[-1] * equilibrium(wheel).tension.mean()
    # Lacing starts from the right as before: mirrored but for which spoke comes first.
    assert change.lateral.mean() * taken == pytest.approx(-found.dish[-1], rel=1e-6)
    for side, other in (("left", "right"), ("right", "left")):
        lost = -change.tension[wheel.on_side(side)].mean() * taken
        assert lost == pytest.approx(found.tension[other][0] - found.tension[other][-1], rel=1e-6)


def test_draws(found):
    figure = tyre_on.draw(found)
    assert "0.4" in figure.get_suptitle()
    assert "[N]" in figure.axes[0].get_ylabel()
    assert "[mm]" in figure.axes[1].get_ylabel()
    assert "[%]" in figure.axes[1].get_xlabel()
