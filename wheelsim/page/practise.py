"""The page to practise on: hidden wheels, levels and hints, and a class view that holds the strip back."""

import asyncio
import json

from nicegui import run, ui

from wheelsim.page.around import Choice, dressed, press
from wheelsim.page.ending_card import ending_card
from wheelsim.page.gauge_picture import gauge_picture
from wheelsim.page.lesson import Lesson, Said, WayLesson, WheelLesson, begin, chosen_words, kept, target
from wheelsim.page.strip import Strip
from wheelsim.practice.answers import WAYS
from wheelsim.practice.faults import LEVELS
from wheelsim.practice.made import PracticeError
from wheelsim.practice.which_way import RULE
from wheelsim.practice.words import CAUTIONS, TERMS, gauge_line, wheel_lines
from wheelsim.wheel.sides import SIDES

KEEPER = "wheelsim-practise"  # where the browser keeps the lesson
KEPT_ON_SCREEN = 30  # answers
AMOUNTS = {"1/4": "1/4", "1/8": "1/8", "1/2": "1/2", "1": "1"}
HELD_BACK = "The strip shows the wheel when you have answered: predict, turn, and read what tells."
HELD_BACK_WAY = "The strip shows the wheel when you have answered."


class PractisePage:
    """One learner's page."""

    def __init__(self) -> None:
        dressed("/practise")
        ui.label("Practise").classes("big").props("role=heading aria-level=1")
        with ui.row().classes("wide items-end"):
            self.level = ui.select({one.name: f"{one.number}. {one.name}: {one.teaches}" for one in LEVELS},
                                   value=LEVELS[0].name, label="level").classes("level")
            self.seed = ui.number("seed (empty: drawn)", format="%d", min=0, precision=0).props("inputmode=numeric")
            press("start", self._start, "start this level")
        self.in_class = Choice({False: "on my own", True: "class view"}, False, "who looks on", self._other_view)
        self.body = ui.column().classes("wide")
        self.lesson: Lesson = begin(LEVELS[0])
        self.chosen: set[int] = set()

    async def found_again(self) -> None:
        """Resume the lesson that the browser kept, if there is one."""
        try:
            text = await ui.run_javascript(f"localStorage.getItem('{KEEPER}')", timeout=5)
        except TimeoutError:
            text = None
        lesson = await run.io_bound(kept, text)
        if lesson is not None:
            self.lesson = lesson
            self.level.value, self.in_class.value = lesson.level.name, lesson.in_class
            self.in_class.choose(lesson.in_class)
        self._show_all()

    def _start(self) -> None:
        seed = None if self.seed.value is None else int(self.seed.value)
        try:
            self.lesson = begin(str(self.level.value), seed, bool(self.in_class.value))
        except PracticeError as error:
            ui.notify(str(error), type="negative")
            return
        self._keep()
        self._show_all()

    def _other_view(self) -> None:
        self.lesson.in_class = bool(self.in_class.value)
        self._keep()
        self._show_all()

    def _keep(self) -> None:
        ui.run_javascript(f"localStorage.setItem('{KEEPER}', {json.dumps(self.lesson.as_text())})")

    def _show_all(self) -> None:
        self.chosen.clear()
        self.body.clear()
        lesson = self.lesson
        with self.body.classes(add="class" if lesson.in_class else "", remove="" if lesson.in_class else "class"):
            if isinstance(lesson, WayLesson):
                _WayView(self, lesson)
            elif isinstance(lesson, WheelLesson):
                _WheelView(self, lesson)
            with ui.column().classes("card"):
                for line in CAUTIONS:
                    ui.label(line)

    def do(self, command: str) -> Said | None:
        """Carry out a command and keep the lesson; what can't be meant is said."""
        try:
            said = self.lesson.do(command)
        except PracticeError as error:
            ui.notify(str(error), type="negative", multi_line=True)
            return None
        self._keep()
        return said


