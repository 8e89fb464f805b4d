"""Asks at the terminal, one question at a time, in the shop's units; Enter leaves a thing out."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import typer

from wheelsim.cli.in_and_out import say
from wheelsim.cli.log_words import PLACES, by_spoke, dial_from, turned_from
from wheelsim.cli.typed import BadWords
from wheelsim.files.questions import one_of_words

if TYPE_CHECKING:
    from wheelsim.files.log import ToLog
    from wheelsim.job.job import Job

T = TypeVar("T")


def ask_visit(job: "Job") -> "ToLog":
    """What was turned and read since the last visit."""
    from wheelsim.files.log import ToLog, turns_by_name
    from wheelsim.units import turns_text

    done: list[int] = []
    turned: dict[str, float] = {}
    for one in job.passes:
        if one.turns is None and isinstance(one.planned, tuple) and not turned:
            named = turns_by_name(job.wheel, dict(one.planned))
            what = ", ".join(f"{name} {turns_text(value, signed=True)}" for name, value in named.items())
            answer = ask(f"Pass {one.number} as planned ({what})? y, n, or what was turned", _done)
            if answer is True:
                done.append(one.number)
                continue
            turned = answer or {}
            break
    if not done and not turned:
        turned = ask("Turned, like right=1/4, 7-9=-1/8", lambda text: turned_from([text])) or {}
    return ToLog(tuple(done), turned, ask_reading())


def ask_wheel() -> dict[str, Any]:
    """A new wheel, by dotted key of its tables; what is left out stays as the blank job has it."""
    from wheelsim.files.questions import WHEEL

    out: dict[str, Any] = {}
    for one in WHEEL:
        key, answer = one.key, ask(one.asks, one.parse)
        if answer is not None:
            out[key] = answer
    return out


def ask_reading() -> dict[str, Any]:
    """What the tools show, as keys and values of a reading."""
    reading: dict[str, Any] = {}
    side = ask("Dish gauge: set on which face, right or left", one_of_words("right", "left"))
    if side:
        gap = ask("  gap on the other face [mm]", float)
        if gap is not None:
            at = ask("  where the gap is: hub, feet or one foot", one_of_words(*PLACES)) or "hub"
            reading["gauge"] = {"set_on": side, "gap_mm": gap, "gap_at": at}
    for name, word, plus in (("lateral", "True", "to the right"), ("radial", "Round", "outward")):
        found = ask(f"{word} [mm, plus {plus}], like high 7=0.6, low 21=-0.4, or spoke=mm for each read",
                    lambda text, name=name, word=word: dial_from(word, name, text))  # type: ignore[misc]
        reading.update(found or {})
    kgf = False
    tensions = ask("Tension [N], like 1=980,9=1010; kgf behind it for kilograms", lambda text: by_spoke(
        "Tension", text.removesuffix("kgf").strip()) | ({"kgf": 1.0} if text.endswith("kgf") else {}))
    if tensions:
        kgf = bool(tensions.pop("kgf", 0.0))
        reading["tension_kgf" if kgf else "tension_N"] = tensions
    return reading


def ask(question: str, parse: Callable[[str], T]) -> T | None:
    """Ask until the answer can be meant; None for Enter."""
    while True:
        text = str(typer.prompt(f"{question} (Enter: not)", default="", show_default=False)).strip()
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
