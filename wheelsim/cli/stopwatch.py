"""The plan's time at a terminal: counted from the start of the process, told as it goes, stopped by Ctrl-C."""

import shutil
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from wheelsim.planning.highs import Watch


@contextmanager
def watched(seconds: float, began: float | None = None, unit: str = "turns") -> Iterator[Watch]:
    """A watch, by ``time.monotonic`` from ``began`` on: progress on a terminal, and Ctrl-C takes the best so far.

    ``unit`` is what is told as it goes: turns, nipples, passes, or the price of turns and of names.
    """
    tty = sys.stderr.isatty()

    def report(best: float | None, bound: float, gone: float) -> None:
        # A price far above any count of turns is one of limits not kept yet.
        found = "nothing yet" if best is None or best > 100 else f"{best:.2f}"
        told = (f"{gone:3.0f} s of {seconds:g}, Ctrl-C takes the best: {found} so far, none below "
                f"{max(bound, 0.0):.2f} ({unit})")
        wide = shutil.get_terminal_size().columns - 1
        print("\r" + told[:wide].ljust(wide), end="", file=sys.stderr, flush=True)

    watch = Watch(seconds, report if tty else None, began=began)
    usual = None
    if threading.current_thread() is threading.main_thread():
        def stop(number: int, frame: FrameType | None) -> None:
            watch.stop()
            signal.signal(signal.SIGINT, usual)  # a second Ctrl-C ends the program

        usual = signal.signal(signal.SIGINT, stop)
    try:
        yield watch
    finally:
        if usual is not None:
            signal.signal(signal.SIGINT, usual)
        if tty:
            print("\r" + " " * (shutil.get_terminal_size().columns - 1) + "\r", end="", file=sys.stderr, flush=True)
