"""The numbers under Found, and that the program reads a gauge by the same geometry."""

import pytest

from experiments import gap_is_twice
from wheelsim.readings.gauge import Gauge
from wheelsim.units import MM


def test_found():
    found = gap_is_twice.run()
    # As printed in the experiment.
    assert found.hub / MM == pytest.approx(3.00, abs=0.006)
    assert found.feet / MM == pytest.approx(3.00, abs=0.006)
    assert found.one_foot / MM == pytest.approx(6.00, abs=0.006)
    assert found.drawn / MM == pytest.approx(20, abs=0.6)


def test_the_program_reads_these_gaps_back_to_the_offset():
    found = gap_is_twice.run()
    for set_on, gap_at, gap in (("right", "hub", found.hub), ("left", "feet", found.feet),
                                ("left", "one foot", found.one_foot)):
        # Exact but for rounding.
        assert Gauge(set_on, gap_at, gap, gap).dish == pytest.approx(gap_is_twice.OFFSET, rel=1e-12)


def test_draws():
    figure = gap_is_twice.draw(gap_is_twice.run())
    assert "20 mm for 10 mm" in figure.get_suptitle().replace("\N{NO-BREAK SPACE}", " ")
    upper, lower = figure.axes
    assert any(text.get_text() == "gap 20 mm" for text in lower.texts)
    assert not any(text.get_text().startswith("gap") for text in upper.texts)
    assert upper.get_aspect() == lower.get_aspect() == 1.0  # to scale
