"""The picture of a job's readings: what stands in it is what the assessment has."""

from dataclasses import replace

import numpy as np
import pytest

from tests.estimation.test_course import bench
from wheelsim import Stand, figure
from wheelsim.report.figures.history import history
from wheelsim.units import MM


@pytest.fixture(scope="module")
def found():
    return Stand(bench(seed=3, errors=np.random.default_rng(3))[0]).assess()


def test_readings_and_predictions_stand_where_they_should(found):
    panels = history(found).axes
    for axes, of, digits in ((panels[0], lambda seen: seen.gap / MM, 3), (panels[1], lambda seen: seen.true / MM, 3),
                             (panels[2], lambda seen: seen.highest, 3)):
        drawn = next(line.get_ydata() for line in axes.get_lines() if line.get_marker() == "D")
        assert drawn[1] == pytest.approx(of(found.readings[1].predicted), abs=10**-digits)
        read = axes.get_lines()[0].get_ydata()
        assert read == pytest.approx([of(one.view) for one in found.readings], abs=10**-digits)


def test_its_sentence_and_names(found):
    drawn = history(found)
    assert "Over 2 readings the gap went from" in drawn.get_suptitle()
    assert [label.get_text() for label in drawn.axes[-1].get_xticklabels()] == ["reading 1\n ",
                                                                                "reading 2\nafter pass 1"]


def test_an_assessment_of_several_readings_is_drawn_as_its_history(found):
    assert len(figure(found).axes) == 3


def test_one_reading_has_no_history():
    job, _, _ = bench()
    alone = Stand(replace(job, readings=job.readings[:1], passes=())).assess()
    with pytest.raises(ValueError, match="two readings"):
        history(alone)
    assert len(figure(alone).axes) == 4
