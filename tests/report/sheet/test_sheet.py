"""The job sheet: the same content in PDF and HTML, its numbers those of the plan, nothing over anything else."""

import contextlib
import html
import io
import itertools
import json
import re
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest

import wheelsim
from tests.report.sheet.jobs import write_jobs
from wheelsim.cli import run
from wheelsim.planning.highs import EFFORT_A_SECOND, Watch
from wheelsim.report.sheet.blocks import PAPERS, Card, Tick
from wheelsim.report.sheet.font import text_width
from wheelsim.report.sheet.job_sheet import job_sheet
from wheelsim.report.sheet.layout import FOOT, pages
from wheelsim.report.sheet.record import record
from wheelsim.report.sheet.shapes import PT, Words
from wheelsim.report.sheet.write import render
from wheelsim.report.words.passes import GAUGE_AGAIN
from wheelsim.report.words.planning import CAUTIONS
from wheelsim.report.words.verdict import blocking_words
from wheelsim.units import turns_text

SECONDS = 3  # that a plan may take; its effort is what counts
NAMES = ("three", "named", "none", "finished", "half", "kept")
MOST = {"A4": {"named": 2}, "A5": {"named": 4}}  # pages; others two on A4, three on A5


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    return write_jobs(tmp_path_factory.mktemp("jobs"))


class Records(dict):
    """What each job's sheet tells, worked out when it is asked for."""

    def __init__(self, files):
        super().__init__()
        self.files = files

    def __missing__(self, name):
        watch = Watch(60.0, effort=EFFORT_A_SECOND * SECONDS)
        return self.setdefault(name, record(wheelsim.read_job(self.files[name]), watch=watch))


@pytest.fixture(scope="module")
def records(files):
    return Records(files)


def plain(text):
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").replace("\r", "\n").split())


def pdf_text(data):
    document = pypdfium2.PdfDocument(data)
    return plain("\n".join(page.get_textpage().get_text_range() for page in document))


def html_text(data):
    text = re.sub(r"<style>.*?</style>|<svg.*?</svg>", " ", data.decode(), flags=re.DOTALL)
    return plain(html.unescape(re.sub(r"<[^>]+>", " ", text)))


@pytest.fixture(scope="module")
def three(records):
    sheet = job_sheet(records["three"])
    return {kind: render(sheet, PAPERS["A4"], kind) for kind in (".pdf", ".html")}


@pytest.fixture(scope="module")
def planned(files):
    """What `plan --json` says of the job of three passes."""
    with contextlib.redirect_stdout(io.StringIO()) as said:
        assert run(["plan", str(files["three"]), "--json", "--time", str(SECONDS)]) == 0
    return json.loads(said.getvalue())


@pytest.mark.parametrize("kind", [".pdf", ".html"])
def test_numbers_are_those_of_the_plan(three, planned, kind):
    plan = planned
    text = (pdf_text if kind == ".pdf" else html_text)(three[kind])
    assert len(plan["passes"]) == 3
    for one in plan["passes"]:
        after = one["after"]
        gap = after["gauge_gap_mm"]
        assert f"Pass {one['number']}." in text
        assert f"Gap {abs(gap):.2f} {'right' if gap > 0 else 'left'}" in text
        assert f"true {after['lateral_runout_mm']:.2f}" in text
        assert f"highest {max(after['tension_N']):.0f} N" in text
        assert f"highest on the way {one['peak_tension_N']:.0f} N" in text
        side = one["action"].split()[0].lower()
        mine = [t for k, t in enumerate(after["tension_N"]) if (k % 2 == 0) == (side == "right")]
        assert f"mean then {np.mean(mine):.0f} N" in text
    assert plan["verdict"]["why"] in text


@pytest.mark.parametrize("kind", [".pdf", ".html"])
def test_limits_and_cautions(three, kind):
    text = (pdf_text if kind == ".pdf" else html_text)(three[kind])
    for line in CAUTIONS:
        assert line in text
    for limit in ("gap, mm 1.00 3.00 left 0.04 right", "true, mm 0.50", "round, mm 0.50", "highest, N 1270 1159 1181",
                  "lowest, N 300 667 602", "spread, % 20", "right mean, N usual 1150"):
        assert limit in text
    assert "Limits stated in the wheel file: gap, true, round, spread, highest tension, lowest tension." in text
    for room in ("Rim maker's limit, N", "spoke maker's, N", "Date", "Name", "Signature"):
        assert room in text


def test_limits_not_stated_are_common_practice(files, tmp_path):
    text = (files["three"].parent / "dished-rear-wheel.toml").read_text()
    (tmp_path / "wheel.toml").write_text(text.replace("gap_mm = 1.0\n", "").replace("side_spread_percent = 20", ""))
    told = record(wheelsim.read_job(tmp_path / "wheel.toml"))
    text = pdf_text(render(job_sheet(told), PAPERS["A4"], ".pdf"))
    assert "in the wheel file: true, round, highest tension, lowest tension; not stated" in text
    assert "(no source): gap, spread." in text
    assert told.wheel.limits == wheelsim.read_wheel(files["three"].parent / "dished-rear-wheel.toml").limits


