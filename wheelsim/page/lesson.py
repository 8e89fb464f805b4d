"""State of a practice lesson without its user interface: the commands so far, and what the strip may show."""

import json
import random
from abc import ABC, abstractmethod
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import resolved
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.page.face import Face, face_of, read_face
from wheelsim.practice.commands import Desk, Quit
from wheelsim.practice.faults import LEVELS, Level, level_of, seed_of
from wheelsim.practice.made import PracticeError, Turned
from wheelsim.practice.session import Session
from wheelsim.practice.which_way import WhichWay
from wheelsim.units import QUARTER, number_list
from wheelsim.wheel.sides import Side

# Most commands, longest command and largest text of a lesson that a browser hands back; own choice.
MOST_COMMANDS, LONGEST, LARGEST = 500, 200, 60_000
SEEDS = 10_000


@dataclass(frozen=True)
class Said:
    """One command and what came of it."""

    command: str
    lines: tuple[str, ...]


@dataclass
class Lesson(ABC):
    """One learner at one level; ``commands`` do it all again.

    Attributes
    ----------
    level : Level
    seed : int
    commands : list of str
    said : list of Said
        The latest last.
    in_class : bool
        The strip is held back until the learner has answered.
    """

    level: Level
    seed: int
    in_class: bool = False
    commands: list[str] = field(default_factory=list)
    said: list[Said] = field(default_factory=list)

    def as_text(self) -> str:
        """To be kept by the browser."""
        return json.dumps({"level": self.level.name, "seed": self.seed, "class": self.in_class,
                           "commands": self.commands})

    @property
    @abstractmethod
    def over(self) -> bool:
        """Whether there is nothing more to do."""

    @property
    @abstractmethod
    def face(self) -> Face | None:
        """What the strip may show now, or None where it is held back."""

    def do(self, command: str) -> Said:
        """Carry out one command.

        Raises
        ------
        PracticeError
            For what can't be meant; nothing has changed.
        """
        said = Said(command, tuple(self._do(command)))
        self.commands.append(command)
        self.said.append(said)
        return said

    @abstractmethod
    def _do(self, command: str) -> Iterable[str]:
        """Carry it out, and what is said of it."""


class WayLesson(Lesson):
    """Which way must the rim go, and which spokes take it there: the first level."""

    def __init__(self, level: Level, seed: int, in_class: bool = False) -> None:
        super().__init__(level, seed, in_class)
        self.play = WhichWay(seed)
        self._told: tuple[View, View, Turns] | None = None

    @property
    def over(self) -> bool:
        return self.play.exercise is None

    @property
    def asks_way(self) -> bool:
        """Whether the question is which way the rim must go; else which spokes take it there."""
        return self.play.way is None

    @property
    def face(self) -> Face | None:
        """The wheel before and after the quarter turn that was answered; None before any answer to this exercise."""
        if self._told is None:
            return None
        before, after, turns = self._told
        return face_of(before, after, turns, resolved(before.wheel)) | {"turnable": False}

    def _do(self, command: str) -> Iterable[str]:
        words = command.split()
        if words == ["again"]:
            self.play.again()
            self._told = None
            return ("The last exercise once more; its first answers count.",)
        if len(words) == 1:
            told = self.play.answer_way(_side(words[0]))
            self._told = None
            return (told.words,)
        if len(words) != 2:
            raise PracticeError(f"{command!r}; expected right or left, or a side and tighten or loosen")
        exercise = self.play.exercise
        told = self.play.answer_side(_side(words[0]), words[1])
        if exercise is not None:
            wheel = exercise.state.wheel
            turns = np.zeros(wheel.n)
            turns[wheel.pulling(_side(words[0]))] = QUARTER if words[1] == "tighten" else -QUARTER
            after = equilibrium(wheel, exercise.state.turns + turns, exercise.state.own_shape, start=exercise.state)
            self._told = view(exercise.state), view(after), turns
        return (told.words,)


