"""Small tools of the look of figures."""

import colorsys

import matplotlib
import numpy as np
import pytest

from wheelsim.report.figures.look import STYLES, fixed_look, plain, signed, spread_out


def test_labels_already_apart_stay():
    np.testing.assert_allclose(spread_out([0.0, 3.0, 7.0], 2.0), [0, 3, 7])


def test_labels_too_near_move_apart_evenly():
    np.testing.assert_allclose(spread_out([0.0, 1.0, 9.0], 2.0), [-0.5, 1.5, 9])
    np.testing.assert_allclose(spread_out([5.0, 5.0, 5.0], 2.0), [3, 5, 7])
    # The upper pair, once apart, reaches the lowest.
    np.testing.assert_allclose(spread_out([0.0, 2.5, 2.5], 2.0), [-1 / 3, 5 / 3, 11 / 3])
    assert spread_out([], 2.0).size == 0


def test_signs():
    assert [signed(value, 1) for value in (0.26, -0.26, -0.01, 0.0)] == ["+0.3", "−0.3", "0.0", "0.0"]


def test_plain_text_holds_no_control_characters():
    assert plain(" a\tb\n\x00c  d ") == "a b c d"


def test_sides_differ_on_a_grey_print():
    colours = [matplotlib.colors.to_rgb(style.colour) for style in STYLES.values()]
    grey = [np.dot([0.299, 0.587, 0.114], colour) for colour in colours]
    hues = [colorsys.rgb_to_hsv(*colour)[0] for colour in colours]
    assert abs(grey[0] - grey[1]) > 0.15
    assert hues[0] != pytest.approx(hues[1], abs=0.2)


def test_look_leaves_settings_as_they_were():
    before = dict(matplotlib.rcParams)
    with fixed_look():
        assert matplotlib.rcParams["svg.hashsalt"] == "wheelsim"
    assert dict(matplotlib.rcParams) == before
