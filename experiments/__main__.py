"""Runs the experiments: ``python -m experiments [NAME ...]``.

Each figure is saved in `figures/` and reported as changed or unchanged; then the gallery and the teaching sheet are
updated.
"""

import argparse
import sys
import time
from importlib import import_module
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

from experiments import gallery
from wheelsim.report.figures import save


def run_one(name, directory=None):
    """Run one experiment and save its figure; returns the time taken [s] and whether the figure's file changed."""
    began = time.perf_counter()
    one = import_module(f"experiments.{name}")
    path = one.FIGURE if directory is None else Path(directory) / one.FIGURE.name
    before = path.read_bytes() if path.is_file() else None
    save(one.draw(one.run()), path)
    return time.perf_counter() - began, path.read_bytes() != before


def run_all(names, directory=None):
    """Run experiments one after the other: a line each on stdout, a progress bar on stderr if that is a terminal."""
    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    # If stdout is a pipe, lines must not go to the bar's console (stderr); on a terminal they must, or they overlap.
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal,
                  redirect_stdout=sys.stdout.isatty(), redirect_stderr=False) as bar:
        task = bar.add_task("", total=len(names))
        for k, name in enumerate(names, 1):
            if not console.is_terminal:
                print(f"{k}/{len(names)} {name} ...", file=sys.stderr, flush=True)
            bar.update(task, description=name)
            seconds, changed = run_one(name, directory)
            print(f"{name:24}{seconds:6.1f} s   figure {'changed' if changed else 'unchanged'}", flush=True)
            bar.advance(task)


def main(words=None):
    """Entry point of the command; returns its exit code."""
    known = gallery.experiments()
    parser = argparse.ArgumentParser(prog="python -m experiments", description="Run the experiments, save their "
                                     "figures, and bring the gallery and the teaching sheet up to date.")
    parser.add_argument("names", nargs="*", metavar="NAME", help="only these: " + ", ".join(known))
    parser.add_argument("--into", metavar="DIR", help="save figures there instead, and leave gallery and sheet alone")
    asked = parser.parse_args(words)
    strange = [name for name in asked.names if name not in known]
    if strange:
        print(f"no experiment {', '.join(strange)}; expected some of {', '.join(known)}", file=sys.stderr)
        return 2
    if asked.into is not None and not Path(asked.into).is_dir():
        print(f"--into: {asked.into}: no such directory; expected one that is there", file=sys.stderr)
        return 2
    run_all([name for name in known if name in asked.names] if asked.names else known, asked.into)
    if asked.into is None:
        for path in gallery.write():
            print(f"{path.name} changed")
    return 0


if __name__ == "__main__":
    sys.exit(main())
