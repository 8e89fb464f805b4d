"""How fast is the page, and does it stay small? ``python -m tests.benchmarks.page [what-ifs] [reconnects]``

In Debian's chromium on this machine: start of the command to the strip drawn; a nipple tapped to the strip drawn anew,
median and 95th percentile; memory of the server before and after many what-ifs and reconnects; what an idle page costs.
Nothing else should run beside it.
"""

import os
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from playwright.sync_api import sync_playwright

from tests.page.serving import CHROMIUM, FLAGS, Served, sample_into

CLEARED = 20  # what-ifs between one clearing and the next
IDLE = 20.0  # how long an idle page is watched [s]
# The tap goes in as a finger's would; drawn is when the browser has painted what came back.
TAP = """async spoke => {
  const strip = document.querySelector('[data-spoke="1"]').closest('svg') || document.body;
  const began = performance.now();
  const drawn = new Promise(done => {
    const seen = new MutationObserver(() => { seen.disconnect();
      requestAnimationFrame(() => done(performance.now() - began)) });
    seen.observe(strip, {subtree: true, childList: true, attributes: true, characterData: true});
  });
  document.querySelector(`[data-spoke="${spoke}"]`).dispatchEvent(new MouseEvent('click', {bubbles: true}));
  return drawn;
}"""


def memory(process):
    """Resident memory of a process and its children. [MB]"""
    total = 0
    for one in [process, *children(process)]:
        for line in Path(f"/proc/{one}/status").read_text().splitlines():
            if line.startswith("VmRSS"):
                total += int(line.split()[1])
    return total / 1024


def children(process):
    return [int(pid) for task in Path(f"/proc/{process}/task").iterdir()
            for pid in (task / "children").read_text().split()]


def cpu(process):
    """Processor time of a process so far. [s]"""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def main():
    what_ifs, reconnects = (int(one) for one in (sys.argv[1:] + ["1000", "100"][len(sys.argv) - 1:]))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page(viewport={"width": 1024, "height": 768})
        began = time.perf_counter()
        served = Served(sample_into(folder))
        try:
            page.goto(served.address)
            page.wait_for_selector('[data-spoke="5"]')
            print(f"start of the command to the strip drawn: {time.perf_counter() - began:.2f} s", flush=True)
            spokes = [1 + 7 * k % 32 for k in range(what_ifs)]
            for spoke in spokes[:20]:  # first calls import and build what later ones find
                page.evaluate(TAP, spoke)
            time.sleep(2)
            before, took = memory(served.process.pid), []
            for k, spoke in enumerate(spokes):
                if k % CLEARED == 0:  # a hand tries some turns, not hundreds on top of each other
                    page.get_by_role("button", name="clear", exact=True).click()
                    page.wait_for_selector("text=nothing turned")
                took.append(page.evaluate(TAP, spoke))
            took = np.array(took)
            print(f"tap to drawn, {what_ifs} times: median {np.median(took):.0f} ms, 95th percentile "
                  f"{np.quantile(took, 0.95):.0f} ms, longest {took.max():.0f} ms", flush=True)
            time.sleep(2)
            after = memory(served.process.pid)
            print(f"memory of the server: {before:.0f} MB before, {after:.0f} MB after", flush=True)
            for k in range(reconnects):
                page.reload()
                page.wait_for_selector('[data-spoke="5"]')
                if k + 1 in (reconnects // 2, reconnects):
                    time.sleep(5)  # what a visitor leaves behind is cleared some seconds later
                    print(f"after {k + 1} reconnects: {memory(served.process.pid):.0f} MB", flush=True)
            time.sleep(10)
            spent = cpu(served.process.pid)
            time.sleep(IDLE)
            print(f"idle page: {100 * (cpu(served.process.pid) - spent) / IDLE:.2f} % of a core")
        finally:
            served.kill()
            browser.close()


if __name__ == "__main__":
    main()
