"""What counts as within a limit: one test, for a verdict, a plan, a prediction and the page alike."""

from dataclasses import replace

import numpy as np
import pytest

from tests.wheels import front
from wheelsim.measures.bounds import broken, resolved, within
from wheelsim.measures.quantities import Quantity, departures, measure
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.page.face import marks
from wheelsim.stand.assess import assess

BOUNDS = resolved(front())


@pytest.mark.parametrize("name", [name for name in Quantity if name is not Quantity.OFF_USUAL])
def test_a_limit_is_kept_to_rounding_and_no_further(name):
    limit, rounding, sign = BOUNDS.of(name), name.rounding, name.sign
    inside, touching, outside = (limit + sign * share * rounding for share in (-1000.0, 0.9, 1.1))
    assert within(name, [inside, limit, touching, outside], limit).tolist() == [True, True, True, False]
    assert broken({name: touching}, BOUNDS) == []
    assert broken({name: outside}, BOUNDS) == [name]


@pytest.mark.parametrize("name", list(Quantity))
def test_rounding_is_far_below_what_a_bench_reads(name):
    """Less than a hundredth of what the bench reads at best: 0.01 mm, 1 N, 1 per cent."""
    read = {"mm": 0.01, "N": 1.0, "%": 1.0}[name.unit]
    assert 0 < name.rounding * name.per_si <= read / 99


def test_an_infinite_limit_is_always_kept():
    assert within(Quantity.OFF_USUAL, [0.0, 5.0], np.inf).all()


@pytest.mark.parametrize(("above", "word"), [(0.5e-3, ""), (2e-3, "over limit")])
def test_verdict_and_page_agree_at_the_limit(above, word):
    """The highest spoke stands half a millinewton, or two, above the highest tension allowed."""
    state = equilibrium(front(), 0.05 * np.random.default_rng(1).standard_normal(36))
    limit = float(state.tension.max()) - above
    wheel = replace(front(), limits=replace(front().limits, max_tension=limit))
    assert (Quantity.HIGHEST in broken(view(state).values, resolved(wheel))) == bool(word)
    assert marks(view(state), resolved(wheel)).word(int(state.tension.argmax()) + 1) == word


@pytest.mark.parametrize(("above", "status"), [(0.5e-3, "within"), (2e-3, "outside")])
def test_an_assessment_judges_alike(above, status):
    """A wheel that nobody read is known exactly, so its checks depend on nothing but the limit."""
    wheel = front()
    limit = float(equilibrium(wheel).tension.max()) - above
    found = assess(replace(wheel, limits=replace(wheel.limits, max_tension=limit)))
    assert {check.name: check.status for check in found.checks}["highest tension"] == status


def test_departures_are_from_each_side_s_own_mean():
    wheel = replace(front(), spokes=replace(front().spokes, missing=frozenset({3})))
    tension = np.where(np.arange(36) % 2 == 0, 1000.0, 600.0)
    tension[[2, 4, 5]] = 0.0, 1170.0, 430.0  # the missing spoke; 16 others of its side, 17 of the other
    found = departures(wheel, tension)
    assert found[2] == 0
    assert found[4] == pytest.approx(1170 / 1010 - 1)
    assert found[5] == pytest.approx(430 / (600 - 170 / 18) - 1)
    assert np.abs(found[wheel.pulling("right")]).max() == pytest.approx(
        float(measure(wheel, np.zeros(36), np.zeros(36), tension).spread["right"]))
    assert np.isfinite(departures(wheel, np.zeros(36))).all()