def test_many_named_nipples_stand_in_boxes_valve_to_valve(records):
    told = records["named"]
    turned = {i + 1 for one in told.to_make for i in np.flatnonzero(one.turns)}
    assert len(turned) == 30
    text = pdf_text(render(job_sheet(told), PAPERS["A4"], ".pdf"))
    boxed = [one for one in told.to_make if np.count_nonzero(one.turns) > 1]
    assert {one.side for one in boxed} == {"right", "left"}
    for one in boxed:  # every nipple of the flange in its order, those to be turned with their turn
        mine = told.job.wheel.pulling(one.side)
        said = [f"{i + 1} {turns_text(abs(float(one.turns[i])))}" if one.turns[i] else str(i + 1) for i in mine]
        assert " ".join(said) in text
    assert "as boxed" in text


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_nothing_lies_over_anything_else_and_nothing_is_cut(records, name, paper):
    size = PAPERS[paper]
    drawn = pages(job_sheet(records[name]), size)
    assert len(drawn) <= MOST[paper].get(name, 2 if paper == "A4" else 3)
    for page in drawn:
        words = []
        for shape in page.shapes:
            if isinstance(shape, Words):
                assert shape.size >= 11  # read at arm's length
                wide = text_width(shape.text, shape.size, shape.bold)
                left = shape.at[0] - {"left": 0, "middle": 0.5, "right": 1}[shape.align] * wide
                # From the top of a capital to the baseline.
                words.append((left, shape.at[1] - 0.73 * shape.size * PT, left + wide, shape.at[1], shape.text))
                points = [(left, shape.at[1]), (left + wide, shape.at[1])]
            else:
                points = shape.points
            for x, y in points:
                assert size.margin - 0.2 <= x <= size.width - size.margin + 0.2, shape
                assert size.margin - 0.2 <= y <= size.height - size.margin + 0.2, shape
        for a, b in itertools.combinations(words, 2):
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, (a, b)
        body = [word for word in words if not word[4].startswith("page ") and word[4] != "invented dished rear wheel, "
                "32 spokes"]
        assert max(word[3] for word in body) <= size.height - size.margin - FOOT + 1.5


def test_none_possible_says_what_stands_in_the_way(records):
    told = records["none"]
    assert not told.to_make
    text = pdf_text(render(job_sheet(told), PAPERS["A4"], ".pdf"))
    assert "No set of turns brings this wheel within its limits" in text
    assert blocking_words(told.plan.blocking[0]) in text
    assert "Pass 1" not in text


def test_the_record_says_what_was_not_read_last(records):
    """All but the dial from below after the last pass: the verdict says so."""
    job = records["finished"].job
    last = replace(job.readings[-1], radial=())
    text = pdf_text(render(job_sheet(record(replace(job, readings=(*job.readings[:-1], last)))), PAPERS["A4"], ".pdf"))
    assert "as read last; not read since the last pass: radial dial." in " ".join(text.split())


def test_finished_is_the_record(records):
    told = records["finished"]
    assert told.finished
    text = pdf_text(render(job_sheet(told), PAPERS["A4"], ".pdf"))
    assert "the record" in text
    assert "Within its limits, as read last." in text
    for number in (1, 2, 3):
        assert f"Pass {number}, made." in text
    for made in (one for one in told.made if one.reading is not None):
        # As the gauge showed it, beside the gap by all readings.
        assert f"Read after it: gauge set on the {made.reading.gauge.set_on} face, gap " \
               f"{made.reading.gauge.low * 1e3:.2f} mm" in text
    assert any(one.reading is not None for one in told.made)
    assert text.count("By all readings: gap ") == sum(one.read is not None for one in told.made)
    assert "It was planned otherwise: Left flange" in text or "It was planned otherwise: Right flange" in text
    assert "to do below" not in text
    seen = told.read
    assert f"highest, N 1270 {told.received.highest:.0f} {told.planned.highest:.0f} {seen.highest:.0f}" in text


def test_half_done_tells_made_and_to_make(records):
    told = records["half"]
    assert [one.number for one in told.made] == [1]
    assert [one.number for one in told.to_make] == [2, 3]
    assert told.plan is None
    assert not told.finished
    text = pdf_text(render(job_sheet(told), PAPERS["A4"], ".pdf"))
    assert "Pass 1, made. Left flange, loosen 1/4, every spoke." in text
    assert "Pass 2. Left flange, loosen 1/4, every spoke" in text


