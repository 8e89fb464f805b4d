"""The strip says what the states say, and stays legible."""

import itertools
import subprocess
import sys

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_hex

from wheelsim.measures.view import view
from wheelsim.report.figures import render, strip
from wheelsim.report.figures.look import STYLES
from wheelsim.report.figures.words import what_to_see

LATERAL, RADIAL, TENSION, TURNS = range(4)


def artists(axes, label):
    return [one for one in axes.get_children() if one.get_label() == label]


def artist(axes, label):
    (one,) = artists(axes, label)
    return one


def words(figure):
    return [text.get_text() for axes in figure.axes for text in axes.texts]


@pytest.fixture
def pair(make_wheel, make_view):
    wheel = make_wheel()
    return wheel, make_view(wheel, dish=-1.5e-3), make_view(wheel, dish=-0.2e-3, scale=2.0)


@pytest.fixture
def turns():
    out = np.zeros(32)
    out[[0, 3, 10]] = 0.25, -0.5, 1.0
    return out


def test_tension_stems_stand_at_the_tensions(pair, turns):
    wheel, before, after = pair
    axes = strip(wheel, before, after, turns).axes[TENSION]
    for side in STYLES:
        index = np.array(wheel.on_side(side))
        head = artist(axes, f"after {side}")
        np.testing.assert_array_equal(head.get_xdata(), index + 1)
        np.testing.assert_allclose(head.get_ydata(), after.state.tension[index], atol=0.006)
        stems = np.array(artist(axes, f"stems after {side}").get_segments())
        np.testing.assert_allclose(stems[:, 1], np.column_stack([index + 1, head.get_ydata()]))
        assert not stems[:, 0, 1].any()
        was = artist(axes, f"before {side}")
        np.testing.assert_allclose(was.get_ydata(), before.state.tension[index], atol=0.006)


def test_rim_lines_in_millimetres(pair, turns):
    wheel, before, after = pair
    figure = strip(wheel, before, after, turns)
    for panel, name in ((LATERAL, "lateral"), (RADIAL, "radial")):
        for label, seen in (("before", before), ("after", after)):
            line = artist(figure.axes[panel], label)
            np.testing.assert_array_equal(line.get_xdata(), np.arange(1, 33))
            np.testing.assert_allclose(line.get_ydata(), 1e3 * getattr(seen.state, name), atol=6e-5)


def test_limits_lie_at_the_limits(make_wheel, make_view):
    wheel = make_wheel(max_tension=1300.0, min_tension=350.0, gap=0.8e-3, lateral_runout=0.6e-3,
                       radial_runout=0.4e-3)
    seen = make_view(wheel, dish=-0.2e-3)
    aimed = view(seen.state, -2e-3)
    figure = strip(wheel, aimed, aimed, np.zeros(32))
    tension, lateral, radial = (figure.axes[k] for k in (TENSION, LATERAL, RADIAL))
    assert list(artist(tension, "max tension").get_ydata()) == [1300, 1300]
    assert list(artist(tension, "min tension").get_ydata()) == [350, 350]
    assert artist(lateral, "target").get_ydata() == pytest.approx([-2, -2])
    edges = [line.get_ydata()[0] for line in artists(lateral, "gap limit")]
    # The gauge shows twice the dish.
    assert edges == pytest.approx([-2.4, -1.6])
    state = seen.state
    for axes, mean, width in ((lateral, state.lateral.mean(), 0.6), (radial, state.radial.mean(), 0.4)):
        band = artist(axes, "band")
        assert band.get_height() == pytest.approx(width)
        # Rounded to a tenth of a micron before drawing.
        assert band.get_y() + band.get_height() / 2 == pytest.approx(1e3 * mean, abs=1e-4)
    said = words(figure)
    for label in ("max 1,300 N", "min 350 N", "gap limit 0.8 mm", "target −2.00", "mean −0.20"):
        assert label in said
    assert not [label for label in said if label.startswith("before")]


def test_least_tension_from_load_has_no_line(make_wheel, make_view):
    wheel = make_wheel(min_tension="from load")
    seen = make_view(wheel)
    figure = strip(wheel, seen, seen, np.zeros(32))
    assert not artists(figure.axes[TENSION], "min tension")
    assert not [label for label in words(figure) if label.startswith("min")]


def test_turns_stand_where_they_are_asked(pair, turns):
    figure = strip(*pair, turns)
    drawn = np.zeros(32)
    for side in STYLES:
        head = artist(figure.axes[TURNS], f"turns {side}")
        drawn[head.get_xdata() - 1] = head.get_ydata()
        index = pair[0].on_side(side)
        assert set(head.get_xdata() - 1) == set(np.flatnonzero(turns)) & set(index)
    np.testing.assert_array_equal(drawn, turns)
    assert "no nipple turned" not in words(figure)
    figure.draw_without_rendering()
    ticks = [label.get_text() for label in figure.axes[TURNS].get_yticklabels()]
    assert {"+1/2", "−1/2", "+1"} <= set(ticks)


def test_no_turns_are_said_to_be_none(pair):
    assert "no nipple turned" in words(strip(*pair, np.zeros(32)))


