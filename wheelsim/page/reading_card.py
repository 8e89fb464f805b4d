"""What the tools show, written down with the thumb: gauge, dial and meter, spoke after spoke, in the shop's units."""

from collections.abc import Callable
from typing import Any

from nicegui import ui

from wheelsim.job.job import Job
from wheelsim.page.around import Choice, press
from wheelsim.page.gauge_picture import gauge_picture
from wheelsim.page.pad import Pad
from wheelsim.readings.gauge import Gauge
from wheelsim.report.words.shared import spokes_words

TOOLS = {"gauge": "gauge", "lateral_mm": "dial, sideways", "radial_mm": "dial, up and down", "tension": "meter"}
PLUS = {"lateral_mm": "plus to the right", "radial_mm": "plus outward"}
EVERY = {1: "every spoke", 2: "every second", 4: "every fourth"}
GAPS = {"mm": "mm", "threads": "axle threads", "feelers": "feelers"}


class ReadingCard:
    """One set of readings on its way into the log.

    Parameters
    ----------
    job : Job
    log : callable
        Called with the reading as the job file has it, once it is complete.
    """

    def __init__(self, job: Job, log: Callable[[dict[str, Any]], None]) -> None:
        self._log = log
        self._read_of = self._stands(job)
        ui.label("Read").classes("big").props("role=heading aria-level=2")
        self.tool = Choice(TOOLS, "gauge", "tool", self._begin)
        with ui.element("div").classes("two"):
            with ui.column():
                self._gauge_choices()
                with ui.column() as self.round_choices:
                    self.every = Choice(EVERY, 1, "which spokes", self._begin)
                    self.unit = Choice({"tension_N": "N", "tension_kgf": "kgf"}, "tension_N", "unit of tension",
                                       self._changed_unit)
                self.kept = ui.label().classes("why").props("aria-live=polite")
                with ui.row():
                    press("log what was read", self._finish)
                    press("forget", self.forget, "forget what was typed and not logged")
            with ui.column():
                self.pad = Pad(self._next)
        self.forget()

    def of(self, job: Job) -> None:
        """Take the job as it is now; what was typed is kept unless the wheel or the passes made have changed."""
        before, self._read_of = self._read_of, self._stands(job)
        if self._read_of != before:
            self.forget()

    def _stands(self, job: Job) -> tuple[str, int, int]:
        """What identifies the state that is read; sets ``self.there``, the spokes to read."""
        wheel = job.wheel
        self.there = [i for i in range(1, wheel.n + 1) if i not in wheel.spokes.missing]
        return wheel.name, len(self.there), sum(one.turns is not None for one in job.passes)

    def _gauge_choices(self) -> None:
        with ui.column() as self.gauge_choices:
            ui.label("set on, and read on the other face:")
            self.side = Choice({"right": "right", "left": "left"}, "right", "gauge set on", self._begin)
            ui.label("the gap is at:")
            self.at = Choice({"hub": "hub", "feet": "both feet", "one foot": "one foot"}, "hub", "where the gap is",
                             self._begin)
            self.given = Choice(GAPS, "mm", "gap given in", self._begin)
            self.drawing = ui.html("", sanitize=False).classes("drawing")

    def forget(self) -> None:
        """Nothing read yet."""
        self.gauge: dict[str, Any] = {}
        self.values: dict[str, dict[int, float]] = {name: {} for name in TOOLS if name != "gauge"}
        self._begin()

    def _changed_unit(self) -> None:
        self.values["tension"] = {}  # what was typed is in the unit before
        self._begin()

    def _begin(self) -> None:
        """Ask for the first number of the tool chosen."""
        gauge = self.tool.value == "gauge"
        self.gauge_choices.set_visibility(gauge)
        self.round_choices.set_visibility(not gauge)
        self.unit.row.set_visibility(self.tool.value == "tension")
        at = 0 if self.at.value == "hub" else 1
        self.drawing.set_content(gauge_picture(Gauge(self.side.value, "hub" if at == 0 else self.at.value, 2e-3, 2e-3)))
        self.place = 0
        self.feelers: list[float] = []
        self._ask()

    def _ask(self) -> None:
        self.kept.text = self._told()
        if self.tool.value == "gauge":
            what = {"mm": "gap, mm", "threads": "gap, threads of 1 mm",
                    "feelers": "thickest feeler that passes, mm" if not self.feelers else
                    "thinnest that stops, mm"}[self.given.value]
            self.pad.ask(f"Gauge: {what}")
            return
        spoke = self.there[self.place]
        name = self.tool.value
        unit = {"tension_N": "N", "tension_kgf": "kgf"}[self.unit.value] if name == "tension" else f"mm, {PLUS[name]}"
        had = self.values[name].get(spoke)
        self.pad.ask(f"Spoke {spoke}: {unit}", "" if had is None else f"{had:g}")

    def _next(self, value: float | None) -> None:
        """Keep the number, or leave it out, and go on to the next."""
        if self.tool.value == "gauge":
            self._next_of_gauge(value)
        else:
            if value is not None:
                self.values[self.tool.value][self.there[self.place]] = value
            self.place = (self.place + self.every.value) % len(self.there)
        self._ask()

    def _next_of_gauge(self, value: float | None) -> None:
        if value is None:
            self.gauge, self.feelers = {}, []
            return
        where = {"set_on": self.side.value, "gap_at": self.at.value}
        if self.given.value != "feelers":
            self.gauge = {**where, "gap_mm" if self.given.value == "mm" else "gap_threads": value}
        elif self.feelers:
            self.gauge = {**where, "passes_mm": self.feelers[0], "stops_mm": value}
            self.feelers = []
        else:
            self.feelers = [value]

    def _told(self) -> str:
        """What is kept so far, in one line."""
        out = []
        if self.gauge:
            size = next((f"{self.gauge[key]:g} {unit}" for key, unit in (("gap_mm", "mm"), ("gap_threads", "threads"))
                         if key in self.gauge), None)
            size = size or f"{self.gauge['passes_mm']:g} mm passes, {self.gauge['stops_mm']:g} mm stops"
            out.append(f"gauge set on {self.gauge['set_on']}: {size} at {self.gauge['gap_at']}")
        out += [f"{TOOLS[name]}: {spokes_words(values)}"
                for name, values in self.values.items() if values]
        return f"Typed: {'; '.join(out)}." if out else "Nothing typed yet; next leaves one out."

    def reading(self) -> dict[str, Any]:
        """What was typed, as the job file has it."""
        out: dict[str, Any] = {"gauge": self.gauge} if self.gauge else {}
        for name, values in self.values.items():
            if values:
                out[self.unit.value if name == "tension" else name] = {str(k): v for k, v in sorted(values.items())}
        return out

    def _finish(self) -> None:
        reading = self.reading()
        if not reading:
            ui.notify("Nothing is typed yet: a number, then next.")
            return
        self._log(reading)

