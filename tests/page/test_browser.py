"""The page in a browser, Debian's chromium, by touch; left out with a word where that or the library is missing."""

import socket
import urllib.error
import urllib.request
from pathlib import Path

import pytest

import wheelsim.cli.app
from wheelsim.files.log import ToLog, add_visit
from wheelsim.files.reader import read_job, sample_path
from wheelsim.readings.reading import Shown

pytest.importorskip("nicegui", reason="the page's library is not installed: pip install -e '.[bench,browser]'")


def shows(page, words):
    page.wait_for_function("words => document.body.innerText.includes(words)", arg=words)


PLACES = """pad => Object.fromEntries([...pad.querySelectorAll("button")].map(key => {
  const box = key.getBoundingClientRect();
  return [key.getAttribute("aria-label") || key.innerText.trim(), [box.x + box.width / 2, box.y + box.height / 2]];
}))"""


def type_next(page, figures):
    """A number by the keys on the page, then "next": touched where they lie, as a thumb does."""
    pad = page.get_by_role("group", name="number keys")
    pad.scroll_into_view_if_needed()
    places = pad.evaluate(PLACES)
    for key in (*({".": "point", "-": "minus"}.get(key, key) for key in figures), "next"):
        page.touchscreen.tap(*places[key])


def test_what_if_undo_and_plan_ticked_off(page, served_long, job):
    page.tap('[data-spoke="5"]')
    shows(page, "1/4 turns tried")
    page.tap('button:has-text("whole right")')
    shows(page, "4 1/4 turns tried")
    page.tap('button:has-text("undo")')
    page.tap('button:has-text("undo")')
    shows(page, "nothing turned")
    page.focus('[data-spoke="8"]')
    page.keyboard.press("Enter")
    shows(page, "1/4 turns tried")
    page.tap('button:has-text("Plan")')
    shows(page, "Pass 1. Left flange, loosen 1/4")
    page.tap('[aria-label="pass 1 made as planned"]')
    shows(page, "not read since pass 1")
    assert [one.turns is None for one in read_job(job).passes] == [False, True, True]
    type_next(page, "1.9")
    shows(page, "Typed: gauge set on right: 1.9 mm at hub")
    page.tap('button:has-text("log what was read")')
    shows(page, "Nothing typed yet")
    shows(page, "Filled marks were read")
    shows(page, "Pass 2.")  # what is still to be done stands there, also after a reload
    assert read_job(job).last.gauge.low == pytest.approx(1.9e-3)
    assert not [url for url in page.asked if not url.startswith((served_long.address, "data:", "blob:"))]


def test_tools_are_read_with_the_thumb(page, job):
    """Gauge by feelers, the dial at every fourth spoke, tensions in kilograms with one left out: one reading."""
    for name in ("left", "both feet", "feelers"):
        page.get_by_role("button", name=name, exact=True).tap()
    type_next(page, "1.2")
    type_next(page, "1.6")
    shows(page, "1.2 mm passes, 1.6 mm stops")
    page.get_by_role("button", name="dial, sideways").tap()
    page.get_by_role("button", name="every fourth").tap()
    for figures in ("0.3", "-0.2", "0"):
        type_next(page, figures)
    page.get_by_role("button", name="meter", exact=True).tap()
    page.get_by_role("button", name="kgf", exact=True).tap()
    page.get_by_role("button", name="every spoke").tap()
    type_next(page, "117")
    type_next(page, "")  # left out
    page.get_by_role("button", name="1", exact=True).tap()
    page.get_by_role("button", name="take the last figure back").tap()
    type_next(page, "116")
    page.tap('button:has-text("log what was read")')
    page.wait_for_function("() => document.body.innerText.includes('Nothing typed yet')")
    last = read_job(job).last
    assert (last.gauge.set_on, last.gauge.gap_at) == ("left", "feet")
    assert (last.gauge.low, last.gauge.high) == pytest.approx((1.2e-3, 1.6e-3))
    assert dict(last.lateral) == pytest.approx({1: 0.3e-3, 5: -0.2e-3, 9: 0.0})
    assert last.shown == (Shown(1, 117.0, "kgf"), Shown(3, 116.0, "kgf"))


