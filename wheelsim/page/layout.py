"""The bench page: its parts in their order, and what each tap does."""

import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from nicegui import events, run, ui

from wheelsim.files.errors import FileError
from wheelsim.mechanics.structure import Unstable
from wheelsim.page.around import Choice, dressed, press
from wheelsim.page.face import face_of, marks, with_outlook
from wheelsim.page.headline import headline
from wheelsim.page.history_picture import history_picture
from wheelsim.page.pass_cards import PassCards, PlanCard
from wheelsim.page.reading_card import ReadingCard
from wheelsim.page.strip import Strip
from wheelsim.page.table import Table, jobs_of, within
from wheelsim.planning.plan_result import Plan
from wheelsim.report.terminal.assess import learnt_lines
from wheelsim.report.words.estimation import suspect_lines
from wheelsim.report.words.planning import CAUTIONS
from wheelsim.report.words.shared import no_stable_words
from wheelsim.report.words.stand import advice_words, judged_words
from wheelsim.units import QUARTER, turns_text
from wheelsim.wheel.sides import SIDES, Side

STEPS = {step: turns_text(step) for step in (QUARTER, 0.125, 0.5, 0.0625)}
IDLE = 0.3  # time without a tap before the outlook is drawn; own choice [s]
LOOK_AGAIN = 2.0  # how often the job's file is looked at for changes by others; own choice [s]


