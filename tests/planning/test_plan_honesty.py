"""A plan says only what holds: margins kept, slack taken up, aims never looser than limits, reasons true."""

import json
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from tests.planning.test_plan import by_hand, full_reading, gauge
from tests.wheels import dished, front, make_wheel, side_turns
from wheelsim.files.reader import sample_job, sample_path
from wheelsim.job.job import Job, Work
from wheelsim.measures.bounds import broken, resolved
from wheelsim.measures.on_the_way import RISE_ABOVE
from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.planning.order import order_passes
from wheelsim.planning.plan import plan
from wheelsim.report.words.planning import ends_words
from wheelsim.report.words.verdict import verdict_words
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import Limits


def test_slack_spoke_is_taken_up():
    wheel = front()
    state = equilibrium(wheel, -3.0 * (np.arange(36) == 4))
    assert state.slack[4]
    found = plan(Job(wheel, (full_reading(state),), Work(margin=0.0)), to="limits", effort=2, seconds=60)
    assert found.turns is not None
    assert found.turns[4] > 1.0
    assert not found.after.state.slack.any()
    assert not broken(found.after.values, resolved(wheel))


def test_pushing_spokes_are_the_real_wheel_once_all_pull():
    wheel, turns = front(), 0.3 * np.random.default_rng(1).standard_normal(36)
    real, pushing = equilibrium(wheel, turns), equilibrium(wheel, turns, push=True)
    assert pushing.tension == pytest.approx(real.tension, abs=1e-5)
    loose = -3.2 * (np.arange(36) == 4)
    assert equilibrium(wheel, loose, push=True).tension[4] < -10
    assert equilibrium(wheel, loose).tension[4] == 0


def test_aims_looser_than_limits_do_not_loosen_them():
    wheel = replace(front(tension=900.0), aims=Limits(gap=2e-3, max_tension=1500.0))
    found = plan(Job(wheel, (gauge(1.5),)), effort=0.2, seconds=60)
    assert found.turns.any()
    assert abs(found.after.gap) <= 1e-3


def test_margin_is_kept_from_tension_too():
    """All spokes read: the meter's 3 per cent is kept from the highest tension, times the margin."""
    job = sample_job()
    highest = [plan(job, margin=margin, effort=0.2, seconds=60).after.highest for margin in (0.0, 1.0, 2.0)]
    assert highest[0] <= 1250
    assert highest[1] <= 1250 - 25
    assert highest[2] <= 1250 - 50


def test_unread_tension_has_no_margin():
    """The gauge alone: the wheel file's tension is taken, and said to be, but nothing is kept for it."""
    wheel = front(tension=1150.0)
    assert plan(Job(wheel, (gauge(0.1),))).status == "nothing to do"


def test_verdict_speaks_of_the_target():
    job = Job(front(tension=900.0), (gauge(3.0),), Work(target_dish=1.5e-3))
    found = plan(job, effort=0.2, seconds=60)
    assert "gap 3.0 mm (rim left) to 3.1 mm (rim right), 0.1 mm from the target" in verdict_words(found.verdict)
    assert found.after.dish > 0.9e-3


def test_none_in_aims_says_what_is_kept():
    """A spread that can't be had within what came in: the words tell bound and limit apart."""
    wheel = dished()
    job = Job(wheel, (full_reading(equilibrium(wheel, side_turns(wheel, left=0.8))),), Work(max_turns=0.25))
    found = plan(job, effort=0.2, seconds=60)
    assert found.status == "none"
    for one in found.blocking:
        assert f"{one.needed:.0f}" != f"{one.limit:.0f}" or one.unit == "mm"


def test_passes_keep_the_limit_at_every_nipple():
    wheel = dished(tension=1060.0)
    turns = 0.1 * np.random.default_rng(8).standard_normal(32) + side_turns(wheel, left=0.5)
    state = equilibrium(wheel, turns)
    limits = resolved(wheel)
    passes, sound = order_passes(state, side_turns(wheel, right=0.25, left=-0.75), limits)
    assert sound
    for one in passes:
        before, done = one.before.state, np.zeros(32)
        top = np.where(before.tension <= limits.max_tension, limits.max_tension, before.tension + RISE_ABOVE)
        for spoke in np.flatnonzero(one.turns):
            done[spoke] = one.turns[spoke]
            now = equilibrium(wheel, before.turns + done)
            # The card is reckoned in linear steps: a few newtons.
            assert (now.tension <= top + 5.0).all()
    assert np.allclose(sum(one.turns for one in passes), side_turns(wheel, right=0.25, left=-0.75))


