"""The job sheet: what it says is what the plan says, on every paper, the same bytes from the same job."""

import re
import shutil

import numpy as np
import pypdfium2
import pytest

from wheelsim.cli.app import run
from wheelsim.estimation.known import Known
from wheelsim.files.log import Visit, add_visit, keep_passes
from wheelsim.files.reader import read_job, sample_job, sample_path
from wheelsim.planning.plan import plan
from wheelsim.report.sheet import sheet_of, write_sheet
from wheelsim.report.sheet.pdf import pdf_bytes
from wheelsim.stand.assess import assess


def made(job, **wishes):
    told = Known(job)
    found = plan(told, effort=2, seconds=100, **wishes)
    return sheet_of(told, found, assess(told)), found


def text_of(data):
    document = pypdfium2.PdfDocument(data)
    pages = [document[k].get_textpage().get_text_range() for k in range(len(document))]
    return pages, re.sub(r"\s+", " ", " ".join(pages))


@pytest.fixture(scope="module")
def sample():
    return made(sample_job())


@pytest.mark.parametrize(("paper", "most", "size"), [("A4", 2, (595, 842)), ("A5", 4, (420, 595))])
def test_pages_say_what_the_plan_says(sample, paper, most, size):
    sheet, found = sample
    data = pdf_bytes(sheet, paper)
    pages, text = text_of(data)
    assert len(pages) <= most
    assert pypdfium2.PdfDocument(data)[0].get_size() == pytest.approx(size, abs=1)
    assert found.verdict.why in text
    for one in found.passes:
        assert one.what in text
        assert f"highest on the way {one.peak_tension:.0f} N" in text
        assert f"{abs(one.after.gap) * 1e3:.2f} mm" in text
    assert f"{found.limits.max_tension:.0f} N" in text
    for line in sheet.cautions:
        assert line in text
    assert "Signature" in text


def test_the_same_job_gives_the_same_bytes(sample):
    assert pdf_bytes(sample[0], "A4") == pdf_bytes(sample[0], "A4")


def test_fonts_are_embedded_and_the_picture_is_drawn(sample):
    data = pdf_bytes(sample[0], "A4")
    assert b"/FontFile2" in data
    assert b"/Subtype /Image" not in data


def test_named_nipples_stand_in_boxes_valve_to_valve(tmp_path):
    job = sample_job()
    reading = job.readings[0]
    lateral = tuple((i + 1, float(v)) for i, v in enumerate(0.2e-3 * np.cos(6 * np.pi * np.arange(32) / 32)))
    sheet, found = made(type(job)(job.wheel, (type(reading)("", reading.gauge, lateral, reading.radial,
                                                            reading.tension),), job.work, errors=job.errors))
    named = [(one, planned) for one, planned in zip(sheet.passes, found.passes, strict=True) if one.boxes]
    assert named
    for one, planned in named:
        assert [box.spoke for box in one.boxes] == list(range(1, job.wheel.n + 1))
        assert [box.turn is not None for box in one.boxes] == [bool(turn) for turn in planned.turns]
    pages, _ = text_of(pdf_bytes(sheet, "A5"))
    assert len(pages) >= 2


def test_html_needs_nothing_from_outside(sample, tmp_path):
    sheet, found = sample
    write_sheet(sheet, tmp_path / "s.html", "A5")
    text = (tmp_path / "s.html").read_text()
    assert "http" not in text
    assert "src=" not in text
    assert "size: A5" in text
    assert all(one.what in text for one in found.passes)


def test_after_work_it_is_the_record(tmp_path):
    for name in ("dished-rear.toml", "dished-rear-wheel.toml"):
        shutil.copy(sample_path(name), tmp_path / name)
    path = tmp_path / "dished-rear.toml"
    keep_passes(path, [{"left": -0.5}, {"right": 0.25}])
    add_visit(path, Visit(done=(1, 2), reading={"label": "after", "gauge": {"set_on": "right", "gap_mm": 0.1,
                                                                          "gap_at": "hub"}}))
    sheet, found = made(read_job(path))
    assert found.status == "nothing to do"
    assert (sheet.status, [one.made for one in sheet.passes]) == ("Record", ["made", "made"])
    assert len(sheet.history) == 3
    _, text = text_of(pdf_bytes(sheet, "A4"))
    assert "left flange, every spoke -1/2" in text
    assert "Within its limits" in text


@pytest.mark.parametrize(("words", "says"), [
    (["sheet", "out.txt"], "ends in .pdf or .html"), (["sheet", "out.pdf", "--paper", "B5"], "--paper"),
    (["sheet", "no/such/folder/out.pdf"], "expected a place to write to"),
    (["sheet", "missing.toml", "o.pdf"], "not found")])
def test_bad_words(tmp_path, monkeypatch, capsys, words, says):
    monkeypatch.chdir(tmp_path)
    assert run(words) == 2
    out, err = capsys.readouterr()
    assert (out, says in err) == ("", True)
    assert list(tmp_path.iterdir()) == []
