"""Takes the README's pictures anew: the page, and a sheet's first page. ``python -m tests.page.pictures``"""

import tempfile
from pathlib import Path

import pypdfium2
from playwright.sync_api import sync_playwright

from tests.page.serving import CHROMIUM, FLAGS, Served, sample_into
from wheelsim.files.reader import read_job, sample_path
from wheelsim.report.sheet.blocks import PAPERS
from wheelsim.report.sheet.job_sheet import job_sheet
from wheelsim.report.sheet.record import record
from wheelsim.report.sheet.write import render

PICTURES = Path(__file__).parents[2] / "figures"


def page(job):
    """The page on the sample, a side and a nipple tried, by day on a tablet and by night on a phone."""
    served = Served(job)
    try:
        with sync_playwright() as play:
            browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
            for name, size, scheme in (("tablet", (1024, 768), "light"), ("phone", (390, 780), "dark")):
                context = browser.new_context(viewport=dict(zip(("width", "height"), size, strict=True)),
                                              color_scheme=scheme, has_touch=True)
                one = context.new_page()
                one.goto(served.address)
                one.wait_for_selector('[data-spoke="5"]')
                one.tap('button:has-text("loosen")')
                one.tap('button:has-text("whole left")')
                one.tap('[data-spoke="9"]')
                one.wait_for_function("() => document.body.innerText.includes('4 1/4 turns tried')")
                one.evaluate("window.scrollTo(0, 0)")
                one.wait_for_timeout(500)
                one.screenshot(path=PICTURES / f"bench_{name}.png")
                context.close()
            browser.close()
    finally:
        served.kill()


def sheet():
    """First pages of the sample's sheet, on A4 and A5."""
    content = job_sheet(record(read_job(sample_path("dished-rear.toml"))))
    for name in ("A4", "A5"):
        document = pypdfium2.PdfDocument(render(content, PAPERS[name], ".pdf"))
        document[0].render(scale=0.8, grayscale=True).to_pil().save(PICTURES / f"sheet_{name}.png", optimize=True)


def main():
    with tempfile.TemporaryDirectory() as name:
        page(sample_into(name))
    sheet()


if __name__ == "__main__":
    main()
