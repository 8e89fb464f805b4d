"""Files: the same bytes twice, whole or not there, and clear words when they can't be."""

import os
import subprocess
import sys
from xml.etree import ElementTree

import numpy as np
import pytest

from wheelsim.report.figures import picture_kind, render, save, strip

START = {"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}


@pytest.fixture
def draw(make_wheel, make_view):
    def make(scale=1.0037):
        wheel = make_wheel(16, missing=[7])
        return strip(wheel, make_view(wheel), make_view(wheel, slack=[4], scale=scale), np.zeros(16))
    return make


@pytest.mark.parametrize("kind", sorted(START))
def test_same_figure_same_bytes(draw, tmp_path, monkeypatch, kind):
    first, second = tmp_path / f"a.{kind}", tmp_path / f"b.{kind.upper()}"
    save(draw(), first)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "86400")  # a clock that would show
    save(draw(), second)
    assert first.read_bytes() == second.read_bytes()
    assert first.read_bytes().startswith(START[kind])
    # What the arithmetic leaves in the last bits does not show; what a bench could read does.
    assert render(draw(1.0037 + 1e-9), kind) == first.read_bytes()
    assert render(draw(1.5), kind) != first.read_bytes()


def test_neither_other_settings_nor_another_process_show(tmp_path):
    code = ("import sys; from wheelsim.report.figures import save, strip; from wheelsim.files import sample_job; "
            "from wheelsim.stand.predict import predict; job = sample_job(); p = predict(job, left=-0.5); "
            "save(strip(job.wheel, p.before, p.after, p.turns), sys.argv[1])")
    own = tmp_path / "matplotlibrc"
    own.write_text("font.size: 20\nlines.linewidth: 9\nsvg.fonttype: none\naxes.grid: True\n")
    pictures = []
    for name, settings in (("a.svg", {"PYTHONHASHSEED": "1"}),
                           ("b.svg", {"PYTHONHASHSEED": "2", "MATPLOTLIBRC": str(own)})):
        subprocess.run([sys.executable, "-c", code, str(tmp_path / name)], check=True,
                       env=os.environ | settings)
        pictures.append((tmp_path / name).read_bytes())
    assert pictures[0] == pictures[1]


def test_nothing_of_clock_or_maker_is_written(draw):
    for kind in START:
        data = render(draw(), kind)
        for mark in (b"Matplotlib v", b"matplotlib.org", b"CreationDate", b"<dc:date>", b"Creator"):
            assert mark not in data, (kind, mark)


def test_svg_is_sound_and_titled(draw):
    figure = draw()
    root = ElementTree.fromstring(render(figure, "svg"))
    title = root.find("{http://www.w3.org/2000/svg}title").text
    assert title.startswith("Gap 0.0 mm; true 0.20 mm")
    ids = [one.get("id") for one in root.iter() if one.get("id")]
    assert len(ids) == len(set(ids))
    # Type as outlines, so that it looks the same where the font is not.
    assert root.find(".//{http://www.w3.org/2000/svg}text") is None


@pytest.mark.parametrize("name", ["picture.gif", "picture", "svg", "picture.svg.gz"])
def test_other_extensions_are_refused(draw, tmp_path, name):
    with pytest.raises(ValueError, match=r"expected .*\.svg, \.png or \.pdf"):
        save(draw(), tmp_path / name)
    assert not list(tmp_path.iterdir())


def test_kind_follows_the_extension():
    assert [picture_kind(f"a.b/c.{end}") for end in ("svg", "PNG", "Pdf")] == ["svg", "png", "pdf"]


def test_missing_directory_is_named(draw, tmp_path):
    with pytest.raises(FileNotFoundError, match="no such directory") as caught:
        save(draw(), tmp_path / "nowhere" / "a.svg")
    assert caught.value.filename == str(tmp_path / "nowhere")


def test_old_picture_stands_when_writing_fails(draw, tmp_path, monkeypatch):
    path = tmp_path / "a.svg"
    path.write_bytes(b"old")

    def full(self, data):
        with open(self, "wb") as out:
            out.write(data[:10])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.write_bytes", full)
    with pytest.raises(OSError, match="No space left"):
        save(draw(), path)
    assert path.read_bytes() == b"old"
    assert [one.name for one in tmp_path.iterdir()] == ["a.svg"]


def test_replaces_an_old_picture(draw, tmp_path):
    path = tmp_path / "a.svg"
    path.write_bytes(b"old")
    save(draw(), path)
    assert path.read_bytes() == render(draw(), "svg")
    assert [one.name for one in tmp_path.iterdir()] == ["a.svg"]