class _View:
    """What both kinds of lesson show: the strip, or why it is held back, and what was said."""

    def __init__(self, page: PractisePage, lesson: Lesson) -> None:
        self.page = page
        self.picture = ui.column().classes("wide")
        self.strip: Strip | None = None
        self.lesson = lesson

    def heard(self) -> None:
        """A place for the last answer, beside what it is about."""
        self.latest = ui.column().classes("card").props('role=status aria-label="what came of it"')

    def earlier(self) -> None:
        """A place for what was said before, and all of it so far."""
        with ui.expansion("what was done so far").classes("wide"):
            self.log = ui.column().classes("wide")
        for said in self.lesson.said[-KEPT_ON_SCREEN:]:
            self.say(said)

    def say(self, said: Said) -> None:
        """The latest on top."""
        self.latest.clear()
        with self.latest:
            _lines(said)
        with self.log, ui.column().classes("said") as one:
            _lines(said)
        one.move(target_index=0)
        if len(self.log.default_slot.children) > KEPT_ON_SCREEN:
            self.log.remove(self.log.default_slot.children[-1])

    def draw(self) -> None:
        face = self.lesson.face
        if face is None:
            self.picture.clear()
            self.strip = None
            with self.picture:
                ui.label(HELD_BACK_WAY).classes("why card").props("role=status")
            return
        if self.strip is None:
            self.picture.clear()
            with self.picture:
                self.strip = Strip(face, self.tapped)
        self.strip.show(face | {"chosen": sorted(self.page.chosen)} if face["turnable"] else face)

    def tapped(self, spoke: int, steps: int, way: int) -> None:
        """A tap on a key of the strip."""


def _lines(said: Said) -> None:
    ui.label(said.command).classes("command")
    for line in said.lines:
        ui.label(line).classes("line")


class _WayView(_View):
    """The first level: one question at a time."""

    def __init__(self, page: PractisePage, lesson: WayLesson) -> None:
        super().__init__(page, lesson)
        self.way = lesson
        self.heard()
        self.question = ui.column().classes("card")
        self.earlier()
        self.ask()

    def ask(self) -> None:
        play, one = self.way.play, self.way.play.exercise
        self.question.clear()
        with self.question:
            if one is None:
                ui.label(f"{sum(play.results)} of {len(play.results)} right, {sum(play.results[3:])} of 3 without "
                         "help.").classes("big")
                ui.label("Next: level near-side, where one of the two ways is barred." if play.success
                         else "Once more with another seed: where does the rim lie, and who pulls it where it should "
                              "go?").classes("why")
            else:
                ui.label(f"Exercise {one.number} of {len(play.exercises)}").classes("big")
                ui.html(gauge_picture(one.gauge), sanitize=False).classes("drawing")
                for line in (gauge_line(one.gauge), one.tension or "", RULE if one.guided else ""):
                    ui.label(line).classes("why")
                ui.label("Which way must the rim go?" if self.way.asks_way else
                         "Which spokes, and tighten or loosen?").classes("big")
                with ui.row():
                    for side in SIDES:
                        if self.way.asks_way:
                            press(side, lambda side=side: self.answer(side))
                        else:
                            for action in ("tighten", "loosen"):
                                press(f"{action} {side}", lambda words=f"{side} {action}": self.answer(words))
            if play.results and not play.right_last and self.way.asks_way:
                press("the last one again", lambda: self.answer("again"))
        self.draw()

    def answer(self, words: str) -> None:
        said = self.page.do(words)
        if said is not None:
            self.say(said)
            self.ask()