class _Watched(Session):
    """A session that remembers what its tools showed last, and the wheel before and after the last turn."""

    def __init__(self, level: Level, seed: int) -> None:
        self.dialled: Floats | None = None
        self.read: dict[int, float] = {}
        self.read_at = 0  # turns made before that
        self.turned: tuple[View, View, Turns] | None = None
        super().__init__(level, seed)

    def dial(self, which: str = "true") -> Floats:
        shown = super().dial(which)
        self._fresh()
        if which == "true":
            self.dialled = shown
        return shown

    def tension(self, spokes: Iterable[int] | None = None) -> dict[int, float]:
        shown = super().tension(spokes)
        self._fresh()
        self.read.update(shown)
        return shown

    def _fresh(self) -> None:
        """Forget readings from before the last turn."""
        if self.read_at != len(self.made):
            self.dialled, self.read, self.read_at = None, {}, len(self.made)

    def _made(self, turns: Turns, whole: bool, seized: tuple[int, ...]) -> Turned:
        before = self.state
        done = super()._made(turns, whole, seized)
        self.turned = view(before), view(self.state), turns
        return done


class WheelLesson(Lesson):
    """A hidden wheel: read, predict, turn, read again."""

    def __init__(self, level: Level, seed: int, in_class: bool = False) -> None:
        super().__init__(level, seed, in_class)
        self.session = _Watched(level, seed)
        self._lines: list[str] = []
        self._desk = Desk(self.session, self._lines.append)
        self._told: tuple[View, View, Turns] | None = None

    @property
    def over(self) -> bool:
        return self.session.ending is not None

    @property
    def stale(self) -> bool:
        """Whether the strip of readings is of before the last turn."""
        return self.session.read_at != len(self.session.made)

    @property
    def face(self) -> Face | None:
        """What the tools showed; in class nothing until the last turn's prediction is told, then the wheel itself."""
        if not self.in_class:
            return read_face(self.session.wheel, self.session.limits, self.session.dialled, self.session.read)
        if self._told is None:
            return read_face(self.session.wheel, self.session.limits, None, {})
        before, after, turns = self._told
        return face_of(before, after, turns, self.session.limits)

    @property
    def answered(self) -> bool:
        """Whether the last turn's prediction was told by a reading."""
        return self._told is not None

    def _do(self, command: str) -> Iterable[str]:
        self._lines.clear()
        told, made = len(self.session.answers), len(self.session.made)
        try:
            self._desk.do(command)
        except Quit:
            raise PracticeError("quit: expected another level or seed instead") from None
        if len(self.session.made) > made:
            self._told = None  # another turn: to be answered first
        if len(self.session.answers) > told and len(self.session.made) == made:
            self._told = self.session.turned
        return tuple(self._lines)


def begin(level: Level | str, seed: int | None = None, in_class: bool = False) -> Lesson:
    """A lesson from its beginning; without a seed one is drawn.

    Raises
    ------
    PracticeError
    """
    level = level if isinstance(level, Level) else level_of(level)
    seed = random.randrange(SEEDS) if seed is None else seed_of(seed)
    return (WayLesson if level is LEVELS[0] else WheelLesson)(level, seed, in_class)


def kept(text: object) -> Lesson | None:
    """The lesson that a browser kept, done again; None where it is none.

    What a browser hands over is not to be trusted: it is bounded, and a command that can't be meant ends it there.
    """
    if not isinstance(text, str) or len(text) > LARGEST:
        return None
    try:
        found = json.loads(text)
        commands = found["commands"]
        lesson = begin(found["level"], found["seed"], found["class"] is True)
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    if not isinstance(commands, list) or len(commands) > MOST_COMMANDS:
        return lesson
    for command in commands:
        if not isinstance(command, str) or len(command) > LONGEST or lesson.over:
            break
        try:
            lesson.do(command)
        except PracticeError:
            break
    return lesson


def target(side: Side | None, chosen: Iterable[int]) -> str:
    """A whole side or chosen spokes, as a command names them.

    Raises
    ------
    PracticeError
        When there is neither.
    """
    spokes = sorted(chosen)
    if side is None and not spokes:
        raise PracticeError("no spoke chosen; expected a side, or spokes tapped on the strip")
    return side or ",".join(map(str, spokes))


def chosen_words(chosen: Sequence[int]) -> str:
    """Spokes chosen, in words."""
    return f"chosen: {number_list(sorted(chosen))}" if chosen else "no spoke chosen: tap its key on the strip"


def _side(word: str) -> Side:
    if word == "right":
        return "right"
    if word == "left":
        return "left"
    raise PracticeError(f"{word!r}; expected right or left")