def test_passes_kept_in_the_job_are_followed_as_the_plan_would(records):
    planned, kept = records["three"], records["kept"]
    assert kept.kept
    assert not planned.kept
    for ours, theirs in zip(kept.to_make, planned.to_make, strict=True):
        assert np.array_equal(ours.turns, theirs.turns)
        assert (ours.side, ours.verb) == (theirs.side, theirs.verb)
        # Both settle the same equilibrium, from other starts.
        assert ours.peak_tension == pytest.approx(theirs.peak_tension, abs=0.05)
        assert ours.after.gap == pytest.approx(theirs.after.gap, abs=1e-7)
        assert ours.half_way_true == pytest.approx(theirs.half_way_true, abs=1e-6)


def test_the_gauge_again_stands_after_the_kept_pass_that_asks_for_it(files, tmp_path):
    """A pass of both flanges is followed as two; the gauge is read after the second."""
    text = files["kept"].read_text().replace('planned = { left = "-1/4" }',
                                             'planned = { left = "-1/4", 7 = "1/8" }\ngauge_again = true', 1)
    (tmp_path / "dished-rear-wheel.toml").write_text((files["kept"].parent / "dished-rear-wheel.toml").read_text())
    (tmp_path / "job.toml").write_text(text)
    told = record(wheelsim.read_job(tmp_path / "job.toml"))
    assert [(one.number, one.gauge_again) for one in told.to_make] == [(1, False), (1, True), (2, False), (3, False)]
    said = pdf_text(render(job_sheet(told), PAPERS["A4"], ".pdf"))
    assert said.count(GAUGE_AGAIN) == 1
    assert said.index("Pass 1.") < said.index(GAUGE_AGAIN) < said.index("Pass 2.")


def test_kept_passes_that_no_longer_do_are_said_so(files, tmp_path):
    text = files["kept"].read_text().replace('left = "-1/4"', 'left = "1/4"')
    (tmp_path / "dished-rear-wheel.toml").write_text((files["kept"].parent / "dished-rear-wheel.toml").read_text())
    (tmp_path / "job.toml").write_text(text)
    told = record(wheelsim.read_job(tmp_path / "job.toml"))
    assert "gap" in told.missed
    assert "plan anew" in pdf_text(render(job_sheet(told), PAPERS["A4"], ".pdf"))


def test_type_is_embedded(three):
    document = three[".pdf"]
    fonts = re.findall(rb"/BaseFont /(\S+)", document)
    assert fonts
    assert all(b"DejaVuSans" in font and b"+" in font for font in fonts)
    assert document.count(b"/FontFile2") == 2
    assert document.count(b"/Subtype /Image") == 0  # vectors only


def test_html_stands_alone(three):
    text = re.sub(r"url\(data:font/woff;base64,[^)]*\)", "", three[".html"].decode())
    assert not re.search(r"https?:|//|url\(|<script|<link|@import", text)
    assert "size: A4" in text
    assert "<svg" in text


def test_content_is_one(three):
    """Every word of the HTML outside its pictures stands in the PDF."""
    words = set(re.findall(r"[\w/.']+", html_text(three[".html"])))
    told = set(re.findall(r"[\w/.']+", pdf_text(three[".pdf"])))
    assert words - told == set()


@pytest.mark.parametrize("kind", ["pdf", "html"])
def test_same_bytes_in_another_process(files, tmp_path, kind):
    here, there = tmp_path / f"here.{kind}", tmp_path / f"there.{kind}"
    assert run(["sheet", str(files["half"]), str(here)]) == 0
    found = subprocess.run([sys.executable, "-m", "wheelsim", "sheet", str(files["half"]), str(there)],
                           capture_output=True, text=True, check=False)
    assert found.returncode == 0
    assert found.stdout == ""
    assert here.read_bytes() == there.read_bytes()


@pytest.mark.parametrize(("read", "ticked"), [(True, True), (False, False)])
def test_what_was_asked_for_after_a_pass_stays_once_it_is_made(files, tmp_path, read, ticked):
    """The gauge again, ticked where it was read after the pass, else open; to settle and read, where nothing was."""
    text = files["half"].read_text().replace("planned = true", "planned = true\ngauge_again = true", 1).replace(
        'left = "-1/4" }\nplanned', 'right = "1/8", left = "-1/8" }\nplanned', 1)
    if not read:
        start = text.index('[[reading]]\nlabel = "after pass 1"')
        text = text[:start] + text[text.index("[[pass]]", start):]
    path = tmp_path / "job.toml"
    path.write_text(text)
    (tmp_path / "dished-rear-wheel.toml").write_text((files["half"].parent / "dished-rear-wheel.toml").read_text())
    card = next(block for block in job_sheet(record(wheelsim.read_job(path))).blocks
                if isinstance(block, Card) and block.blocks[0].head == "Pass 1, made.")
    asked = {one.text: one.done for one in card.blocks[1:] if isinstance(one, Tick)}
    assert asked[GAUGE_AGAIN] is ticked
    assert [done for words, done in asked.items() if words.startswith("Settle")] == ([] if read else [False])
