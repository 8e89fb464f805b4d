"""Practice in a terminal, a pipe or a script: reading and writing are given from outside."""

import io
import random
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import TypeAlias

from wheelsim.practice.commands import Desk, Quit
from wheelsim.practice.faults import LEVELS, Level, level_of, seed_of
from wheelsim.practice.made import PracticeError
from wheelsim.practice.score import add_line, check_place
from wheelsim.practice.session import Session
from wheelsim.practice.which_way import INTRODUCTION, RULE, Exercise, WhichWay
from wheelsim.practice.words import CAUTIONS, TERMS, gauge_line, wheel_lines
from wheelsim.wheel.parts import Side

Read: TypeAlias = Callable[[str], str]
Write: TypeAlias = Callable[[str], None]

PROMPT = "> "
LEAVING = (Quit, EOFError, KeyboardInterrupt)
SIDE_WORDS: dict[str, Side] = {"right": "right", "r": "right", "left": "left", "l": "left"}
ACTION_WORDS = {"tighten": "tighten", "tight": "tighten", "t": "tighten", "loosen": "loosen", "loose": "loosen",
                "lo": "loosen"}


def run(level: Level | int | str, seed: int | None = None, read: Read | None = None, write: Write | None = None,
        moves: str | Sequence[str] | None = None, score: str | None = None, *, go_on: bool = False,
        name: str | None = None) -> int:
    """Play one level.

    Parameters
    ----------
    level : Level, int or str
    seed : int, optional
        Without one, one is drawn and told.
    read : callable, optional
        Takes a prompt, returns one line without its end, raises EOFError when there are no more; the
        terminal or pipe by default.
    write : callable, optional
        Takes one line of text; to stdout by default, folded where that is a terminal.
    moves : str or list of str, optional
        A file of commands, or the commands themselves, played instead of reading any.
    score : str, optional
        A file of JSON lines to which the result is added.
    go_on : bool
        In moves or a pipe, tell of a command that can't be meant and go on with the next line.
    name : str, optional
        Whose result it is, kept with the score.

    Returns
    -------
    int
        0 if the level was passed, else 1.

    Raises
    ------
    PracticeError
        For a level, seed, file or, in moves or a pipe, a command that can't be meant, in one line.
    """
    write = write or plain_write
    level = level_of(level) if isinstance(level, str | int) else level
    seed = random.randrange(10_000) if seed is None else seed_of(seed)
    if score is not None:
        check_place(score)
    piped = read is None and moves is None and not (sys.stdin is not None and sys.stdin.isatty())
    if piped and isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")  # bytes that are no text become a bad command
    lines = _Lines(read or plain_read, write, moves, "standard input" if piped else None, go_on)
    whose: dict[str, object] = {} if name is None else {"name": name}
    play = _which_way if level is LEVELS[0] else _wheel
    try:
        found = play(level, seed, lines, write)
    except PracticeError:
        if score is not None and lines.taken:  # a script that ends at a bad command is kept with what it did before
            _keep(score, whose | {"level": level.name, "outcome": "left", "success": False, "seed": seed}, lines)
        raise
    if found["outcome"] == "left":
        write("")
        write(f"Left before the end: level {level.name}, seed {seed} brings this one back.")
    if score is not None:
        _keep(score, whose | found | {"seed": seed}, lines)
        write(f"Score kept in {score}.")
    return 0 if found["success"] else 1


def _keep(score: str, found: Mapping[str, object], lines: "_Lines") -> None:
    add_line(score, {"when": datetime.now(UTC).isoformat(timespec="seconds"), **found,
                     **({"slips": lines.slips} if lines.slips else {}), "moves": lines.taken})


def plain_read(prompt: str) -> str:
    """One line from the terminal; from a pipe the line is shown behind its prompt, as if it had been typed."""
    if sys.stdin is not None and sys.stdin.isatty():
        return input(prompt)
    line = sys.stdin.readline() if sys.stdin is not None else ""
    if not line:
        raise EOFError
    print(f"{prompt}{line.rstrip()}")
    return line.rstrip("\r\n")


def plain_write(line: str) -> None:
    """One line to stdout; on a terminal folded between words, a pipe gets it whole."""
    width = shutil.get_terminal_size().columns
    if sys.stdout.isatty() and len(line) > width:
        lead = " " * (2 if line.startswith("- ") else len(line) - len(line.lstrip()))
        line = textwrap.fill(line, width, subsequent_indent=lead, break_on_hyphens=False)
    print(line, flush=True)


class _Lines:
    """Commands one by one, from moves or from the reader; ``taken`` are those that were understood."""

    def __init__(self, read: Read, write: Write, moves: str | Sequence[str] | None, source: str | None = None,
                 go_on: bool = False) -> None:
        self.go_on, self.slips = go_on, 0
        self.read, self.write = read, write
        self.taken: list[str] = []
        self.source, self.at = source or (moves if isinstance(moves, str) else "moves"), 0
        self.scripted = moves is not None or source is not None
        self.moves = _moves(moves)
        self.waiting: list[str] = []

    def next(self, prompt: str) -> str:
        """The next command, without comments.

        Raises
        ------
        EOFError
            When there are no more.
        """
        while not self.waiting:
            self.at += 1
            if self.moves is None:
                line = self.read(prompt)
            elif self.at <= len(self.moves):
                line = self.moves[self.at - 1]
            else:
                raise EOFError
            self.waiting = [part.strip() for part in line.split("#")[0].split(";") if part.strip()]
            if self.moves is not None and self.waiting:
                self.write(f"{prompt}{'; '.join(self.waiting)}")
        return self.waiting.pop(0)

    def bad(self, error: PracticeError) -> None:
        """Report a bad command; in moves and pipes it ends them, unless ``go_on``."""
        self.waiting = []  # the rest of its line is dropped too: it was meant to follow this command
        if self.scripted and not self.go_on:  # and so are all later lines
            raise PracticeError(f"{self.source}: line {self.at}: {error}") from None
        if self.scripted:
            self.slips += 1
            error = PracticeError(f"{self.source}: line {self.at}, left out: {error}")
        self.write(str(error))


