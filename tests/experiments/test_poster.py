"""The ten things on one page: each rule, its numbers and its experiment, and a picture for each."""

import numpy as np
import pypdfium2
import pytest

from experiments import gallery, ten_pictures
from experiments.poster import poster_bytes
from experiments.ten_things import THINGS
from wheelsim.report.sheet.shapes import Words


def test_one_page_that_says_all_ten():
    found = pypdfium2.PdfDocument(gallery.POSTER.read_bytes())
    assert len(found) == 1
    text = " ".join(found[0].get_textpage().get_text_bounded().split())
    for number, thing in enumerate(THINGS, 1):
        assert f"{number}. {thing.rule}" in text
        assert all(word in text for word in thing.proof.split())
        assert thing.experiment in text


def test_it_is_up_to_date_and_the_same_again():
    first = poster_bytes()
    assert first == poster_bytes()
    assert gallery.POSTER.read_bytes() == first, "run python -m experiments"


@pytest.mark.parametrize("thing", THINGS, ids=lambda thing: thing.experiment)
def test_its_picture_stays_within_its_frame(thing):
    drawing = ten_pictures.PICTURES[thing.experiment](48.0)
    assert drawing.shapes
    places = np.array([point for shape in drawing.shapes if not isinstance(shape, Words) for point in shape.points])
    assert places.min() >= -0.01
    assert places[:, 0].max() <= drawing.width + 0.01
    assert places[:, 1].max() <= drawing.height + 0.01


def test_bars_over_the_limit_are_the_dark_ones():
    """1,651 and 1,280 N stand above the 1,270 N allowed, 1,181 N does not."""
    for experiment, highest in (("which_way", 1652.0), ("loosen_first", 1280.0)):
        assert highest in ten_pictures.told(experiment)
        white = [shape.text for shape in ten_pictures.PICTURES[experiment](48.0).shapes
                 if isinstance(shape, Words) and shape.colour == "#ffffff"]
        assert white == [f"{highest:.0f}"]
