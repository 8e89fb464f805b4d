"""The page served by the command, for tests, pictures and measurements, and the browser that visits it."""

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

from wheelsim.files.reader import sample_path

# Both are Debian's; the shell has no window to draw, which costs a tenth less.
CHROMIUM = shutil.which("chromium-headless-shell") or shutil.which("chromium")
# Chromium builds the two lists that drop from its address bar, which a headless window never shows, anew for every
# visitor: two thirds of what one costs. The last such switch counts, so playwright's own follow.
FEATURES = ("WebUIOmniboxPopup", "WebUIOmniboxAimPopup", "AvoidUnnecessaryBeforeUnloadCheckSync",
            "DestroyProfileOnBrowserClose", "HttpsUpgrades", "HttpsFirstBalancedModeAutoEnable", "LensOverlay",
            "MediaRouter", "PaintHolding", "ThirdPartyStoragePartitioning", "AvoidCorsURLLoaderRestartOnRedirect",
            "OptimizationHints", "NetworkTimeServiceQuerying", "AimEnabled", "PreconnectToSearch")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--disable-features=" + ",".join(FEATURES)]


def outside():
    """The environment without pytest's mark, by which the page's library would take itself for a test of its own."""
    return {key: value for key, value in os.environ.items() if not key.startswith("PYTEST_")}


def free_port():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def sample_into(folder):
    """A copy of the sample's files; the job's path."""
    for name in ("dished-rear.toml", "dished-rear-wheel.toml"):
        shutil.copy(sample_path(name), Path(folder) / name)
    return Path(folder) / "dished-rear.toml"


class Served:
    """The command, serving a job or a folder, to be stopped and started again."""

    def __init__(self, path, *words):
        self.path, self.port, self.words, self.process = path, free_port(), words, None
        self.start()

    @property
    def address(self):
        return f"http://127.0.0.1:{self.port}/"

    def start(self):
        command = [sys.executable, "-m", "wheelsim", "bench", str(self.path), "--no-open", "--port", str(self.port),
                   *self.words]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=outside(),
                                        text=True)
        self.said = self.process.stdout.readline()  # its address, with the token if there is one
        for _ in range(600):
            try:
                urllib.request.urlopen(self.address, timeout=5).close()
                return
            except urllib.error.HTTPError:
                return  # refused without its token: it is there
            except OSError:
                time.sleep(0.05)
        raise AssertionError("the page was not served")

    def kill(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()
