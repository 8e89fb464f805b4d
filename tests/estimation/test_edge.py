"""Where dial, gauge and brake touch: the rim's edge moves with the section's twist too, and is what is judged."""

from dataclasses import replace

import numpy as np
import pytest

import wheelsim
from tests.wheels import dished, front, with_limits
from wheelsim.estimation.estimate import estimate
from wheelsim.job.job import Job
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.influence import influence
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.readings.simulated import Tools
from wheelsim.units import MM
from wheelsim.wheel.rules import PartError

OUT = 0.012
WHEELS = {"off-centre rim": dished(seat_offset=3e-3, inset=8e-3), "crossed drilling": front(drilling_offset=-3e-3)}
EACH = pytest.mark.parametrize("wheel", WHEELS.values(), ids=WHEELS)


def edged(wheel, out=OUT):
    """The wheel with its edge so far outside the section's centre. [m]"""
    return replace(wheel, rim=replace(wheel.rim, edge_radius=wheel.rim.section_radius + out))


def uneven(wheel, seed=5, size=0.25):
    """Turns of a wheel out of true, (n,)."""
    return size * np.random.default_rng(seed).standard_normal(wheel.n)


@EACH
def test_edge_moves_by_the_twist_too(wheel):
    """State and influence: the section's centre stays what it is; the edge's slope is that of the edge."""
    there, turns = edged(wheel), uneven(wheel)
    state = equilibrium(there, turns)
    assert state.lateral == pytest.approx(equilibrium(wheel, turns).lateral, abs=1e-12)
    assert state.edge == pytest.approx(state.lateral + OUT * state.twist, abs=1e-15)
    assert np.abs(state.edge - state.lateral).max() > 0.01 * MM  # or there were nothing to test
    step = np.zeros(wheel.n)
    step[6] = 1e-3
    slope = (equilibrium(there, turns + step).edge - equilibrium(there, turns - step).edge) / 2e-3
    # What rests is the linear wheel's neglect of its rim's twist within the tilted frame.
    assert np.abs(state.influence.edge[:, 6] - slope).max() < 5e-3 * np.abs(slope).max()
    assert influence(there).edge == pytest.approx(influence(there).lateral + OUT * influence(there).twist, abs=1e-15)


@EACH
def test_true_and_gap_are_judged_at_the_edge(wheel):
    """Run-out and gap of a view are what dial and gauge show there; JSON's lateral stays at the section's centre."""
    state = equilibrium(edged(wheel), uneven(wheel) + 0.5 * (np.arange(wheel.n) % 2))
    seen = view(state)
    assert seen.true == pytest.approx(np.ptp(Tools().dial(state)), abs=1e-12)
    assert seen.gap == pytest.approx(Tools().gauge(state), abs=1e-12)
    assert abs(seen.true - np.ptp(state.lateral)) > 0.01 * MM
    told = seen.as_dict()
    assert told["lateral_mm"] == pytest.approx(state.lateral / MM, abs=1e-6)
    assert told["gauge_gap_mm"] == pytest.approx(2 * state.lateral.mean() / MM, abs=1e-5)


@EACH
def test_a_plan_keeps_the_limit_where_the_dial_is(wheel):
    """The dial at the edge, after the plan's turns, shows what was promised, and that is within the limit."""
    wheel = with_limits(edged(wheel), lateral_runout=0.3 * MM)
    state = equilibrium(wheel, uneven(wheel, 11))
    reading = Reading(gauge=as_gauge(Tools().gauge(state)), lateral=tuple(enumerate(Tools().dial(state), 1)),
                      radial=tuple(enumerate(state.radial, 1)), tension=tuple(enumerate(state.tension, 1)))
    found = wheelsim.plan(Job(wheel, (reading,)), effort=1, seconds=60)
    assert found.after is not None
    shown = np.ptp(Tools().dial(found.after.state))
    assert found.after.values[Quantity.TRUE] == pytest.approx(shown, abs=1e-9)
    assert shown <= 0.3 * MM + 1e-6
    assert np.ptp(Tools().dial(state)) > 0.3 * MM


def as_gauge(gap):
    """A gauge reading of twice the offset. [m]"""
    return Gauge.showing(gap)


@EACH
def test_gauge_stands_on_the_edge(wheel):
    """A side turned by half a turn, read by the gauge's feet: the section's centre comes back, within the gauge."""
    there = edged(wheel)
    turns = 0.5 * (np.array(list(wheel.spokes.sides)) == "R")
    state = equilibrium(there, turns)
    reading = Reading(gauge=as_gauge(2 * float(state.edge.mean())), lateral=tuple(enumerate(state.edge, 1)),
                      radial=tuple(enumerate(state.radial, 1)), tension=tuple(enumerate(state.tension, 1)))
    shift = float(state.lateral.mean())
    # One per cent on the crossed drilling, more than three times the tolerance below.
    assert abs(state.edge.mean() / shift - 1) > 0.009
    assert estimate(there, reading).state.lateral.mean() == pytest.approx(shift, rel=3e-3)
    # The same read without an edge takes the edge's offset for the centre's.
    assert estimate(wheel, reading).state.lateral.mean() == pytest.approx(float(state.edge.mean()), rel=3e-3)


def test_where_the_dial_touched_is_the_edge():
    """A job takes the edge from its latest dial; what the wheel says of it comes first."""
    wheel = front()
    first, later = Reading(dial_radius=0.309), Reading(dial_radius=0.311)
    assert Job(wheel, (first, later, Reading())).wheel.rim.edge_radius == 0.311
    assert Job(edged(wheel), (first,)).wheel == edged(wheel)
    assert Job(wheel, (Reading(),)).wheel is wheel
    assert wheel.rim.edge_out == 0.0


def test_an_edge_far_off_is_refused():
    with pytest.raises(PartError, match="edge_radius"):
        edged(front(), 0.2)
