"""Typed commands to a session, and what it answers in words."""

import re
from cmd import Cmd
from collections.abc import Callable, Iterable, Sequence
from difflib import get_close_matches
from typing import TypeAlias

import numpy as np

from wheelsim.measures.view import view
from wheelsim.practice.answers import WAYS
from wheelsim.practice.made import PracticeError
from wheelsim.practice.session import Session
from wheelsim.practice.words import (
    HELP,
    TERMS,
    dial_lines,
    ending_lines,
    gauge_line,
    log_lines,
    tension_lines,
    turned_lines,
    wheel_lines,
)
from wheelsim.units import MM, parse_turns
from wheelsim.wheel.parts import SIDES

Words: TypeAlias = Sequence[str]
NUMBER = re.compile(r"-?([0-9]{1,9}(\.[0-9]{0,9})?|\.[0-9]{1,9})", re.ASCII)
PART = re.compile(r"[0-9]{1,9}/[0-9]{1,9}", re.ASCII)


class Quit(Exception):
    """The learner stops."""


class Desk(Cmd):
    """One session, spoken to in lines of text: each ``do_`` method is a command, whose name ``complete`` completes.

    Parameters
    ----------
    session : Session
    write : callable
        Takes one line of text.
    """

    def __init__(self, session: Session, write: Callable[[str], None]) -> None:
        super().__init__()
        self.session, self.write = session, write

    def do(self, command: str) -> None:
        """Carry out one command.

        Raises
        ------
        PracticeError
            For words that can't be meant, in one line; nothing has changed.
        Quit
        """
        before = len(self.session.answers)
        self.onecmd(command.lower())
        for answer in self.session.answers[before:]:
            if self.session.ending is None:
                self.write(answer.words)

    def parseline(self, line: str) -> tuple[str | None, str | None, str]:
        """The first word, the others, and the line; ``Cmd`` would also part words at other signs than blanks."""
        word, *others = line.split() or [""]
        return "help" if word in ("?", "h") else word, " ".join(others), line.strip()

    def emptyline(self) -> bool:
        """Nothing typed does nothing; ``Cmd`` would do the last command again."""
        return False

    def default(self, line: str) -> None:
        """No command of that name."""
        word, names = line.split()[0], [name[3:] for name in vars(Desk) if name.startswith("do_")]
        near = get_close_matches(word, names, 1)
        meant = f"did you mean {near[0]}?" if near else "expected one of " + ", ".join(names)
        raise PracticeError(f"{word!r}: {meant}")

    def do_gauge(self, arg: str) -> None:
        words = arg.split()
        quarter, sides = "quarter" in words, [word for word in words if word != "quarter"]
        if len(sides) > 1 or words.count("quarter") > 1 or (sides and sides[0] not in SIDES):
            raise PracticeError(f"gauge {arg}: expected gauge, gauge left or gauge right quarter")
        self.write(gauge_line(self.session.gauge(sides[0] if sides else "right", quarter)))

    def do_dial(self, arg: str) -> None:
        words = arg.split()
        which = words[0] if words else "true"
        if len(words) > 1 or which not in ("true", "round"):
            raise PracticeError(f"dial {arg}: expected dial true (from the side) or dial round (below)")
        limits = self.session.limits
        limit = limits.lateral_runout if which == "true" else limits.radial_runout
        self._tell(dial_lines(self.session.dial(which), which, limit))

    def do_tension(self, arg: str) -> None:
        words = arg.split()
        if len(words) > 1:
            raise PracticeError(f"tension {arg}: expected tension, or tension right, 7 or 3-8")
        spokes = None
        if words and words[0] != "all":
            spokes = self._spokes(words[0])
        self._tell(tension_lines(self.session.tension(spokes), self.session.wheel, self.session.limits))

    def do_predict(self, arg: str) -> None:
        given, spoke = arg.split(), None
        if len(given) > 1 and given[0].isdecimal():
            spoke = self._spokes(given.pop(0))[0]
        way, *rest = given or [""]
        usage = (f"predict {arg}: expected one of {', '.join(WAYS)}, and how many mm or N if you like: "
                 "predict right 0.5, predict tighter 80, predict 7 out")
        if way not in WAYS or len(rest) > 2:
            raise PracticeError(usage)
        unit = "n" if way in ("tighter", "looser") else "mm"
        if rest[1:] not in ([], [unit]):
            raise PracticeError(f"predict {arg}: expected {unit.replace('n', 'N')} with {way}")
        amount = None
        if rest:
            if NUMBER.fullmatch(rest[0]) is None:
                raise PracticeError(usage)
            amount = float(rest[0]) * (1 if unit == "n" else MM)
        before = self.session.guess
        self.session.predict(way, amount, spoke)
        if before is not None:
            self.write(f"It takes the place of your prediction {before.way}: one for each turn.")
        guess = self.session.guess
        assert guess is not None  # just made
        unread = not guess.kinds & self.session.read_since_turn
        self.write(f"Noted. It shows in {guess.tool}" +
                   (": read that before you turn, too, or there is nothing to compare with." if unread else "."))

    def do_turn(self, arg: str) -> None:
        right = left = 0.0
        spokes: dict[int, float] = {}
        for which, turns in _pairs(arg.split()):
            if which in ("right", "all"):
                right += turns
            if which in ("left", "all"):
                left += turns
            if which not in (*SIDES, "all"):
                for spoke in self._spokes(which):
                    spokes[spoke] = spokes.get(spoke, 0.0) + turns
        slack = view(self.session.state).slack
        self._tell(turned_lines(self.session.turn(right, left, spokes), slack))

    def do_hint(self, arg: str) -> None:
        self._alone("hint", arg)
        self.write(self.session.hint().words)

    def do_apply(self, arg: str) -> None:
        self._alone("apply", arg)
        slack = view(self.session.state).slack
        done = self.session.apply_hint()
        self.write(f"As the hint said: {self.session.moves[-1]}")
        self._tell(turned_lines(done, slack))

    def do_wheel(self, arg: str) -> None:
        self._alone("wheel", arg)
        self._tell(wheel_lines(self.session.case))

    def do_log(self, arg: str) -> None:
        self._alone("log", arg)
        self._tell(log_lines(self.session))

    def do_terms(self, arg: str) -> None:
        self._alone("terms", arg)
        self._tell(TERMS)

    def do_help(self, arg: str) -> None:
        self._tell(HELP)

    def do_done(self, arg: str) -> None:
        self._alone("done", arg)
        self._end(False)

    def do_reject(self, arg: str) -> None:
        self._alone("reject", arg)
        self._end(True)

    def do_quit(self, arg: str) -> None:
        raise Quit

    def _end(self, reject: bool) -> None:
        self.write("Working out the best plan and what the rule of thumb would have done: some seconds.")
        self._tell(ending_lines(self.session.finish(reject)))

    def _tell(self, lines: Iterable[str]) -> None:
        for line in lines:
            self.write(line)

    def _alone(self, name: str, arg: str) -> None:
        if arg:
            raise PracticeError(f"{name} {arg}: expected {name} alone")

    def _spokes(self, text: str) -> list[int]:
        """Spoke numbers of ``right``, ``7``, ``3-8`` or ``7,9``."""
        try:
            return self.session.wheel.named(text)
        except ValueError as error:
            raise PracticeError(f"{text!r}: expected right, left, or{str(error).rpartition('; expected')[2]}") from None


def _pairs(words: Words) -> list[tuple[str, float]]:
    """(which, turns) pairs of ``turn right 1/4``, ``turn 7 1 1/4 9 -1/4`` or, as for ``--spoke``, ``turn 7,9=1/4``."""
    typed = " ".join(words)
    words = typed.replace("=", " ").split()
    out: list[tuple[str, float]] = []
    k = 0
    usage = "expected turn right 1/4, turn left -1/8 or turn 7 1/4 9 -1/4"
    while k < len(words):
        if k + 1 == len(words):
            raise PracticeError(f"turn {typed}: {usage}")
        amount, size = words[k + 1], 1
        if k + 2 < len(words) and amount.lstrip("+-").isdigit() and PART.fullmatch(words[k + 2]):
            amount, size = f"{amount} {words[k + 2]}", 2
        try:
            out.append((words[k], parse_turns(amount)))
        except ValueError as error:
            raise PracticeError(f"turn {typed}: {error}") from None
        k += 1 + size
    if not out or not np.isfinite([turns for _, turns in out]).all():
        raise PracticeError(f"turn: {usage}")
    return out
