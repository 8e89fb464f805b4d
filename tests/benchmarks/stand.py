"""How long one wheel's answers take. ``python -m tests.benchmarks.stand``

``Stand.predict`` and ``Stand.assess`` on the shipped sample, estimated once; the command ``wheelsim predict`` from the
start of its process to its end; ``log`` likewise, on a copy of the sample.
"""

import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import wheelsim
from wheelsim.files import sample_job
from wheelsim.files.reader import sample_path

REPEATS = 15


def taken(work):
    """Median time of a number of runs. [s]"""
    times = []
    for _ in range(REPEATS):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return median(times)


def command(*words):
    """The program started anew with some words, as from a terminal."""
    subprocess.run([sys.executable, "-m", "wheelsim", *words], stdout=subprocess.DEVNULL,
                   stderr=subprocess.DEVNULL, check=True)


def main():
    stand = wheelsim.Stand(sample_job())
    stand.assess()
    print(f"Stand.predict(right=1/4): {1e3 * taken(lambda: stand.predict(right='1/4')):.1f} ms")
    print(f"Stand.assess():           {1e3 * taken(stand.assess):.1f} ms")
    print(f"wheelsim predict, cold:   {taken(lambda: command('predict', '--right', '1/4')):.2f} s")
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job.toml"
        for path in Path(sample_path("front.toml")).parent.glob("*.toml"):
            shutil.copy(path, folder)
        job.write_text('wheel = "front.toml"\n', encoding="utf-8")
        print(f"wheelsim log, cold:       {taken(lambda: command('log', str(job), '--gauge', 'right 1.2 hub')):.2f} s")


if __name__ == "__main__":
    main()
