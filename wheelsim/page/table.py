"""State of the bench page without its user interface: a job, the turns tried on it, its planned passes and its log."""

import shutil
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from wheelsim import Stand
from wheelsim.arrays import Turns
from wheelsim.files.log import (
    TakenBack,
    ToLog,
    Written,
    add_visit,
    keep_passes,
    take_back,
    to_keep,
    turns_by_name,
)
from wheelsim.files.reader import SAMPLE, read_job, sample_path
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.passes import PlannedPass
from wheelsim.planning.plan_result import Plan
from wheelsim.report.sheet.record import followed
from wheelsim.stand.predict import Prediction
from wheelsim.wheel.sides import Side

MOST_STEPS = 200  # most steps that can be undone; own choice


def jobs_of(folder: Path) -> list[str]:
    """Names of the job files of a folder, in order."""
    return sorted(one.name for one in folder.glob("*.toml") if one.is_file())


def within(folder: Path, name: str) -> Path:
    """The file of that name in a folder.

    Raises
    ------
    ValueError
        For a name that leads out of it.
    """
    path = (folder / name).resolve()
    if path.parent != folder.resolve() or path.suffix != ".toml":
        raise ValueError(f"{name!r}; expected a job file of the folder")
    return path


def sample_copy() -> Path:
    """The shipped sample in a folder of its own, to work on."""
    folder = Path(tempfile.mkdtemp(prefix="wheelsim-"))
    for name in (SAMPLE, "dished-rear-wheel.toml"):
        shutil.copy(sample_path(name), folder / name)
    return folder / SAMPLE


@dataclass
class Table:
    """One job and the turns tried on it, which are in no file.

    Attributes
    ----------
    path : Path
    turns : (n,) ndarray
        Plus tightens. [turn]
    shown : Stand
        Of the job; where no stable wheel explains its readings, of the wheel as its file describes it.
    """

    path: Path
    turns: Turns = field(init=False)
    stand: Stand = field(init=False)
    shown: Stand = field(init=False)
    _done: list[Turns] = field(default_factory=list)
    _undone: list[Turns] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.read()

    def read(self) -> None:
        """Read the job again; turns that were tried are dropped, since the state has changed."""
        self.stand = Stand(read_job(self.path))
        self.stamp = self.path.stat().st_mtime_ns
        self.shown = self.stand if _stands(self.stand) else Stand(self.stand.job.wheel)
        self.turns = np.zeros(self.stand.job.wheel.n)
        self._planned = tuple(one for one in self.stand.job.passes if one.turns is None)
        self._done, self._undone = [], []

    @property
    def changed(self) -> bool:
        """Whether somebody else wrote to the job since it was read."""
        try:
            return self.path.stat().st_mtime_ns != self.stamp
        except OSError:
            return False

    def tap(self, spoke: int, step: float) -> None:
        """Turn one nipple by a step; a missing spoke has none."""
        wheel = self.stand.job.wheel
        if 1 <= spoke <= wheel.n and spoke not in wheel.spokes.missing:
            self._change(self.turns + step * (np.arange(wheel.n) == spoke - 1))

    def tap_side(self, side: Side, step: float) -> None:
        """Once round a side."""
        wheel = self.stand.job.wheel
        self._change(self.turns + step * np.isin(np.arange(wheel.n), wheel.pulling(side)))

    def clear(self) -> None:
        """No turns."""
        if self.turns.any():
            self._change(np.zeros_like(self.turns))

    def undo(self) -> None:
        """Take the last step back."""
        if self._done:
            self._undone.append(self.turns)
            self.turns = self._done.pop()

    def redo(self) -> None:
        """Take the last undone step again."""
        if self._undone:
            self._done.append(self.turns)
            self.turns = self._undone.pop()

    def _change(self, turns: Turns) -> None:
        self._done = [*self._done[-MOST_STEPS:], self.turns]
        self._undone = []
        self.turns = turns

    def predicted(self) -> Prediction:
        """What the turns tried would do; raises Unstable where no wheel stands them."""
        return self.shown.predict(spokes={i + 1: float(t) for i, t in enumerate(self.turns) if t})

    def keep(self, plan: Plan) -> list[int]:
        """Write a plan's passes into the job; their numbers."""
        job = keep_passes(self.path, [to_keep(one) for one in plan.passes])
        self.stamp = self.path.stat().st_mtime_ns
        self._planned = tuple(one for one in job.passes if one.turns is None)
        return [one.number for one in self._planned]

    def to_do(self) -> tuple[PlannedPass, ...]:
        """The passes planned in the job and not made yet, followed from the wheel as it is."""
        job = self.stand.job
        return followed(self.shown.predict().before, self._planned, job.work.target_dish) if self._planned else ()

    def log(self, *, done: tuple[int, ...] = (), turned: bool = False,
            reading: dict[str, Any] | None = None) -> Written:
        """Write down a planned pass made, the turns tried as made, or what the tools show; the job is read anew."""
        made = turns_by_name(self.stand.job.wheel, dict(enumerate(self.turns, 1))) if turned else {}
        written = add_visit(self.path, ToLog(done, made, reading or {}))
        self.read()
        return written

    def take_back(self) -> TakenBack:
        """Take back what was logged last, as ``files.log.take_back``; the job is read anew."""
        gone = take_back(self.path)
        self.read()
        return gone


def _stands(stand: Stand) -> bool:
    """Whether a stable wheel explains the readings."""
    try:
        stand.predict()
    except Unstable:
        return False
    return True
