"""Asks at the terminal, one question at a time, in the shop's units; Enter leaves a thing out."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

import typer

from wheelsim.cli.in_and_out import say
from wheelsim.cli.log_words import PLACES, dial_from, gauge_from, spokes_there, tension_from, turned_from
from wheelsim.cli.typed import BadWords
from wheelsim.files.questions import one_of_words

if TYPE_CHECKING:
    from wheelsim.files.log import ToLog, Written
    from wheelsim.files.questions import Question
    from wheelsim.job.job import Job

T = TypeVar("T")
BACK = "back"


def ask_visit(job: "Job") -> "ToLog":
    """What was turned and read since the last visit."""
    from wheelsim.files.log import ToLog, turns_by_name
    from wheelsim.units import turns_text

    done: list[int] = []
    turned: dict[str, float] = {}
    instead = None
    for one in job.passes:
        if one.turns is None and isinstance(one.planned, tuple) and not turned:
            named = turns_by_name(job.wheel, dict(one.planned))
            what = ", ".join(f"{name} {turns_text(value, signed=True)}" for name, value in named.items())
            answer = _ask_turned(job, f"Pass {one.number} as planned ({what})? y, n, or what was turned", _done, "n")
            if answer is True:
                done.append(one.number)
                continue
            if isinstance(answer, dict):
                turned, instead = answer, one.number
            break
    if not done and not turned:
        answer = _ask_turned(job, "Turned, like right=1/4, 7-9=-1/8", lambda text: turned_from([text]), "nothing")
        turned = answer if isinstance(answer, dict) else {}
    return ToLog(tuple(done), turned, ask_reading(job.wheel.n), instead)


def ask_again(written: "Written", far: Sequence[str]) -> "Written":
    """Whether a reading that was far from what was expected stands; if not, it is taken back and asked for again."""
    from wheelsim.cli.log_told import far_off
    from wheelsim.files.log import ToLog, add_visit, take_back

    while far:
        say("\n".join(far))
        if ask("Is it as the tools show? y, or n to type it again", one_of_words("y", "n"), "y") != "n":
            break
        job = take_back(written.file).job
        reading = ask_reading(job.wheel.n)
        passes = written.passes
        written = replace(add_visit(written.file, ToLog(reading=reading)) if reading else
                          replace(written, job=job, reading=None), passes=passes)
        far = [one["said"] for one in far_off(written)]
    return written


def _ask_turned(job: "Job", question: str, parse: "Callable[[str], bool | dict[str, float]]",
                enter: str) -> "bool | dict[str, float] | None":
    """What was turned; asked again where that is more than a hand gives in one pass and wasn't meant."""
    from wheelsim.estimation.large_turns import more_than_a_hand
    from wheelsim.report.words.estimation import large_turn_words

    while True:
        answer = ask(question, parse, enter)
        if not isinstance(answer, dict):
            return answer
        turns: dict[int, float] = {}
        for name, value in answer.items():
            turns.update({spoke: turns.get(spoke, 0.0) + value for spoke in job.wheel.named(name)})
        large = more_than_a_hand(job.wheel, turns)
        if large is None or ask(f"{large_turn_words(large)} y if so, or n to type it again",
                                one_of_words("y", "n"), "n") == "y":
            return answer


def ask_job(path: str) -> None:
    """Ask for a new wheel and its first reading and write the job; what makes none is asked again.

    Raises
    ------
    FileError
        Where it is no answer that stands in the way.
    """
    from wheelsim.files.blank import check_free, write_blank
    from wheelsim.files.errors import FileError
    from wheelsim.files.questions import WHEEL

    check_free(path)
    answers: dict[str, Any] = ask_wheel()
    answers["reading"] = ask_reading(_spokes(answers))
    while True:
        try:
            write_blank(path, answers)
        except FileError as error:
            keys = {fault.key for fault in error.faults if fault.level == "error"}
            again = [one for one in WHEEL if f"wheel.{one.key}" in keys]
            read = any(key.startswith("reading") for key in keys)
            if not again and not read:
                raise
            say(str(error))
            answers |= ask_wheel(again)
            if read:
                answers["reading"] = ask_reading(_spokes(answers))
        else:
            kept = [one.alone for one in WHEEL if one.key not in answers and not one.free]
            if kept:
                say("Not answered, so invented ones of the blank job stand there: " + "; ".join(kept) + ".")
            return


