"""Asks at the terminal, one question at a time, in the shop's units; Enter leaves a thing out."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import typer

from wheelsim.cli.in_and_out import say
from wheelsim.cli.log_words import PLACES, by_spoke, dial_from, turned_from
from wheelsim.cli.typed import BadWords

if TYPE_CHECKING:
    from wheelsim.files.log import Visit
    from wheelsim.job.job import Job

T = TypeVar("T")


def ask_visit(job: "Job") -> "Visit":
    """What was turned and read since the last visit."""
    from wheelsim.files.log import Visit, turns_by_name
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
    return Visit(tuple(done), turned, ask_reading())


# What is asked of a new wheel: key, question; a number with a decimal point, unless it is counted or a word.
WHEEL = (
    ("name", "Customer or ticket"),
    ("hub.contact_width_mm", "Hub: width between the faces that touch frame or fork [mm]"),
    ("hub.left.flange_mm", "  left flange to the hub's middle [mm]"),
    ("hub.left.hole_circle_mm", "  left hole circle, hole to hole straight across [mm]"),
    ("hub.right.flange_mm", "  right flange to the hub's middle [mm]"),
    ("hub.right.hole_circle_mm", "  right hole circle [mm]"),
    ("rim.holes", "Rim: number of spokes"),
    ("rim.nipple_seat_diameter_mm", "  diameter where the nipple heads sit [mm]"),
    ("rim.kind", "  kind: box alloy, shallow alloy or deep alloy"),
    ("spokes.first", "Spokes: flange of the first one clockwise from the valve, right or left"),
    ("spokes.left.cross", "  left: how many of its own flange's spokes each crosses"),
    ("spokes.right.cross", "  right: how many"),
    ("spokes.diameter_mm", "  diameter [mm]"),
    ("tension.right_N", "Usual tension of the right side [N]"),
    ("limits.max_tension_N", "Highest tension: the lower of the rim maker's and the spoke maker's [N]"),
)
COUNTED = ("rim.holes", "spokes.left.cross", "spokes.right.cross")


def ask_wheel() -> dict[str, Any]:
    """A new wheel, by dotted key of its tables; what is left out stays as the blank job has it."""
    out: dict[str, Any] = {}
    for key, question in WHEEL:
        answer = ask(question, _parser(key))
        if answer is not None:
            out[key] = answer
    return out


def _parser(key: str) -> Callable[[str], Any]:
    if key == "name":
        return str
    if key == "rim.kind":
        return _word("box alloy", "shallow alloy", "deep alloy")
    if key == "spokes.first":
        return _word("right", "left")
    return int if key in COUNTED else float


def ask_reading() -> dict[str, Any]:
    """What the tools show, as keys and values of a reading."""
    reading: dict[str, Any] = {}
    side = ask("Dish gauge: set on which face, right or left", _word("right", "left"))
    if side:
        gap = ask("  gap on the other face [mm]", float)
        if gap is not None:
            at = ask("  where the gap is: hub, feet or one foot", _word(*PLACES)) or "hub"
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


def _word(*words: str) -> Callable[[str], str]:
    def parse(text: str) -> str:
        near = [word for word in words if word.startswith(text.lower())]
        if len(near) != 1:
            raise ValueError(f"{text!r}; expected {', '.join(words[:-1])} or {words[-1]}")
        return near[0]

    return parse


def _done(text: str) -> bool | dict[str, float]:
    if text.lower() in ("y", "yes", "n", "no"):
        return text.lower() in ("y", "yes")
    return turned_from([text])