class _WheelView(_View):
    """A hidden wheel: read, predict, turn, help, the end."""

    def __init__(self, page: PractisePage, lesson: WheelLesson) -> None:
        with ui.column().classes("card"):
            for line in wheel_lines(lesson.session.case):
                ui.label(line).classes("why")
        super().__init__(page, lesson)
        self.wheel = lesson
        self.as_of = ui.label().classes("why")
        self.heard()
        self.end = ui.column().classes("wide")
        with ui.element("div").classes("two"):
            with ui.column():
                self._reading()
                self._help()
            self._turning()
        self.earlier()
        self.show()

    def _reading(self) -> None:
        with ui.column().classes("card"):
            ui.label("Read").classes("big").props("role=heading aria-level=2")
            with ui.row():
                for word, command in (("gauge, set right", "gauge right"), ("gauge, set left", "gauge left"),
                                      ("gauge, quarter round", "gauge right quarter"), ("dial, true", "dial true"),
                                      ("dial, round", "dial round"), ("tension, all", "tension")):
                    press(word, lambda command=command: self.do(command))
                press("tension, chosen", lambda: self.do_to("tension {}", None))

    def _turning(self) -> None:
        with ui.column().classes("card"):
            ui.label("Predict, then turn").classes("big").props("role=heading aria-level=2")
            self.what = Choice({"right": "right side", "left": "left side", None: "chosen spokes"}, "right",
                               "what is turned", self.show)
            self.chosen = ui.label().classes("why").props("role=status")
            ui.label("It will go:").classes("why")
            with ui.row():
                for way in WAYS:
                    press(way, lambda way=way: self.predict(way), f"predict {way}")
            self.amount = ui.number("by how much, mm or N (may stay empty)", min=0, format="%.2f").props(
                "inputmode=decimal").classes("wide")
            self.sign = Choice({"": "tighten", "-": "loosen"}, "", "tighten or loosen")
            self.size = Choice(AMOUNTS, "1/4", "by how many turns")
            press("turn", lambda: self.do_to("turn {} " + self.sign.value + self.size.value, self.what.value),
                  "turn it").classes("wide")

    def _help(self) -> None:
        with ui.column().classes("card"):
            ui.label("Help, and the end").classes("big").props("role=heading aria-level=2")
            with ui.row():
                for word, command in (("hint", "hint"), ("do what the hint named", "apply"), ("log", "log")):
                    press(word, lambda command=command: self.do(command))
                press("hand it over: done", lambda: self.finish("done"))
                press("hand it back: no nipple mends it", lambda: self.finish("reject"))
            with ui.expansion("what the words mean").classes("wide"):
                for line in TERMS:
                    ui.label(line)

    def tapped(self, spoke: int, steps: int, way: int) -> None:
        self.page.chosen ^= {spoke}
        if self.page.chosen:
            self.what.choose(None)
        self.show()

    def predict(self, way: str) -> None:
        amount = "" if self.amount.value is None else f" {float(self.amount.value):g}"
        where = f"{next(iter(self.page.chosen))} " if self.what.value is None and len(self.page.chosen) == 1 else ""
        if self.do(f"predict {where}{way}" + ("" if way == "still" else amount)):
            self.amount.value = None

    def do_to(self, command: str, side: str | None) -> None:
        """A command to a side or to the spokes chosen."""
        try:
            self.do(command.format(target(side, self.page.chosen)))  # type: ignore[arg-type]
        except PracticeError as error:
            ui.notify(str(error), type="negative")

    def do(self, command: str) -> bool:
        said = self.page.do(command)
        if said is None:
            return False
        self.say(said)
        self.show()
        return True

    async def finish(self, command: str) -> None:
        self.end.clear()
        with self.end:
            ui.label("Working out the best plan and what the rule of thumb would have done: some seconds."
                     ).props("role=status")
        await asyncio.sleep(0.05)  # shown before the work begins
        lesson = self.lesson
        try:
            said = await run.io_bound(lesson.do, command)
        except PracticeError as error:
            ui.notify(str(error), type="negative")
            return
        if said is not None and lesson is self.page.lesson:
            self.page._keep()
            self.show()

    def show(self) -> None:
        self.chosen.text = chosen_words(sorted(self.page.chosen))
        self.draw()
        ending = self.wheel.session.ending
        if self.lesson.in_class:
            self.as_of.text = "" if self.wheel.answered else HELD_BACK
        else:
            self.as_of.text = "As read before the last turn." if self.wheel.stale else ""
        if ending is not None:
            self.end.clear()
            with self.end:
                ending_card(ending)


def register() -> None:
    """Put the page at its address."""

    @ui.page("/practise", title="wheelsim practise")
    async def practise() -> None:
        page = PractisePage()
        await ui.context.client.connected()
        await page.found_again()
