"""A new wheel by questions, one at a time, each with a drawing; begun from the blank job or a wheel of the folder."""

import re
from pathlib import Path
from typing import Any

from nicegui import ui

from wheelsim.files.blank import write_blank
from wheelsim.files.errors import FileError
from wheelsim.files.questions import WHEEL, Question
from wheelsim.files.text import read_toml
from wheelsim.page.around import Choice, dressed, press
from wheelsim.page.measure_picture import measure_picture
from wheelsim.page.pad import Pad
from wheelsim.page.table import jobs_of, within

BLANK = "a blank job"


def register(folder: Path) -> None:
    """Serve the questions at ``/new``; jobs are written into the folder."""
    @ui.page("/new", title="wheelsim: a new wheel")
    def new() -> None:
        NewWheel(folder)


def file_name(name: str) -> str:
    """A file's name from a customer's or a ticket's."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "wheel"


def wheel_of(folder: Path, name: str) -> dict[str, Any]:
    """What a job of the folder answers already, by key; raises FileError or ValueError."""
    path = within(folder, name)
    document = read_toml(path, "expected a job file")
    wheel = document.get("wheel", document)
    if isinstance(wheel, str):
        wheel = read_toml((path.parent / wheel).resolve(), "expected a wheel file")
    return {one.key: value for one in WHEEL if (value := _found(wheel, one.key)) is not None and not one.free}


def _found(table: Any, key: str) -> Any:
    for name in key.split("."):
        table = table.get(name) if isinstance(table, dict) else None
    return table if isinstance(table, int | float | str) else None


class NewWheel:
    """One visitor's page of questions, and the answers so far."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.at = folder, 0
        self.answers: dict[str, Any] = {}
        dressed("/new")
        ui.label("A new wheel").classes("big").props("role=heading aria-level=1")
        self.begun = ui.select([BLANK, *jobs_of(folder)], value=BLANK, label="begin from",
                               on_change=self._begin_from).classes("press level")
        with ui.element("div").classes("two card"):
            with ui.column():
                self.asks = ui.label().classes("big").props("aria-live=polite")
                self.drawing = ui.html("", sanitize=False).classes("drawing")
            with ui.column():
                self.name = ui.input("customer or ticket").classes("wide")
                self.names = press("next", self._named)
                self.choices = ui.column()
                with ui.column() as self.numbers:
                    self.pad = Pad(self._answered)
        with ui.row():
            press("question before", self._before)
            press("write the job", self._write)
        self.told = ui.label().classes("why")
        self._ask()

    @property
    def question(self) -> Question:
        return WHEEL[self.at]

    def _begin_from(self) -> None:
        try:
            known = {} if self.begun.value == BLANK else wheel_of(self.folder, str(self.begun.value))
        except (FileError, ValueError) as error:
            ui.notify(str(error), type="negative", multi_line=True)
            return
        self.answers = {key: value for key, value in self.answers.items() if key == "name"} | known
        self._ask()

    def _ask(self) -> None:
        one = self.question
        had = self.answers.get(one.key)
        self.asks.text = f"{self.at + 1} of {len(WHEEL)}. {one.alone}"
        self.drawing.set_content(measure_picture(one.key))
        self.name.set_visibility(one.free)
        self.names.set_visibility(one.free)
        self.numbers.set_visibility(not one.free and not one.words)
        self.choices.clear()
        if one.words:
            with self.choices:
                chosen = Choice({word: word for word in one.words}, had or one.words[0], one.asks.strip())
                press("next", lambda: self._answered(chosen.value))
        elif not one.free:
            self.pad.ask("", "" if had is None else f"{had:g}")
        self.told.text = f"{len(self.answers)} answered; what is left out stays an invented value of the blank job."

    def _named(self) -> None:
        self._answered(str(self.name.value or "").strip() or None)

    def _answered(self, value: Any) -> None:
        if value is None:
            self.answers.pop(self.question.key, None)
        else:
            self.answers[self.question.key] = int(value) if self.question.counted else value
            if self.question.unusual(value):
                low, high = self.question.usual or (value, value)
                said = f"{value:g} is unusual, {low:g} to {high:g} is usual: go back if it isn't so."
                ui.notify(said, type="warning")
        self.at = min(self.at + 1, len(WHEEL) - 1)
        self._ask()

    def _before(self) -> None:
        self.at = max(self.at - 1, 0)
        self._ask()

    def _write(self) -> None:
        stem = file_name(str(self.answers.get("name", "wheel")))
        taken = set(jobs_of(self.folder))
        names = (f"{stem}.toml", *(f"{stem}-{k}.toml" for k in range(2, len(taken) + 3)))
        name = next(one for one in names if one not in taken)
        try:
            write_blank(within(self.folder, name), self.answers)
        except (FileError, ValueError) as error:
            ui.notify(str(error), type="negative", multi_line=True)
            return
        ui.navigate.to(f"/?job={name}")