def test_no_order_of_passes_is_no_plan(monkeypatch):
    monkeypatch.setattr("wheelsim.planning.planner.order_passes", lambda *_, **__: ((), False))
    found = plan(sample_job(), effort=0.5, seconds=60)
    assert found.status == "not found"
    assert found.turns is None
    assert found.advice[0].no_order
    assert "no order of passes" in found.as_dict()["advice"][0]


def test_wheel_that_can_not_stand():
    found = plan(front(tension=9000.0), effort=0.2, seconds=60)
    assert found.status == "none"
    assert found.blocking[0].name == "stability"
    assert found.as_dict()["before"] is None


def test_json_is_clean_while_the_solver_works(tmp_path):
    """What the solver's own code prints must not reach standard output."""
    path = tmp_path / "job.toml"
    state = equilibrium(dished(), 0.15 * np.random.default_rng(3).standard_normal(32))
    values = ", ".join(f"{v:.1f}" for v in state.tension)
    dial = ", ".join(f"{v * 1e3:.3f}" for v in state.lateral)
    wheel = sample_path("dished-rear-wheel.toml")
    path.write_text(f'wheel = "{wheel}"\n[[reading]]\ngauge = {{set_on="right", gap_mm=1.1, gap_at="hub"}}\n'
                    f"tension_N = [{values}]\nlateral_mm = [{dial}]\n")
    asked = [["plan", str(path), "--json", "--step", "1/2", "--fewest", fewest, "--time", "2", "--to", "limits"]
             for fewest in ("turns", "nipples", "passes")]
    code = f"import sys\nfrom wheelsim.cli import run\nsys.exit(max(run(words) for words in {asked}))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode in (0, 1), done.stderr
    left = done.stdout
    for _ in asked:
        found, end = json.JSONDecoder().raw_decode(left)
        assert found["format"] == 1
        left = left[end:].lstrip()
    assert left == ""


def test_own_shape_stands_at_nominal_and_grows_with_tension():
    """As a bent column under load: the rim's compression draws its own shape out, by about 1 / (1 - T / Tc)."""
    wheel = front()
    shape = np.stack([0.15e-3 * np.cos(2 * wheel_geometry(wheel).angle), np.zeros(36)])
    runs = [np.ptp(equilibrium(wheel, side_turns(wheel, turns, turns), shape).lateral) for turns in (0.0, 1.0, 2.0)]
    assert runs[0] == pytest.approx(np.ptp(shape[0]), rel=1e-6)
    assert runs[1] > 1.2 * runs[0]
    assert runs[2] > 1.2 * runs[1]


@pytest.mark.parametrize("n", [36, 48, 84, 144])
@pytest.mark.parametrize("tension", [0.0, 100.0, 300.0])
def test_light_tension_finds_rest(n, tension):
    """Few newtons in many spokes: rounding must not keep a stable wheel from its answer."""
    wheel = make_wheel(n, cross=2, tension=tension)
    state = equilibrium(wheel, np.random.default_rng(n).uniform(0.2, 0.6, n))
    assert (state.tension > tension).any()


def test_past_a_limit_in_what_nobody_read_is_said():
    """Never within limits, where what wasn't read is likely past one; where it isn't, what aim is missed."""
    found = by_hand()
    true = found.after.values[Quantity.TRUE]
    past = replace(found, limits=replace(found.limits, lateral_runout=true / 2), unmet=(Quantity.TRUE, Quantity.GAP))
    first, second = ends_words(past)
    assert first.startswith(f"Not read, and past its limit by what the other readings tell: true {true * 1e3:.2f} mm")
    assert second == "Within the other limits, but not to the aim in: gap."
    assert ends_words(replace(found, unmet=(Quantity.TRUE,))) == ("Within limits, but not to the aim in: true.",)
    assert ends_words(replace(found, unmet=())) == ()
