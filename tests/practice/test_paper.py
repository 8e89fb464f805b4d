"""Exercises on paper: their answers hold on the wheel itself, stand apart from the questions, and come out the same."""

import re

import numpy as np
import pypdfium2
import pytest

import wheelsim.cli.app
from wheelsim.measures.view import Stands, view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.practice.exercises import seeds_of, strip_sheet, way_sheet
from wheelsim.practice.faults import drawn_case
from wheelsim.practice.made import PracticeError
from wheelsim.practice.paper import class_sheet
from wheelsim.report.sheet.blocks import PAPERS
from wheelsim.report.sheet.write import render
from wheelsim.wheel.parts import OTHER, SIDES, USUAL_WITHIN

SEEDS = range(12)


def pages_of(data):
    """Words of each page, broken lines joined."""
    return [" ".join(page.get_textpage().get_text_bounded().split()) for page in pypdfium2.PdfDocument(data)]


@pytest.mark.parametrize("seed", SEEDS)
def test_which_way_is_right(seed):
    one = way_sheet(seed)
    state, turns = one.shown.state, np.zeros(one.before.wheel.n)
    # From the gauge as drawn: the rim lies toward the face that is read where the gap is at the hub, else away.
    lies = OTHER[one.shown.gauge.set_on] if one.shown.gauge.gap_at == "hub" else one.shown.gauge.set_on
    assert lies == ("right" if state.dish > 0 else "left")
    assert one.shown.gauge.low == pytest.approx(abs(2 * state.dish), abs=0.051e-3)  # drawn to the tenth
    for side, amount in one.turns.items():
        turns[one.before.wheel.on_side(side)] = amount
    after = view(equilibrium(one.before.wheel, state.turns + turns, start=state))
    assert abs(after.gap) < 0.6e-3
    assert abs(after.gap) < abs(one.before.gap) / 2
    assert after.highest <= one.limits.max_tension
    assert after.stands(USUAL_WITHIN) is Stands.ABOUT_RIGHT
    assert (one.turns[OTHER[lies]] - one.turns[lies]) > 0  # more pull from the side it must go to
    for side, few in one.tensions.items():
        for spoke, tension in few:
            assert spoke - 1 in one.before.wheel.on_side(side)
            assert tension == pytest.approx(state.tension[spoke - 1], abs=5.001)


def test_all_kinds_of_tension_and_both_wheels_come():
    found = [way_sheet(seed) for seed in range(16)]
    assert {one.stands for one in found} == set(Stands)
    assert {one.before.wheel.n for one in found} == {32, 36}
    assert {(one.shown.gauge.set_on, one.shown.gauge.gap_at) for one in found} >= {
        (side, at) for side in SIDES for at in ("hub", "feet")}


@pytest.mark.parametrize("seed", SEEDS)
def test_the_nipple_to_blame_is_named(seed):
    one = strip_sheet(seed)
    turns = one.case.state.turns
    assert one.spoke == int(np.abs(turns).argmax()) + 1  # the one that was turned when the wheel was made
    assert np.sign(one.amount) == -np.sign(turns[one.spoke - 1])
    assert one.after.true < one.seen.true


def test_answers_on_a_page_of_their_own():
    *questions, last = pages_of(render(class_sheet([1, 2, 3, 4, 5, 6]), PAPERS["A4"], ".pdf"))
    assert last.startswith("Answers, with the reason")
    assert not any("Answers" in page or "then read again" in page for page in questions)
    for number, seed in enumerate(range(1, 7), 1):
        way, strip = way_sheet(seed), strip_sheet(seed)
        told = re.search(rf"(?:^| ){number}\. (.*?) {number + 1}\. (?:Loosen|Tighten)", last)[1]
        assert way.shown.why in told
        assert f"{abs(way.before.gap) * 1e3:.1f} to {abs(way.after.gap) * 1e3:.1f} mm" in told
        assert f"{way.before.highest:.0f} to {way.after.highest:.0f} N" in told
        assert f"spoke {strip.spoke} " in last
        for few in way.tensions.values():
            assert all(f"{spoke}: {value:.0f}" in " ".join(questions) for spoke, value in few)


@pytest.mark.parametrize("kind", [".pdf", ".html"])
def test_same_seeds_same_bytes(kind):
    first = render(class_sheet([3, 7]), PAPERS["A5"], kind)
    drawn_case.cache_clear()
    assert render(class_sheet([3, 7]), PAPERS["A5"], kind) == first
    assert render(class_sheet([3, 8]), PAPERS["A5"], kind) != first


@pytest.mark.parametrize(("text", "seeds"), [("1-6", [1, 2, 3, 4, 5, 6]), ("3", [3]),
                                             ("4, 1-2,1", [4, 1, 2]), ("0", [0])])
def test_seeds_in_words(text, seeds):
    assert seeds_of(text) == seeds


@pytest.mark.parametrize("text", ["", "6-1", "x", "1-", "1-99", "-3", "1.5", "9999999999", "1,,2", "²"])
def test_bad_seeds(text):
    with pytest.raises(PracticeError, match="expected"):
        seeds_of(text)


def test_the_command(tmp_path, capsys):
    out = tmp_path / "class.pdf"
    assert wheelsim.cli.app.run(["practise", "--sheet", str(out), "--seeds", "2,5"]) == 0
    assert out.read_bytes() == render(class_sheet([2, 5]), PAPERS["A4"], ".pdf")
    words = capsys.readouterr()
    assert words.out == ""
    assert "class.pdf" in words.err


@pytest.mark.parametrize(("words", "told"), [
    (["--sheet", "class.txt"], "expected a sheet's name that ends in .pdf or .html"),
    (["--sheet", "none/class.pdf"], "no such directory"),
    (["--sheet", "."], "expected"),
    (["--sheet", "class.pdf", "--seeds", "6-1"], "--seeds: '6-1'"),
    (["--sheet", "class.pdf", "--paper", "A3"], "expected A4 or A5"),
])
def test_nothing_is_written_after_bad_words(tmp_path, monkeypatch, capsys, words, told):
    monkeypatch.chdir(tmp_path)
    assert wheelsim.cli.app.run(["practise", *words]) == 2
    got = capsys.readouterr()
    assert got.out == ""
    assert told in got.err
    assert got.err.count("\n") == 1
    assert not list(tmp_path.iterdir())
