"""The page for everyone: axe-core finds nothing, the keyboard reaches all, targets are large, nothing is from outside.

Web Content Accessibility Guidelines 2.2, levels A and AA, as far as a program can tell.
"""

import json

import pytest

axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-playwright-python is not installed")
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
LEAST = 44  # px, of a target both ways
LESSON = {"level": "near-side", "seed": 3, "class": False,
          "commands": ["gauge right", "dial true", "tension", "predict right", "turn left -1/4", "gauge right"]}
TARGETS = """() => [...document.querySelectorAll("button, a, [role=button], input, [role=combobox]")].map(one => {
  const box = (one.closest("label") || one).getBoundingClientRect();
  return [one.innerText || one.getAttribute("aria-label") || one.tagName, box.width, box.height];
}).filter(([, wide, high]) => wide > 0 && high > 0)"""


def found_by(found):
    """What axe found, shortly."""
    return [(one["id"], [(node["html"][:160], node["failureSummary"]) for node in one["nodes"][:3]])
            for one in found.response["violations"]]


def opened(visit, served, path, **context):
    page = visit(served.address + path, "[role=heading]", **context)
    if path == "practise":
        page.evaluate("text => localStorage.setItem('wheelsim-practise', text)", json.dumps(LESSON))
        page.reload()
        page.wait_for_selector("text=gauge right")
    page.wait_for_timeout(700)  # what comes a moment later, such as the outlook, is looked at too
    return page


@pytest.mark.parametrize("path", ["", "new", "practise", "shelf"])
@pytest.mark.parametrize(("scheme", "size"), [("light", (1024, 768)), ("dark", (768, 1024)), ("light", (390, 844))])
def test_axe_finds_nothing(visit, served_long, path, scheme, size):
    page = opened(visit, served_long, path, color_scheme=scheme,
                  viewport=dict(zip(("width", "height"), size, strict=True)))
    if not path:
        page.tap('button:has-text("whole right")')
        page.wait_for_timeout(700)
    found = axe.Axe().run(page, options=RULES)
    assert not found_by(found)
    small = [one for one in page.evaluate(TARGETS) if min(one[1:]) < LEAST - 0.6]
    assert not small
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert not [url for url in page.asked if not url.startswith((served_long.address, "data:", "blob:"))]


@pytest.mark.parametrize("motion", ["reduce", "no-preference"])
def test_nothing_moves_where_the_device_asks_for_none(visit, served_long, motion):
    """WCAG 2.3.3: parts slide and fade only where motion is wanted."""
    page = opened(visit, served_long, "new", reduced_motion=motion)
    may_move = page.evaluate("""() => [...document.querySelectorAll("*")].filter(
        one => parseFloat(getComputedStyle(one).transitionDuration) > 0).length""")
    assert (may_move == 0) == (motion == "reduce")


def test_axe_would_find_something(visit, served_long):
    page = opened(visit, served_long, "shelf")
    page.evaluate("document.querySelector('img').removeAttribute('alt')")
    assert [one[0] for one in found_by(axe.Axe().run(page, options=RULES))] == ["image-alt"]


@pytest.mark.parametrize("path", ["", "new", "practise", "shelf"])
def test_the_keyboard_reaches_everything(visit, served_long, path):
    page = opened(visit, served_long, path)
    wanted = page.evaluate("""() => [...document.querySelectorAll("button, a, input, [role=button], [role=combobox]")]
        .filter(one => one.getBoundingClientRect().height && !one.disabled && one.getAttribute("tabindex") !== "-1")
        .map((one, k) => (one.dataset.wanted = k, k))""")
    reached = set()
    for _ in range(2 * len(wanted) + 20):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.dataset.wanted"))
    assert {str(k) for k in wanted} <= reached
    if path in ("new", "shelf"):
        return
    page.focus('[data-spoke="1"]')
    for key, spoke in (("ArrowRight", "2"), ("End", "32"), ("ArrowRight", "1"), ("ArrowLeft", "32"), ("Home", "1")):
        page.keyboard.press(key)
        assert page.evaluate("document.activeElement.dataset.spoke") == spoke


def test_nipples_are_turned_by_keys_by_drags_and_in_the_picture(visit, served_long):
    page = opened(visit, served_long, "")

    def named(spoke, words):
        page.wait_for_selector(f'[data-spoke="{spoke}"][aria-label*="{words}"]')

    page.focus('[data-spoke="4"]')
    for key in ("ArrowUp", "+", "Enter", "ArrowDown"):
        page.keyboard.press(key)
    named(4, "+1/2 turn")
    box = page.locator('[data-spoke="9"]').bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 70, steps=5)  # three steps down
    page.mouse.up()
    named(9, "-3/4 turn")
    picture = page.locator("svg.strip").bounding_box()
    page.touchscreen.tap(x, picture["y"] + 60)
    named(9, "-1/2 turn")
    page.tap('button:has-text("undo")')
    page.tap('button:has-text("undo")')
    page.wait_for_selector('[data-spoke="9"]:not([aria-label*="turn"])')  # a drag is one step to take back
