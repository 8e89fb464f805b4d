"""All experiments by one command; the gallery and the teaching sheet can't go stale."""

import importlib.metadata
import os
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

from experiments import gallery
from experiments.__main__ import main, run_all, run_one
from experiments.ten_things import THINGS
from tests.experiments.told import quantities

ROOT = Path(__file__).parents[2]
NAMES = gallery.experiments()
FAST = ("which_flange", "tyre_on", "tighten_or_loosen")


@pytest.mark.parametrize("name", NAMES)
def test_every_experiment_is_whole(name):
    one = gallery.entry(name)  # refuses a docstring without its four headings
    assert one.title.endswith("?")
    assert all(one.parts[heading] for heading in gallery.HEADINGS)
    assert re.search(r"\d|twice|half", one.parts["Found"])
    module = import_module(f"experiments.{name}")
    assert gallery.FIGURES / f"{name}.svg" == module.FIGURE
    assert f"figures/{name}.svg" in one.parts["Figure"]
    assert module.FIGURE.is_file(), "run python -m experiments"
    test = (ROOT / "tests" / "experiments" / f"test_{name}.py").read_text(encoding="utf-8")
    assert f"Told({name})" in test, "the numbers under Found come from run()"
    assert "assert told.left == []" in test, "all of them"


def test_every_figure_has_its_experiment():
    assert {path.stem for path in gallery.FIGURES.glob("*.svg")} == set(NAMES)


def test_a_docstring_without_a_heading_is_refused(tmp_path, monkeypatch):
    (tmp_path / "bare.py").write_text('"""Why?\n\nQuestion\n    Q\nFound\n    1\nFigure\n    f\n"""\n')
    monkeypatch.setattr(gallery, "HERE", tmp_path)
    with pytest.raises(ValueError, match="no Expect in its docstring"):
        gallery.entry("bare")


def test_runs_some_into_a_directory(tmp_path, capsys):
    run_all(FAST, tmp_path)
    said = capsys.readouterr()
    lines = said.out.splitlines()
    assert [line.split()[0] for line in lines] == list(FAST)
    assert all(re.search(r"\d+\.\d s   figure changed$", line) for line in lines)
    assert [line.split()[:2] for line in said.err.splitlines()] == [
        [f"{k}/{len(FAST)}", name] for k, name in enumerate(FAST, 1)]
    assert {path.name for path in tmp_path.iterdir()} == {f"{name}.svg" for name in FAST}


def test_a_second_run_changes_no_byte(tmp_path, capsys):
    """Not in the same process, nor in another that orders its sets and dictionaries of words another way."""
    run_all(FAST, tmp_path)
    first = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    capsys.readouterr()
    run_all(FAST, tmp_path)
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == len(FAST)
    assert all(line.endswith("figure unchanged") for line in lines)
    subprocess.run([sys.executable, "-m", "experiments", *FAST, "--into", str(tmp_path)], cwd=ROOT, check=True,
                   capture_output=True, env={**os.environ, "PYTHONHASHSEED": "7"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == first


def test_gallery_and_sheet_are_written_once(tmp_path, monkeypatch):
    monkeypatch.setattr(gallery, "GALLERY", tmp_path / "README.md")
    monkeypatch.setattr(gallery, "SHEET", tmp_path / "ten_things.md")
    monkeypatch.setattr(gallery, "POSTER", tmp_path / "ten_things.pdf")
    assert len(gallery.write()) == 3
    assert gallery.write() == []


def test_command(tmp_path, capsys):
    assert main([FAST[0], "--into", str(tmp_path)]) == 0
    assert capsys.readouterr().out.startswith(FAST[0])
    assert [path.name for path in tmp_path.iterdir()] == [f"{FAST[0]}.svg"]


@pytest.mark.parametrize(("words", "said"), [
    (["no_such"], "no experiment no_such; expected some of quarter_turn"),
    ([FAST[0], "--into", "/no/such/place"], "no such directory"),
])
def test_bad_words(words, said, capsys):
    assert main(words) == 2
    spoken = capsys.readouterr()
    assert said in spoken.err
    assert not spoken.out


def test_gallery_is_up_to_date():
    assert gallery.GALLERY.read_text(encoding="utf-8") == gallery.gallery(), "run python -m experiments"
    assert gallery.SHEET.read_text(encoding="utf-8") == gallery.sheet(), "run python -m experiments"


@pytest.mark.parametrize("name", NAMES)
def test_gallery_shows_it(name):
    text = gallery.GALLERY.read_text(encoding="utf-8")
    assert f"]({name}.svg)" in text
    assert gallery.entry(name).sentence in text


@pytest.mark.parametrize("thing", THINGS, ids=lambda thing: thing.experiment)
def test_ten_things_say_what_was_found(thing):
    told = quantities(gallery.entry(thing.experiment).parts["Found"])
    said = quantities(thing.proof)
    assert said, "each thing has its number"
    assert not said - told, f"experiments/{thing.experiment}.py doesn't say {said - told} under Found"


def test_there_are_ten():
    assert len({thing.experiment for thing in THINGS}) == len(THINGS) == 10


def pinned():
    lines = (ROOT / "tests" / "constraints.txt").read_text().splitlines()
    return dict(line.lower().replace("_", "-").split("==") for line in lines if line and not line.startswith("#"))


def test_what_the_project_needs_is_pinned():
    needs = [re.split(r"[ ;<>=!~\[]", need)[0].lower().replace("_", "-")
             for need in importlib.metadata.requires("wheelsim")]
    assert not set(needs) - set(pinned())


def test_a_figure_is_byte_for_byte_the_committed_one(tmp_path):
    versions = {name: importlib.metadata.version(name) for name in ("matplotlib",)}
    for name, version in versions.items():
        if pinned()[name] != version:
            pytest.skip(f"{name} {version} is installed; the committed figures are of {pinned()[name]}")
    for name in FAST:
        run_one(name, tmp_path)
        assert (tmp_path / f"{name}.svg").read_bytes() == (gallery.FIGURES / f"{name}.svg").read_bytes()
