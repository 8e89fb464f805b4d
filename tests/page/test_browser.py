"""The page in a browser, Debian's chromium, by touch; left out with a word where that or the library is missing."""

import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from tests.page.serving import outside
from wheelsim.files.log import Visit, add_visit
from wheelsim.files.reader import read_job, sample_path

pytest.importorskip("nicegui", reason="the page's library is not installed: pip install -e '.[bench,browser]'")


def shows(page, words):
    page.wait_for_function("words => document.body.innerText.includes(words)", arg=words)


def test_what_if_undo_and_plan_ticked_off(page, served):
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
    assert [one.turns is None for one in read_job(served.path).passes] == [False, True, True]
    page.get_by_label("gap on the other face, mm").fill("1.9")
    page.tap('button:has-text("log what was read")')
    shows(page, "mm read")
    assert read_job(served.path).last.gauge.low == pytest.approx(1.9e-3)
    assert not [url for url in page.asked if not url.startswith((served.address, "data:", "blob:"))]


def test_what_another_writes_is_seen(page, served):
    add_visit(served.path, Visit(turned={"left": -0.25}))
    shows(page, "not read since pass 1")


def test_killed_and_started_again_nothing_is_lost(page, served):
    page.tap('button:has-text("whole left")')
    page.tap('button:has-text("made: log these turns")')
    shows(page, "not read since pass 1")
    page.evaluate("document.body.dataset.old = 1")
    served.kill()
    served.start()
    # It finds the server again by itself, and is drawn anew.
    page.wait_for_function("() => !document.body.dataset.old && document.body.innerText.includes('not read since')")


@pytest.mark.parametrize("headers", [{"Host": "evil.example"}, {"Origin": "http://evil.example"}])
def test_others_are_refused(served, headers):
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(urllib.request.Request(served.address, headers=headers), timeout=10)
    assert refused.value.code == 403


def test_no_way_out_of_the_page(served):
    for path in ("../../../../etc/passwd", "_nicegui/../../../etc/passwd", "%2e%2e/%2e%2e/etc/passwd"):
        try:
            body = urllib.request.urlopen(served.address + path, timeout=10).read()
        except urllib.error.HTTPError:
            continue
        assert b"root:" not in body


def test_bad_words(tmp_path):
    def run(*words):
        done = subprocess.run([sys.executable, "-m", "wheelsim", "bench", *words], capture_output=True, text=True,
                              timeout=60, check=False, env=outside())
        return done.returncode, done.stdout, done.stderr

    code, out, err = run(str(tmp_path / "none.toml"), "--no-open")
    assert (code, out, "not found" in err) == (2, "", True)
    code, out, err = run(str(Path(sample_path("dished-rear-wheel.toml"))), "--no-open")
    assert (code, "no job" in err) == (2, True)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        code, _, err = run("--no-open", "--port", str(taken.getsockname()[1]))
        assert (code, "expected a free one" in err) == (2, True)
