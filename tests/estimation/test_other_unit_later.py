"""A later reading in another unit: asked about, and neither the turns nor the rim are blamed for it."""

from dataclasses import replace

import pytest

from tests.wheels import dished, side_turns
from wheelsim.estimation.doubts import KgfAsNewtons
from wheelsim.estimation.known import Known
from wheelsim.job.job import Job, Pass
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.stand.assess import assess
from wheelsim.units import KGF

WHEEL = dished()
BEFORE = equilibrium(WHEEL, side_turns(WHEEL, left=0.5))
QUARTER = side_turns(WHEEL, right=0.25)
AFTER = equilibrium(WHEEL, BEFORE.turns + QUARTER, start=BEFORE)


def job(unit, spokes):
    """Read, a quarter on the right, and read again with tensions in this unit taken for newtons."""
    readings = [Reading("", Gauge.showing(2 * state.dish), tension=tuple((k, float(state.tension[k - 1]) / one)
                                                                   for k in some))
                for state, one, some in ((BEFORE, 1.0, range(1, 33)), (AFTER, unit, spokes))]
    turned = tuple((k + 1, float(turns)) for k, turns in enumerate(QUARTER) if turns)
    return Job(WHEEL, tuple(replace(one, after_pass=k) for k, one in enumerate(readings)), passes=(Pass(1, turned),))


@pytest.mark.parametrize("spokes", [(1, 2), (1, 3, 5, 7), range(1, 33)], ids=["two", "four", "all"])
def test_kilograms_taken_for_newtons_after_a_pass(spokes):
    told = Known(job(KGF, spokes))
    assert any(isinstance(one, KgfAsNewtons) for one in told.doubts)
    # Without those figures: what the first reading and the turns say, to the doubt that the turns add.
    assert told.found.state.tension.mean() == pytest.approx(AFTER.tension.mean(), rel=0.1)
    assert assess(told).verdict in ("outside", "within", "unknown")


def test_newtons_after_a_pass_count():
    told = Known(job(1.0, range(1, 33)))
    assert not told.doubts
    assert told.found.state.tension.mean() == pytest.approx(AFTER.tension.mean(), rel=0.03)
