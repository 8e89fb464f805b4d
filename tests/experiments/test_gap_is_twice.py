"""The numbers under Found, and that the program reads a gauge by the same geometry."""

import pytest

from experiments import gap_is_twice
from tests.experiments.told import WORDS, Told
from wheelsim.readings.gauge import Gauge
from wheelsim.units import MM


def test_found():
    told, found, off = Told(gap_is_twice), gap_is_twice.run(), abs(gap_is_twice.OFFSET)
    told("A rim {:.2f} mm to the left leaves {:.2f} mm at the hub", off / MM, found.hub / MM)
    told("one of {:.0f} mm, as drawn, leave {:.0f} mm", abs(gap_is_twice.DRAWN) / MM, found.drawn / MM)
    told("both feet lift {:.2f} mm; with one foot resting the other lifts {:.2f} mm, {} times", found.feet / MM,
         found.one_foot / MM, WORDS[round(found.one_foot / off)])
    assert told.left == []



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