class BenchPage:
    """One visitor's page on one job."""

    def __init__(self, path: Path, folder: Path | None) -> None:
        self.folder, self.table = folder, Table(path)
        dressed("/")
        with ui.row().classes("wide items-center"):
            self.title = ui.label().classes("big").props("role=heading aria-level=1")
            if folder is not None:
                ui.select(jobs_of(folder), value=path.name, label="job", on_change=self._open).classes("press")
        found = self.table.predicted()
        self.strip = Strip(face_of(found.before, found.after, self.table.turns, found.limits), self._tapped)
        self.marks = ui.label().classes("alarm").props("role=status")
        self.answer = ui.label().classes("big").props("aria-live=polite")
        self._hands()
        self.verdict = ui.column().classes("card")
        with ui.row().classes("wide"):
            press("Plan", self._plan)
            press("Sheet", self._sheet)
            press("take back what was logged last", self._take_back)
        self.planned = PlanCard(self._keep)
        self.passes = PassCards(lambda number: self._safely(
            lambda: self.table.log(done=(number,)), f"Pass {number} logged. Read again."), self.planned.stop)
        with ui.column().classes("card"):
            self.reading = ReadingCard(self.table.stand.job, self._log_reading)
        PlanCard.warm()
        with ui.column().classes("card"):
            for line in CAUTIONS:
                ui.label(line)
        ui.timer(LOOK_AGAIN, self._look)
        self.later = ui.timer(IDLE, self._draw_outlook, active=False, immediate=False)
        self._show_all()

    def _hands(self) -> None:
        """What a tap turns: by how much, which way, a whole side; and steps back."""
        with ui.row().classes("wide"):
            self.sign = Choice({1.0: "tighten", -1.0: "loosen"}, 1.0, "tighten or loosen")
            self.step = Choice(STEPS, QUARTER, "by how many turns")
            for side in SIDES:
                press(f"whole {side}", partial(self._side, side))
            # ``self.table`` is looked up when pressed: it is another one after another job was opened.
            press("undo", lambda: self._then(self.table.undo))
            press("redo", lambda: self._then(self.table.redo))
            press("clear", lambda: self._then(self.table.clear))
            press("made: log these turns", self._log_turns)

    def _tapped(self, spoke: int, steps: int, way: int) -> None:
        self._then(lambda: self.table.tap(spoke, steps * (way or self.sign.value) * self.step.value))

    def _side(self, side: Side) -> None:
        self._then(lambda: self.table.tap_side(side, self.sign.value * self.step.value))

    def _then(self, change: Callable[[], object]) -> None:
        """Change the turns tried and show their effect; undone if the wheel would have no stable state."""
        change()
        try:
            self._show()
        except Unstable as error:
            self.table.undo()
            ui.notify(f"Not possible: {no_stable_words(error.because)}", type="warning")
            self._show()

    def _show(self) -> None:
        found = self.table.predicted()
        before, after = found.before, found.after
        self.strip.show(face_of(before, after, self.table.turns, found.limits, self._doubted(), self.step.value))
        self.found, self.tapped_at = found, time.monotonic()
        self.later.activate()
        self.marks.text = marks(after, found.limits, self._doubted()).sentence
        if self.table.shown is not self.table.stand:
            self.marks.text = "No stable wheel explains the readings. Shown is the wheel as its file describes it."
        self.answer.text = headline(found)

    async def _draw_outlook(self) -> None:
        """Draw the outlook once no tap came for ``IDLE``: computing it takes too long to do at every tap."""
        if time.monotonic() - self.tapped_at < IDLE:
            return
        self.later.deactivate()
        found = self.found
        seen = await run.io_bound(lambda: found.outlook)
        if seen is not None and found is self.found:
            self.strip.show(with_outlook(self.strip.face, found.after, seen))

    def _doubted(self) -> frozenset[int]:
        return self.seen.doubted

    def _show_all(self) -> None:
        self.title.text = self.table.stand.job.wheel.name
        self.seen = self.table.stand.assess()
        self.verdict.clear()
        with self.verdict:
            ui.label(judged_words(self.seen)).classes("big")
            suspects = suspect_lines(self.seen.suspects, self.seen.read_first)
            for line in (*suspects, *map(advice_words, self.seen.advice)):
                ui.label(line).classes("why")
            for line in learnt_lines(self.seen):
                ui.label(f"Learnt: {line}.")
            if len(self.seen.readings) > 1:
                ui.html(history_picture(self.seen.readings, self.table.shown.predict().limits), sanitize=False).classes(
                    "drawing flat")
                ui.label("Filled marks were read, hollow ones follow from all else; diamonds were predicted before; "
                         "the band is what is accepted.")
        self.planned.clear()
        self._show_passes()
        self.reading.of(self.table.stand.job)
        self._show()

    def _open(self, event: "events.ValueChangeEventArguments[Any]") -> None:
        if self.folder is None:
            return
        try:
            self.table = Table(within(self.folder, str(event.value)))
        except (FileError, ValueError, Unstable) as error:
            words = no_stable_words(error.because) if isinstance(error, Unstable) else str(error)
            ui.notify(words, type="negative", multi_line=True)
            return
        self._show_all()

    def _look(self) -> None:
        """Read the job again if another process wrote to it."""
        if self.table.changed:
            self._safely(self.table.read, "The job was written to; it is read anew.")

    def _safely(self, work: Callable[[], object], said: str) -> None:
        try:
            work()
        except FileError as error:
            ui.notify(str(error), type="negative", multi_line=True)
            return
        ui.notify(said)
        self._show_all()

    def _plan(self) -> None:
        self.planned.begin(self.table.path)

    def _keep(self, plan: Plan) -> None:
        """Write the passes of a plan that the solver sent into the job, in place of those planned before."""
        if self.table.changed:  # the job was changed since: the plan is for an earlier state
            self._look()
            return
        try:
            self.table.keep(plan)
        except FileError as error:
            ui.notify(str(error), type="negative", multi_line=True)
            return
        self._show_passes()

    def _show_passes(self) -> None:
        self.passes.show(self.table.to_do(), read_first=bool(self.seen.read_first))

    def _log_reading(self, reading: dict[str, Any]) -> None:
        def log() -> None:
            self.table.log(reading=reading)
            self.reading.forget()

        self._safely(log, "Logged.")

    def _take_back(self) -> None:
        try:
            gone = self.table.take_back()
        except FileError as error:
            ui.notify(str(error), type="negative", multi_line=True)
            return
        ui.notify("The last reading is taken back." if gone.made is None else
                  f"Pass {gone.made['number']} is taken back{', and planned again' if gone.planned_again else ''}.")
        self._show_all()

    def _log_turns(self) -> None:
        if not self.table.turns.any():
            ui.notify("Nothing is turned: tap a spoke or a side first.")
            return
        self._safely(lambda: self.table.log(turned=True), "Logged. Read again.")

    async def _sheet(self) -> None:
        from wheelsim.report.sheet.job_sheet import job_sheet
        from wheelsim.report.sheet.record import record
        from wheelsim.report.sheet.write import paper_named, render

        job = self.table.stand.job

        def made() -> bytes:
            return render(job_sheet(record(job)), paper_named("A4"), "pdf")

        data = await run.io_bound(made)
        if data is not None:
            ui.download(data, "sheet.pdf")
