"""The numbers under Found."""

import pytest

from experiments import what_a_pass_teaches
from tests.experiments.told import Told


@pytest.fixture(scope="module")
def found():
    return what_a_pass_teaches.run()


def test_found(found):
    told = Told(what_a_pass_teaches)
    stiffness, off = 100 * found.stiffness.mean(axis=0), 100 * (found.gain - found.true_gain[:, None]).mean(axis=0)
    told("Over {} wheels the rim's stiffness is put at {:.0f} % of its kind's before any pass, at {:.0f} % after one, "
         "{:.0f} % after two and {:.0f} % after three; the truth is {:.0f} %", what_a_pass_teaches.WHEELS, *stiffness,
         100 * what_a_pass_teaches.SOFT)
    told("is put {:.1f} % of the pitch too high at first, then {:.1f} %, {:.1f} % and {:.1f} %", *off)
    told("known to {:.0f} % only", 100 * found.doubt[:, 1].mean())
    assert told.left == []


def test_never_faster_than_the_noise_allows(found):
    """The truth lies within two and a half of the doubts told, wheel by wheel, and doubt falls with every pass."""
    for stiffness, doubt in zip(found.stiffness[:, 1:], found.doubt[:, 1:], strict=True):
        assert (abs(stiffness - what_a_pass_teaches.SOFT) < 2.5 * doubt * stiffness).all()
    assert (found.doubt[:, 1:] < found.doubt[:, :1]).all()


def test_draws(found):
    figure = what_a_pass_teaches.draw(found)
    assert "86 % after one pass" in figure.get_suptitle().replace("\N{NO-BREAK SPACE}", " ").replace("\n", " ")
    assert "%" in figure.axes[0].get_ylabel()