def _moves(moves: str | Sequence[str] | None) -> list[str] | None:
    if moves is None or not isinstance(moves, str):
        return None if moves is None else list(moves)
    try:
        with open(moves, encoding="utf-8-sig") as file:
            return file.read().splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise PracticeError(f"{moves}: {getattr(error, 'strerror', None) or 'not text'}; expected a file of commands, "
                            "one a line") from None


def _wheel(level: Level, seed: int, lines: _Lines, write: Write) -> dict[str, object]:
    session = Session(level, seed)
    desk = Desk(session, write)
    for line in (*CAUTIONS, "", *wheel_lines(session.case), "",
                 "Find out what is wrong, say what each kind of turn will do before you make it, and bring the wheel "
                 "within its limits. Tools err as on a bench: the gauge by a tenth of a millimetre, the meter by some "
                 "per cent; and where the rim wobbles the gauge's feet stand on it, so gauge at two places. help lists "
                 "the commands; a good start is: gauge; gauge quarter; dial true; tension", ""):
        write(line)
    with _completed(desk):
        while session.ending is None:
            try:
                command = lines.next(PROMPT)
                desk.do(command)
                lines.taken.append(command)
            except LEAVING:
                return {"level": level.name, "outcome": "left", "success": False}
            except PracticeError as error:
                lines.bad(error)
    return session.ending.as_dict()


@contextmanager
def _completed(desk: Desk) -> Iterator[None]:
    """Tab completes the names of commands where they are typed, as ``Cmd.cmdloop`` has it."""
    if sys.stdin is None or not sys.stdin.isatty():
        yield
        return
    try:
        import readline
    except ImportError:  # not on every system
        yield
        return
    before = readline.get_completer()
    readline.set_completer(desk.complete)  # type: ignore[arg-type]  # declared as a list: it returns one name
    readline.parse_and_bind("tab: complete")
    try:
        yield
    finally:
        readline.set_completer(before)


def _which_way(level: Level, seed: int, lines: _Lines, write: Write) -> dict[str, object]:
    play = WhichWay(seed)
    first = f"Level {level.number}, {level.name}, seed {seed}. {level.complaint}"
    for line in (*CAUTIONS, "", first, "", *INTRODUCTION):
        write(line)
    asked: tuple[Exercise, int] | None = None
    try:
        while play.exercise is not None:
            one = play.exercise
            if (one, play.tried_again) != asked:
                asked = one, play.tried_again
                _ask(play, one, write)
            _step(play, one, lines, write)
            if play.exercise is None:
                _once_more(play, lines)
    except LEAVING:
        if not play.answered:
            return play.as_dict()
    right = sum(play.results[3:])
    write("")
    write(f"{sum(play.results)} of {len(play.results)} right, {right} of 3 without help. "
          + ("You know which way. Next: level near-side, where one of the two ways is barred." if play.success
             else "Once more with another seed: where does the rim lie, and who pulls it where it should go?"))
    return play.as_dict()


def _once_more(play: WhichWay, lines: _Lines) -> None:
    """After the last exercise: offer it once more, since no further question follows at which to type ``again``."""
    if play.right_last:
        return
    command = lines.next("That was the last. again tries it once more, anything else ends: ")
    if command.lower() == "again":
        play.again()
        lines.taken.append(command)


def _ask(play: WhichWay, one: Exercise, write: Write) -> None:
    write("")
    again = ", once more" if play.again_at is not None else ""
    write(f"Exercise {one.number} of {len(play.exercises)}{again}"
          + ("." if one.guided else ", without the rule beside it."))
    write(gauge_line(one.gauge))
    if one.guided:
        write(RULE)
    if one.tension is not None:
        write(one.tension)


def _step(play: WhichWay, one: Exercise, lines: _Lines, write: Write) -> None:
    """Ask one question and judge the answer; after a bad one the question is asked again."""
    which = play.way is None
    prompt = "Which way must the rim go? (right or left) " if which else (
        "Which spokes, and tighten or loosen? (such as: left loosen) ")
    command = lines.next(prompt)
    words = command.lower().split()
    if words[0] in ("quit", "q"):
        raise Quit
    if words[0] in ("help", "?"):
        for line in (*INTRODUCTION, *([RULE] if one.guided else []), "Also: again (the last exercise once more; its "
                     "first answers count), terms (what the words mean), quit."):
            write(line)
        return
    if words == ["terms"]:
        for line in TERMS:
            write(line)
        return
    sides = {SIDE_WORDS[word] for word in words if word in SIDE_WORDS}
    actions = {ACTION_WORDS[word] for word in words if word in ACTION_WORDS}
    strange = [word for word in words if word not in SIDE_WORDS and word not in ACTION_WORDS]
    try:
        if words == ["again"]:
            play.again()
            lines.taken.append(command)
            return
        if strange or len(sides) != 1 or len(actions) != (0 if which else 1):
            raise PracticeError(f"{command!r}: expected " + ("right or left" if which else
                                "a side and what to do there, like left loosen") + ", or again, terms, help or quit")
        told = play.answer_way(sides.pop()) if which else play.answer_side(sides.pop(), actions.pop())
    except PracticeError as error:
        lines.bad(error)
        return
    lines.taken.append(command)
    write(told.words)
    if not which and not play.right_last and not play.answered:
        write("again asks this one once more; or go on.")