def test_a_pass_nipple_by_nipple(page, job):
    page.tap('button:has-text("Plan")')
    shows(page, "Pass 1. Left flange, loosen 1/4")
    whole = page.get_by_role("button", name="pass 1 made as planned")
    page.get_by_role("button", name="one nipple at a time").tap()
    shows(page, "Spoke 2: loosen 1/4")
    assert not whole.is_visible()  # half-way it was not made
    page.get_by_role("button", name="one back").tap()
    whole.wait_for()
    page.get_by_role("button", name="one nipple at a time").tap()
    shows(page, "Spoke 2: loosen 1/4")
    page.get_by_role("button", name="turned: next").tap()
    shows(page, "Spoke 4: loosen 1/4")
    page.get_by_role("button", name="one back").tap()
    shows(page, "1 of 16")
    for k in range(2, 17):
        page.get_by_role("button", name="turned: next").tap()
        shows(page, f"{k} of 16")
    page.get_by_role("button", name="turned: next").tap()
    shows(page, "not read since pass 1")
    assert [one.turns is None for one in read_job(job).passes] == [False, True, True]
    page.reload()
    shows(page, "Pass 2. Left flange, loosen 1/4")


def test_read_first_then_taken_back(page, job):
    """A point missing in the gauge: no pass is offered until that is read again, or taken back."""
    page.tap('button:has-text("Plan")')
    shows(page, "Pass 1. Left flange, loosen 1/4")
    page.get_by_role("button", name="pass 1 made as planned").tap()
    shows(page, "Pass 1 logged. Read again.")
    type_next(page, "18")
    page.tap('button:has-text("log what was read")')
    shows(page, "Before you turn anything, read again and log the gauge")
    shows(page, "Not yet: read again first, as said above.")
    assert page.get_by_role("button", name="pass 2 made as planned").count() == 0
    page.tap('button:has-text("take back what was logged last")')
    shows(page, "The last reading is taken back.")
    page.get_by_role("button", name="pass 2 made as planned").wait_for()
    page.tap('button:has-text("take back what was logged last")')
    shows(page, "Pass 1 is taken back, and planned again.")
    assert len(read_job(job).readings) == 1
    page.tap('button:has-text("take back what was logged last")')
    shows(page, "take out by hand what you typed by hand")


def test_what_another_writes_is_seen(page, job):
    """What is half typed stays when another reads the wheel too; it is gone once another has turned it."""
    type_next(page, "1.9")
    shows(page, "Typed: gauge")
    add_visit(job, ToLog(reading={"tension_N": {"1": 1140.0}}))
    shows(page, "The job was written to; it is read anew.")
    assert "Typed: gauge set on right: 1.9 mm at hub" in page.inner_text("body")
    add_visit(job, ToLog(turned={"left": -0.25}))
    shows(page, "not read since pass 1")
    shows(page, "Nothing typed yet")


def test_a_job_that_is_none_opens_the_one_told(visit, served_long):
    for name in ("dished-rear-wheel.toml", "none.toml", "../../etc/passwd.toml"):
        page = visit(f"{served_long.address}?job={name}", '[data-spoke="32"]')
        assert "invented dished rear wheel" in page.inner_text("body")


def test_killed_and_started_again_nothing_is_lost(visit, served):
    page = visit(served.address, '[data-spoke="5"]')
    page.tap('button:has-text("whole left")')
    page.tap('button:has-text("made: log these turns")')
    shows(page, "not read since pass 1")
    page.evaluate("document.body.dataset.old = 1")
    served.kill()
    served.start()
    # It finds the server again by itself, and is drawn anew.
    page.wait_for_function("() => !document.body.dataset.old && document.body.innerText.includes('not read since')")


@pytest.mark.parametrize("headers", [{"Host": "evil.example"}, {"Origin": "http://evil.example"}])
def test_others_are_refused(served_long, headers):
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(urllib.request.Request(served_long.address, headers=headers), timeout=10)
    assert refused.value.code == 403


def test_no_way_out_of_the_page(served_long):
    for path in ("../../../../etc/passwd", "_nicegui/../../../etc/passwd", "%2e%2e/%2e%2e/etc/passwd"):
        try:
            body = urllib.request.urlopen(served_long.address + path, timeout=10).read()
        except urllib.error.HTTPError:
            continue
        assert b"root:" not in body


def test_bad_words(tmp_path, capsys):
    def run(*words):
        return wheelsim.cli.app.run(["bench", *words]), *capsys.readouterr()

    code, out, err = run(str(tmp_path / "none.toml"), "--no-open")
    assert (code, out, "not found" in err) == (2, "", True)
    code, out, err = run(str(Path(sample_path("dished-rear-wheel.toml"))), "--no-open")
    assert (code, "no job" in err) == (2, True)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        code, _, err = run("--no-open", "--port", str(taken.getsockname()[1]))
        assert (code, "expected a free one" in err) == (2, True)
