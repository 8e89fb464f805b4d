"""Practise and the shelf in the browser."""

import pytest

pytest.importorskip("nicegui", reason="the page's library is not installed: pip install -e '.[bench,browser]'")


def shows(page, words):
    page.wait_for_function("words => document.body.innerText.includes(words)", arg=words)


def tap(page, name):
    page.get_by_role("button", name=name, exact=True).tap()


def test_the_first_level_by_touch_and_reload(visit, served_long):
    page = visit(served_long.address + "practise", "text=Exercise 1 of 6")
    assert not page.query_selector("svg.strip")
    tap(page, "right")
    shows(page, "Which spokes, and tighten or loosen?")
    assert not page.query_selector("svg.strip")
    page.tap('button:has-text("tighten right")')
    page.wait_for_selector("svg.strip")
    shows(page, "Exercise 2 of 6")
    page.reload()
    shows(page, "Exercise 2 of 6")
    page.wait_for_selector("svg.strip")


def test_a_wheel_in_class_to_its_end(visit, served):
    page = visit(served.address + "practise", "text=Exercise 1 of 6")
    page.get_by_role("combobox", name="level").click()
    page.locator("[role=option]", has_text="2. near-side").click()
    page.get_by_label("seed (empty: drawn)").fill("3")
    page.tap('button:has-text("class view")')
    page.tap('[aria-label="start this level"]')
    shows(page, "Level 2, near-side, seed 3.")
    page.tap('button:has-text("gauge, set right")')
    shows(page, "a gap of")
    assert not page.query_selector("svg.strip .stem")
    page.tap('[aria-label="turn it"]')
    shows(page, "predict first")  # bad words change nothing
    tap(page, "left side")
    tap(page, "loosen")
    page.tap('[aria-label="predict right"]')
    shows(page, "Noted.")
    page.tap('[aria-label="turn it"]')
    shows(page, "Turned: 16 nipples.")
    assert not page.query_selector("svg.strip .stem")
    page.tap('button:has-text("gauge, set right")')
    shows(page, "You predicted right")
    page.wait_for_selector("svg.strip .stem", state="attached")
    page.evaluate("document.body.dataset.old = 1")
    served.kill()
    served.start()
    page.wait_for_function("() => !document.body.dataset.old")
    page.wait_for_selector("svg.strip .stem", state="attached")
    shows(page, "You predicted right")
    page.tap('[data-spoke="6"]')
    shows(page, "chosen: 6")
    tap(page, "hint")
    page.tap('button:has-text("hand it over")')
    page.wait_for_selector("table.ending", timeout=60_000)
    shows(page, "rule of thumb")


def test_the_shelf_is_walked_along(visit, served_long):
    page = visit(served_long.address + "shelf", "text=1 of ")
    first = page.locator("[aria-level='2']").inner_text()
    page.tap('[aria-label="the next one"]')
    shows(page, "2 of ")
    assert page.locator("[aria-level='2']").inner_text() != first
    page.wait_for_function("() => document.querySelector('img').naturalWidth > 100")
    page.tap('[aria-label="the one before"]')
    page.tap('[aria-label="the one before"]')
    count = page.locator("[aria-label='all of them'] button").count()
    shows(page, f"{count} of {count}")
    page.goto(served_long.address + "shelf?show=which_way")
    shows(page, "of ")
    assert page.locator("img").get_attribute("src") == "/gallery/which_way.svg"
