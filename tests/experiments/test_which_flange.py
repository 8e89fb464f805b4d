"""The numbers under Found."""

import pytest

from experiments import which_flange
from tests.experiments.told import Told
from wheelsim.files import sample_job
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return which_flange.run()


def test_found(found):
    told = Told(which_flange)
    (far, cheap), (near, dear) = found.quarter("left"), found.quarter("right")
    told("A quarter turn of the far flange moves the rim {:.2f} mm and puts {:.0f} N on the near side", far / MM, cheap)
    told("of the near flange {:.2f} mm and {:.0f} N", near / MM, dear)
    told("costs the near side {:.0f} N from the far flange, {:.0f} N from the near one",
         *(found.price(side) * MM for side in ("left", "right")))
    told("The far flange moves the rim {:.2f} times as far, for {:.2f} of the price", far / near, cheap / dear)
    assert told.left == []


def test_moves_as_the_flanges_lie(found):
    """Derived: the pull of a side across the rim goes with its flange's distance, so the shifts do, nearly."""
    (far, cheap), (near, dear) = found.quarter("left"), found.quarter("right")
    hub = sample_job().wheel.hub
    # The rim also gives inward, which takes about a seventh off.
    assert far / near == pytest.approx(hub.left.offset / hub.right.offset, rel=0.2)
    assert cheap < dear / 2


def test_draws(found):
    figure = which_flange.draw(found)
    assert "0.58 mm for 49 N" in figure.get_suptitle().replace("\N{NO-BREAK SPACE}", " ").replace("\n", " ")
    assert "[mm]" in figure.axes[0].get_xlabel()
    assert "[N]" in figure.axes[0].get_ylabel()