def test_missing_and_slack_are_marked(make_wheel, make_view):
    wheel = make_wheel(16, missing=[7])
    before, after = make_view(wheel), make_view(wheel, slack=[4])
    figure = strip(wheel, before, after, np.zeros(16))
    for panel in (TENSION, TURNS):
        assert list(artist(figure.axes[panel], "missing").get_xdata()) == [7]
    assert artist(figure.axes[TENSION], "missing").get_marker() == "x"
    assert list(artist(figure.axes[TENSION], "slack").get_xdata()) == [4]
    for label in ("after right", "before right"):
        assert 7 not in artist(figure.axes[TENSION], label).get_xdata()
    legend = [text.get_text() for text in figure.legends[0].get_texts()]
    assert legend[-2:] == ["slack", "missing"]


def test_whole_wheel_has_no_such_marks(pair, turns):
    figure = strip(*pair, turns)
    assert not artist(figure.axes[TENSION], "missing").get_xdata().size
    assert not artist(figure.axes[TENSION], "slack").get_xdata().size
    assert not {"slack", "missing"} & {text.get_text() for text in figure.legends[0].get_texts()}


def test_nothing_before_when_nothing_is_compared(pair):
    wheel, _, after = pair
    figure = strip(wheel, after, after, np.zeros(32))
    for axes in figure.axes:
        assert not [one for one in axes.get_children() if str(one.get_label()).startswith("before")]


def test_axes_carry_units_and_share_the_spokes(pair, turns):
    figure = strip(*pair, turns)
    labels = [axes.get_ylabel() for axes in figure.axes]
    assert labels == ["lateral [mm]\n+ right", "radial [mm]\n+ out", "tension [N]", "turns\n+ tightens"]
    assert "spoke number" in figure.axes[-1].get_xlabel()
    assert {axes.name for axes in figure.axes} == {"rectilinear"}
    for axes in figure.axes:
        assert axes.get_shared_x_axes().joined(axes, figure.axes[0])
        assert [line.get_xdata()[0] for line in artists(axes, "valve")] == [0.5, 32.5]


def test_sides_differ_by_marker_line_and_colour(pair, turns):
    axes = strip(*pair, turns).axes[TENSION]
    heads = [artist(axes, f"after {side}") for side in STYLES]
    stems = [artist(axes, f"stems after {side}") for side in STYLES]
    assert len({head.get_marker() for head in heads}) == 2
    assert len({to_hex(head.get_markeredgecolor()) for head in heads}) == 2
    assert len({str(stem.get_linestyle()) for stem in stems}) == 2


@pytest.mark.parametrize(("n", "missing", "slack"), [(8, [], []), (16, [7], [4]), (28, [], []), (36, [], [2]),
                                                    (48, [1, 48], []), (144, [], [])])
def test_no_words_overlap_or_leave_the_page(make_wheel, make_view, n, missing, slack):
    wheel = make_wheel(n, missing)
    before, after = make_view(wheel, dish=-0.02e-3), make_view(wheel, dish=0.02e-3, slack=slack, scale=1.5)
    turns = np.where(np.arange(n) % 3, 0.0, 0.5)
    figure = strip(wheel, before, after, turns)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    texts = [*figure.texts, *figure.legends[0].get_texts()]
    for axes in figure.axes:
        low, high = axes.get_ylim()
        texts += [*axes.texts, axes.yaxis.label]
        texts += [text for text in axes.get_yticklabels() if low <= text.get_position()[1] <= high]
    texts += [figure.axes[-1].xaxis.label, *figure.axes[-1].get_xticklabels()]
    boxes = [(text.get_text(), text.get_window_extent()) for text in texts if text.get_text()]
    page = figure.bbox
    for said, box in boxes:
        assert page.x0 <= box.x0, said
        assert box.x1 <= page.x1, said
        assert page.y0 <= box.y0, said
        assert box.y1 <= page.y1, said
    for (one, a), (other, b) in itertools.combinations(boxes, 2):
        # Boxes of type reach a little beyond the ink.
        assert min(a.x1, b.x1) - max(a.x0, b.x0) < 1 or min(a.y1, b.y1) - max(a.y0, b.y0) < 3, (one, other)
    assert min(text.get_fontsize() for text in texts) >= 9


@pytest.mark.filterwarnings("error")
def test_free_text_is_taken_as_it_stands(pair, turns):
    figure = strip(*pair, turns, title="cost $6_$\n\x01車輪", sentence="Look here")
    render(figure, "png")  # without a warning, and without taking dollars for a formula
    assert figure.texts[0].get_text() == "cost $6_$ 車輪"
    assert figure.get_suptitle() == "Look here"


def test_sentence_gives_the_numbers(make_wheel, make_view):
    wheel = make_wheel(side_spread=0.5)
    before, after = make_view(wheel, dish=-1.5e-3), make_view(wheel, dish=-0.2e-3, scale=2.0)
    assert what_to_see(wheel, before, after) == (
        "Gap 3.0 to 0.4 mm; true 0.20 to 0.40 mm; highest spoke 1,030 to 1,060 of 1,270 N")
    aimed = view(after.state, -2e-3)
    assert what_to_see(wheel, aimed, aimed) == (
        "Gap from the target 3.6 mm (limit 1.0); true 0.40 mm; highest spoke 1,060 of 1,270 N")


def test_sentence_names_what_is_outside(make_wheel, make_view):
    wheel = make_wheel(max_tension=1020.0, min_tension=650.0, side_spread=0.01)
    seen = make_view(wheel)
    assert what_to_see(wheel, seen, seen).endswith(
        "highest spoke 1,030 N (limit 1,020); side spread 2 % (limit 1); lowest spoke 601 N (limit 650)")


def test_drawing_brings_in_no_windows():
    code = "import sys, wheelsim.report.figures; print('matplotlib.pyplot' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout == "False\n"
