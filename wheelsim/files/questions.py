"""What is asked of a new wheel, at the terminal and on the page: the key in the job file, and the question."""

import math
import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from typing import Any

from wheelsim.units import KGF

BLANK = "blank.toml"  # among the samples


@dataclass(frozen=True)
class Question:
    """One question.

    Attributes
    ----------
    key : str
        Dotted, below ``[wheel]`` of a job.
    asks : str
        With the unit; beginning with blanks where it goes on with the part named before.
    words : tuple of str
        The answers that can be given; none for a number or free text.
    counted : bool
        A whole number.
    force : bool
        In newtons, or with kgf behind it.
    usual : (float, float) or None
        What lies outside is asked about once more: common practice, no source.
    """

    key: str
    asks: str
    words: tuple[str, ...] = ()
    counted: bool = False
    force: bool = False
    usual: tuple[float, float] | None = None

    @property
    def alone(self) -> str:
        """The question where those before it don't show: with the part it asks of."""
        part = self.key.split(".")[0].capitalize()
        return f"{part}: {self.asks.strip()}" if self.asks.startswith(" ") else self.asks

    @property
    def free(self) -> bool:
        """Whether the answer is text."""
        return self.key == "name"

    def parse(self, text: str) -> Any:
        """The answer meant; raises ValueError."""
        if self.free:
            return text
        if self.words:
            return one_of_words(*self.words)(text)
        return whole(text) if self.counted else newtons(text) if self.force else number(text)

    def unusual(self, value: Any) -> bool:
        """Whether an answer is hardly meant."""
        return self.usual is not None and not self.usual[0] <= value <= self.usual[1]


WHEEL = (
    Question("name", "Customer or ticket"),
    Question("hub.contact_width_mm", "Hub: width between the faces that touch frame or fork [mm]", usual=(70, 200)),
    Question("hub.left.flange_mm", "  left flange to the hub's middle [mm]", usual=(10, 60)),
    Question("hub.left.hole_circle_mm", "  left hole circle, hole to hole straight across [mm]", usual=(25, 130)),
    Question("hub.right.flange_mm", "  right flange to the hub's middle [mm]", usual=(10, 60)),
    Question("hub.right.hole_circle_mm", "  right hole circle [mm]", usual=(25, 130)),
    Question("rim.holes", "Rim: number of spokes", counted=True, usual=(16, 48)),
    Question("rim.nipple_seat_diameter_mm", "  diameter where the nipple heads sit [mm]", usual=(250, 640)),
    Question("rim.kind", "  kind: box alloy, shallow alloy or deep alloy",
             ("box alloy", "shallow alloy", "deep alloy")),
    Question("spokes.first", "Spokes: flange of the first one clockwise from the valve, right or left",
             ("right", "left")),
    Question("spokes.left.cross", "  left: how many of its own flange's spokes each crosses", counted=True),
    Question("spokes.right.cross", "  right: how many of its own flange's spokes each crosses", counted=True),
    Question("spokes.diameter_mm", "  diameter [mm]", usual=(1.4, 2.7)),
    Question("tension.right_N", "Usual tension of the right side [N]", force=True, usual=(400, 1600)),
    Question("limits.max_tension_N", "Highest tension: the lower of the rim maker's and the spoke maker's [N]",
             force=True, usual=(600, 2500)),
)


def number(text: str) -> float:
    """A number, its decimals after a point or a comma; raises ValueError."""
    try:
        value = float(text.replace(",", ".") if text.count(",") == 1 and "." not in text else text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueError(f"{text!r}; expected a number, such as 130 or 1.5")
    return value


def newtons(text: str) -> float:
    """A force, in newtons or with kgf behind it; raises ValueError."""
    found = re.fullmatch(r"(.*?)\s*(kgf|kg|N)?\s*", text, re.IGNORECASE | re.DOTALL)
    assert found is not None  # it matches any text
    value = number(found[1])
    return round(value * KGF, 1) if (found[2] or "").lower().startswith("kg") else value


def whole(text: str) -> int:
    """A whole number; raises ValueError."""
    if not re.fullmatch(r"\s*\d{1,9}\s*", text, re.ASCII):
        raise ValueError(f"{text!r}; expected a whole number, such as 3")
    return int(text)


def blank_value(key: str) -> object:
    """What the blank job has for the key of a question: an invented value."""
    document = tomllib.loads(resources.files("wheelsim.samples").joinpath(BLANK).read_text(encoding="utf-8"))
    table: Any = document["wheel"]
    for name in key.split("."):
        table = table[name]
    return table


def one_of_words(*words: str) -> Callable[[str], str]:
    """A parser of one of these words, or of a beginning that only one of them has; it raises ValueError."""

    def parse(text: str) -> str:
        near = [word for word in words if word.startswith(text.lower())]
        if len(near) != 1:
            raise ValueError(f"{text!r}; expected {', '.join(words[:-1])} or {words[-1]}")
        return near[0]

    return parse
