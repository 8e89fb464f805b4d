"""The plan on the page: why, the ways beside each other, passes to tick off, one nipple at a time if wished."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import ClassVar

import numpy as np
from nicegui import ui

from wheelsim.arrays import Floats
from wheelsim.measures.on_the_way import tension_on_the_way
from wheelsim.page.around import press
from wheelsim.page.solver import Solver
from wheelsim.planning.passes import PlannedPass
from wheelsim.planning.plan_result import Plan
from wheelsim.report.words.estimation import chance_words, check_words
from wheelsim.report.words.measures import gap_words, limit_words
from wheelsim.report.words.passes import GAUGE_AGAIN, SQUEEZE, meanwhile_words, pass_words, way_words
from wheelsim.report.words.planning import first_words, plan_advice_words
from wheelsim.report.words.verdict import verdict_words
from wheelsim.report.words.windup import past_and_back
from wheelsim.units import turns_text

POLL = 0.1  # how often the solver is asked for plans; own choice [s]


class PlanCard:
    """Asks for plans of a job and shows the best so far.

    Parameters
    ----------
    keep : callable
        Called with each plan as it comes, better than the one before; writes its passes into the job.
    """

    spare: ClassVar[Solver | None] = None  # started beforehand, so that a first plan comes soon

    def __init__(self, keep: Callable[[Plan], None]) -> None:
        self._keep = keep
        self._solver: Solver | None = None
        self.plan: Plan | None = None
        self.state = ui.label().props("role=status")
        self.stops = press("stop: take what there is", self.stop)
        self.why = ui.column().classes("wide")
        self.timer = ui.timer(POLL, self._poll, active=False)
        self.stops.set_visibility(False)

    @classmethod
    def warm(cls) -> None:
        """Start the spare process, if there is none."""
        cls.spare = cls.spare or Solver()

    def begin(self, path: Path) -> None:
        """Plan the job of a file; another plan on its way is stopped."""
        self.clear()
        self.warm()
        self._solver, PlanCard.spare = PlanCard.spare, None
        assert self._solver is not None
        self._solver.begin(path)
        self.state.text = "Planning ..."
        self.stops.set_visibility(True)
        self.timer.activate()

    def clear(self) -> None:
        """No plan."""
        self._end("")
        self.plan = None
        self.why.clear()

    def stop(self) -> None:
        """End the search, if it still goes on; the plan shown stands."""
        if self._solver is None:
            return
        self._end("Stopped." if self.plan is None else "Stopped: this is the best so far.")

    def _end(self, said: str) -> None:
        self.timer.deactivate()
        self.stops.set_visibility(False)
        self.state.text = said
        if self._solver is not None:
            self._solver.stop()
            self._solver = None
            self.warm()

    def _poll(self) -> None:
        got = None if self._solver is None else self._solver.poll()
        if isinstance(got, Plan):
            another = self.plan is None or not np.array_equal(self._turns(self.plan), self._turns(got))
            self.plan = got
            self.state.text = "Planning on: a better one may come."
            self._show(got)
            if another:
                self._keep(got)
        elif isinstance(got, str):
            self._end("" if got == "done" else got)

    @staticmethod
    def _turns(plan: Plan) -> Floats:
        return np.array([one.turns for one in plan.passes])

    def _show(self, plan: Plan) -> None:
        self.why.clear()
        with self.why:
            ui.label(verdict_words(plan.verdict)).classes("why card")
            if plan.ways:
                _ways(plan)
            for line in (*map(first_words, plan.first), *map(plan_advice_words, plan.advice)):
                ui.label(line)
            ahead = plan.foreseen
            if ahead is not None:
                numbers = [one.number for one in plan.passes]
                ui.label(f"Outlook: {chance_words(ahead, plan.unread)}.{check_words(ahead, numbers, plan.unread)}")


def _ways(plan: Plan) -> None:
    """The ways to centre it, a row each."""
    with ui.element("div").classes("flat").props('tabindex=0 role=region aria-label="ways to centre it"'), \
            ui.element("table").classes("ending"):
        with ui.element("tr"):
            for head in ("way to centre it", "gap after", "highest, N", "within"):
                with ui.element("th").props("scope=col"):
                    ui.label(head)
        for way in plan.ways:
            seen = way.after
            cells = (way_words(way), "-" if seen is None else gap_words(seen),
                     "-" if seen is None else f"{seen.highest:.0f}",
                     "no stable wheel" if seen is None else "yes" if not way.outside else
                     "no: " + ", ".join(limit_words(name) for name in way.outside))
            with ui.element("tr"):
                for cell in cells:
                    with ui.element("td"):
                        ui.label(cell)


class PassCards:
    """Planned passes that are still to be made.

    Parameters
    ----------
    made : callable
        Called with the number of a pass that was made as planned.
    begun : callable
        Called when a hand begins to turn: the passes must stay as they are.
    """

    def __init__(self, made: Callable[[int], None], begun: Callable[[], None]) -> None:
        self._made, self._begun = made, begun
        self.column = ui.column().classes("wide")

    def show(self, passes: tuple[PlannedPass, ...], *, read_first: bool = False) -> None:
        """A card for each; only the first can be made next, and its nipples be walked one by one.

        None while something is to be read first: the passes were planned from what is in doubt.
        """
        self.column.clear()
        with self.column:
            for k, one in enumerate(passes):
                with ui.column().classes("card"):
                    ui.label(f"Pass {one.number}. {pass_words(one)}.").classes("big")
                    words = past_and_back(one)
                    ui.label(f"Then gap {gap_words(one.after)}, {one.side} {one.after.mean[one.side]:.0f} N"
                             f"{meanwhile_words(one, passes)}; highest "
                             f"on the way {one.peak_tension:.0f} N." + (f" {words}" if words else "")
                             + (f" Then {SQUEEZE}." if one.settles else "")
                             + (f" {GAUGE_AGAIN}" if one.gauge_again else ""))
                    if k == 0 and read_first:
                        ui.label("Not yet: read again first, as said above.").classes("alarm")
                    elif k == 0:
                        made = partial(self._made, one.number)
                        with ui.row() as whole:
                            walk = Walk(one, made, whole)
                            press("made", made, f"pass {one.number} made as planned")
                            press("one nipple at a time", partial(self._walk, walk))
                        walk.place()

    def _walk(self, walk: "Walk") -> None:
        self._begun()
        walk.begin()


class Walk:
    """A pass nipple by nipple: the next one large, and what the spokes stand as it goes.

    The buttons for the pass as a whole, ``whole``, are hidden meanwhile: half-way through it was not made yet.
    """

    def __init__(self, one: PlannedPass, made: Callable[[], None], whole: ui.row) -> None:
        self.one, self._made, self._whole, self.at = one, made, whole, 0
        self.spokes = np.flatnonzero(one.turns)
        self.way = tension_on_the_way(one.before.state, one.after.state, one.turns)

    def place(self) -> None:
        """Where it stands on the page; hidden until it begins."""
        with ui.column().classes("wide") as self.column:
            self.next = ui.label().classes("nipple").props("aria-live=polite")
            self.told = ui.label().classes("why")
            with ui.row():
                press("one back", lambda: self._go(-1))
                self.turned = press("turned: next", lambda: self._go(1))
        self.column.set_visibility(False)

    def begin(self) -> None:
        """From the valve on."""
        self.at = 0
        self._open(True)
        self._show()

    def _open(self, walking: bool) -> None:
        self.column.set_visibility(walking)
        self._whole.set_visibility(not walking)

    def _go(self, by: int) -> None:
        self.at += by
        if self.at < 0:
            self._open(False)
            return
        if self.at >= len(self.spokes):
            self._made()
            return
        self._show()

    def _show(self) -> None:
        i = int(self.spokes[self.at])
        amount = turns_text(float(abs(self.one.turns[i])))
        self.next.text = f"Spoke {i + 1}: {self.one.verb} {amount}"
        now = self.way[:, self.at]
        last = self.at + 1 == len(self.spokes)
        self.told.text = (f"{self.at + 1} of {len(self.spokes)}; then spoke {i + 1} has {now[i]:.0f} N; the highest is "
                          f"spoke {int(now.argmax()) + 1} with {now.max():.0f} N."
                          + (" The last: with it the pass is logged as made." if last else ""))
