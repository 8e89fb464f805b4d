"""Planning in a separate process, so that the page stays responsive: a first plan soon, then better ones."""

import multiprocessing
from importlib import import_module
from multiprocessing.connection import Connection
from pathlib import Path

from wheelsim.planning.plan_result import Plan

SECONDS = 15.0  # time limit of each plan
# Efforts of the plans made one after another: the first takes well under a second, the last all that the seconds allow.
# Each starts from nothing, which repeats about a sixth of the work; own choice.
EFFORTS = (0.1, 1.0, None)


class Solver:
    """One process, started beforehand: starting takes longer than a first plan may.

    ``plans`` of one job, as they come, are asked for with ``poll``; ``stop`` ends the process at any time.
    """

    def __init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._here, there = context.Pipe()
        self._process = context.Process(target=_work, args=(there,), daemon=True)
        self._process.start()
        there.close()

    def begin(self, path: Path) -> None:
        """Plan the job of a file."""
        self._here.send(path)

    def poll(self) -> Plan | str | None:
        """The next plan; None while there is none; after the last, or if the process ended, a word that says so."""
        try:
            if not self._here.poll():
                return None
            got = self._here.recv()
        except (EOFError, OSError):
            return "stopped"
        return got if isinstance(got, Plan | str) else None

    def stop(self) -> None:
        """End the process; the plans had so far stand."""
        self._here.close()
        self._process.terminate()


def _work(pipe: Connection) -> None:
    from wheelsim import Stand
    from wheelsim.files.reader import read_job

    import_module("wheelsim.planning.plan")  # imported before a job comes, since it takes long
    try:
        path = pipe.recv()
        stand = Stand(read_job(path))
        for effort in EFFORTS:
            pipe.send(stand.plan(seconds=SECONDS, effort=effort))
        pipe.send("done")
    except (EOFError, OSError, KeyboardInterrupt):  # the page was closed
        return
    except Exception as error:  # told on the page: it can't be raised there
        pipe.send(f"no plan: {error}")