def _spokes(answers: dict[str, Any]) -> int:
    from wheelsim.files.questions import blank_value

    return int(answers.get("rim.holes", blank_value("rim.holes")))


def ask_wheel(questions: "Sequence[Question] | None" = None) -> dict[str, Any]:
    """A new wheel, by dotted key of its tables; what is left out stays as the blank job has it."""
    from wheelsim.files.questions import WHEEL, blank_value

    out: dict[str, Any] = {}
    asked, at = WHEEL if questions is None else questions, 0
    say(f"{BACK} goes to the question before.")
    while at < len(asked):
        one = asked[at]
        enter = "none" if one.free else f"{out.get(one.key, f'{blank_value(one.key)}, invented')}"
        answer = ask(one.asks, partial(_or_back, one), enter)
        if answer == BACK:
            at = max(at - 1, 0)
            continue
        if answer is not None and one.unusual(answer) and not _meant(one, answer):
            continue
        if answer is not None:
            out[one.key] = answer
        at += 1
    return out


def _or_back(one: "Question", text: str) -> Any:
    return BACK if text.strip().lower() == BACK else one.parse(text)


def _meant(one: "Question", answer: float) -> bool:
    """Whether an unusual answer is meant; asked."""
    low, high = one.usual or (answer, answer)
    unit = " N (kgf behind it for kilograms)" if one.force else ""
    return ask(f"  {answer:g} is unusual here, {low:g} to {high:g}{unit} is usual. y if so, or n to type it again",
               one_of_words("y", "n"), "n") == "y"


def ask_reading(n: int) -> dict[str, Any]:
    """What the tools show on a wheel of n spokes, as keys and values of a reading."""
    def within(found: dict[str, Any]) -> dict[str, Any]:
        spokes_there(found, {}, n)
        return found

    reading: dict[str, Any] = {}
    side = ask("Dish gauge: set on which face, right or left", one_of_words("right", "left"))
    if side:
        gap = ask("  gap on the other face [mm]; feelers: 1.2-1.6, what passes and what stops; or 3 threads",
                  lambda text: gauge_from(f"{side} {text} hub"))
        if gap is not None:
            at = ask("  where the gap is: hub, feet or one foot", one_of_words(*PLACES), "hub") or "hub"
            reading["gauge"] = {**gap, "gap_at": at}
    for name, word, plus in (("lateral", "True", "to the right"), ("radial", "Round", "outward")):
        found = ask(f"{word} [mm, plus {plus}], like high 7=0.6, low 21=-0.4, or spoke=mm for each read, or a "
                    "plain row of all from spoke 1",
                    lambda text, name=name, word=word: within(dial_from(word, name, text)))  # type: ignore[misc]
        reading.update(found or {})
    tensions = ask("Tension [N], like 1=980,9=1010; kgf behind it for kilograms",
                   lambda text: within(tension_from("Tension", text)))
    reading.update(tensions or {})
    return reading


def ask(question: str, parse: Callable[[str], T], enter: str = "not read") -> T | None:
    """Ask until the answer can be meant; None for Enter, which is said to mean ``enter``."""
    while True:
        text = str(typer.prompt(f"{question} (Enter: {enter})", default="", show_default=False)).strip()
        if not text:
            return None
        try:
            return parse(text)
        except (BadWords, ValueError) as error:
            say(f"  {error}")


def _done(text: str) -> bool | dict[str, float]:
    if text.lower() in ("y", "yes", "n", "no"):
        return text.lower() in ("y", "yes")
    return turned_from([text])
