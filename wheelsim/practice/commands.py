"""Typed commands to a session, and what it answers in words."""

import re
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
from wheelsim.units import MM, parse_turns, spoke_runs
from wheelsim.wheel.parts import SIDES

Words: TypeAlias = Sequence[str]
NUMBER = re.compile(r"-?([0-9]{1,9}(\.[0-9]{0,9})?|\.[0-9]{1,9})", re.ASCII)
PART = re.compile(r"[0-9]{1,9}/[0-9]{1,9}", re.ASCII)


class Quit(Exception):
    """The learner stops."""


class Desk:
    """One session, spoken to in lines of text.

    Parameters
    ----------
    session : Session
    write : callable
        Takes one line of text.
    """

    def __init__(self, session: Session, write: Callable[[str], None]) -> None:
        self.session, self.write = session, write
        self.words = {"gauge": self.gauge, "dial": self.dial, "tension": self.tension, "predict": self.predict,
                      "turn": self.turn, "hint": self.hint, "apply": self.apply, "wheel": self.wheel, "log": self.log,
                      "terms": self.terms, "help": self.help, "done": self.done, "reject": self.reject,
                      "quit": self.quit}

    def do(self, command: str) -> None:
        """Carry out one command.

        Raises
        ------
        PracticeError
            For words that can't be meant, in one line; nothing has changed.
        Quit
        """
        words = command.lower().split()
        if not words:
            return
        found = self.words.get("help" if words[0] in ("?", "h") else words[0])
        if found is None:
            near = get_close_matches(words[0], self.words, 1)
            meant = f"did you mean {near[0]}?" if near else "expected one of " + ", ".join(self.words)
            raise PracticeError(f"{words[0]!r}: {meant}")
        before = len(self.session.answers)
        found(words[1:])
        for answer in self.session.answers[before:]:
            if self.session.ending is None:
                self.write(answer.words)

    def gauge(self, words: Words) -> None:
        quarter, sides = "quarter" in words, [word for word in words if word != "quarter"]
        if len(sides) > 1 or words.count("quarter") > 1 or (sides and sides[0] not in SIDES):
            raise PracticeError(f"gauge {' '.join(words)}: expected gauge, gauge left or gauge right quarter")
        self.write(gauge_line(self.session.gauge(sides[0] if sides else "right", quarter)))

    def dial(self, words: Words) -> None:
        which = words[0] if words else "true"
        if len(words) > 1 or which not in ("true", "round"):
            raise PracticeError(f"dial {' '.join(words)}: expected dial true (from the side) or dial round (below)")
        limits = self.session.limits
        limit = limits.lateral_runout if which == "true" else limits.radial_runout
        self._tell(dial_lines(self.session.dial(which), which, limit))

    def tension(self, words: Words) -> None:
        if len(words) > 1:
            raise PracticeError(f"tension {' '.join(words)}: expected tension, or tension right, 7 or 3-8")
        spokes = None
        if words and words[0] != "all":
            spokes = self._spokes(words[0])
        self._tell(tension_lines(self.session.tension(spokes), self.session.wheel, self.session.limits))

    def predict(self, words: Words) -> None:
        given, spoke = list(words), None
        if len(given) > 1 and given[0].isdecimal():
            spoke = self._spokes(given.pop(0))[0]
        way, *rest = given or [""]
        usage = (f"predict {' '.join(words)}: expected one of {', '.join(WAYS)}, and how many mm or N if you like: "
                 "predict right 0.5, predict tighter 80, predict 7 out")
        if way not in WAYS or len(rest) > 2:
            raise PracticeError(usage)
        unit = "n" if way in ("tighter", "looser") else "mm"
        if rest[1:] not in ([], [unit]):
            raise PracticeError(f"predict {' '.join(words)}: expected {unit.replace('n', 'N')} with {way}")
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

    def turn(self, words: Words) -> None:
        right = left = 0.0
        spokes: dict[int, float] = {}
        for which, turns in _pairs(words):
            if which in ("right", "all"):
                right += turns
            if which in ("left", "all"):
                left += turns
            if which not in (*SIDES, "all"):
                for spoke in self._spokes(which):
                    spokes[spoke] = spokes.get(spoke, 0.0) + turns
        slack = view(self.session.state).slack
        self._tell(turned_lines(self.session.turn(right, left, spokes), slack))

    def hint(self, words: Words) -> None:
        self._alone("hint", words)
        self.write(self.session.hint().words)

    def apply(self, words: Words) -> None:
        self._alone("apply", words)
        slack = view(self.session.state).slack
        done = self.session.apply_hint()
        self.write(f"As the hint said: {self.session.moves[-1]}")
        self._tell(turned_lines(done, slack))

    def terms(self, words: Words) -> None:
        self._alone("terms", words)
        self._tell(TERMS)

    def wheel(self, words: Words) -> None:
        self._alone("wheel", words)
        self._tell(wheel_lines(self.session.case))

    def log(self, words: Words) -> None:
        self._alone("log", words)
        self._tell(log_lines(self.session))

    def help(self, words: Words) -> None:
        self._tell(HELP)

    def done(self, words: Words) -> None:
        self._alone("done", words)
        self._end(False)

    def reject(self, words: Words) -> None:
        self._alone("reject", words)
        self._end(True)

    def quit(self, words: Words) -> None:
        raise Quit

    def _end(self, reject: bool) -> None:
        self.write("Working out the best plan and what the rule of thumb would have done: some seconds.")
        self._tell(ending_lines(self.session.finish(reject)))

    def _tell(self, lines: Iterable[str]) -> None:
        for line in lines:
            self.write(line)

    def _alone(self, name: str, words: Words) -> None:
        if words:
            raise PracticeError(f"{name} {' '.join(words)}: expected {name} alone")

    def _spokes(self, text: str) -> list[int]:
        """Spoke numbers of ``right``, ``7``, ``3-8`` or ``7,9``."""
        wheel = self.session.wheel
        for side in SIDES:
            if text == side:
                return [i + 1 for i in wheel.on_side(side)]
        try:
            return [spoke for run in spoke_runs(text, wheel.n) for spoke in run]
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
