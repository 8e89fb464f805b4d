"""The verb `sheet` at its edges: the sample, bad names, places that can't be written to, never half a file."""

from pathlib import Path

import pytest

from wheelsim.cli import run
from wheelsim.report.sheet import write as writing
from wheelsim.report.sheet.blocks import PAPERS, Sheet, Text
from wheelsim.report.sheet.write import write

SMALL = Sheet("Title", "about", (Text("words"),), "foot")


def test_one_word_is_where_to_and_the_job_the_sample(tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("wheelsim.planning.planner.LITERAL_EFFORT", 0.1)  # how good its plan is doesn't matter here
    out = tmp_path / "sheet.pdf"
    assert run(["sheet", str(out)]) == 0
    said = capsys.readouterr()
    assert "shipped sample (invented)" in said.err
    assert str(out) in said.err
    assert said.out == ""
    assert out.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("words", [
    ["sheet"],
    ["sheet", "{here}/sheet.txt"],
    ["sheet", "{here}/job.toml", "{here}/sheet"],
    ["sheet", "{here}/missing/sheet.pdf"],
    ["sheet", "{here}/folder.pdf"],
    ["sheet", "{here}/sheet.pdf", "--paper", "letter"],
    ["sheet", "{here}/no-job.toml", "{here}/sheet.pdf"],
])
def test_bad_words_end_with_2_and_write_nothing(tmp_path, capsys, words):
    (tmp_path / "folder.pdf").mkdir()
    before = sorted(tmp_path.iterdir())
    assert run([word.format(here=tmp_path) for word in words]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "expected" in said.err
    assert "Traceback" not in said.err
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.skipif(not Path("/proc/self").is_dir(), reason="only /proc refuses root, and there is none")
def test_a_folder_that_can_t_be_written_to(capsys):
    assert run(["sheet", "/proc/sheet.pdf"]) == 2
    assert "expected a place to write to" in capsys.readouterr().err


def test_what_stood_there_stays_when_writing_fails(tmp_path, monkeypatch):
    out = tmp_path / "sheet.pdf"
    out.write_bytes(b"before")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing.os, "replace", full)
    with pytest.raises(OSError, match="No space"):
        write(SMALL, out, PAPERS["A4"])
    assert out.read_bytes() == b"before"
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.pdf"]


def test_free_text_with_any_letters(tmp_path):
    odd = Sheet("<b>&\x00\u202e 車輪 \U0001f6b2", 'a"b\\c </style>',
                (Text("x" * 400), Text("\ttab\nline")), '</style>"\\')
    for kind in (".pdf", ".html"):
        write(odd, tmp_path / f"odd{kind}", PAPERS["A5"])
    text = (tmp_path / "odd.html").read_text(encoding="utf-8")
    assert "<b>&\x00" not in text
    assert text.count("</style>") == 1
