"""What was typed on the command line, checked and turned into values."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wheelsim.wheel.parts import Wheel


class BadWords(ValueError):
    """What was typed can't be meant; the message says where, what and what was expected."""


def typed_turns(option: str, text: str) -> float:
    from wheelsim.units import parse_turns

    try:
        return parse_turns(text)
    except ValueError as error:
        raise BadWords(f"{option}: {error}") from None


def spoke_turns(words: Sequence[str], wheel: "Wheel") -> dict[int, float]:
    """Turns by spoke number from ``7=1/2`` and ``1-8=1/4``; they add up."""
    turns: dict[int, float] = {}
    for word in words:
        numbers, equals, amount = word.partition("=")
        first, dash, last = numbers.strip().partition("-")
        ends = [first, last if dash else first]
        if not equals or not all(end.strip().isascii() and end.strip().isdigit() and len(end) < 6 for end in ends):
            raise BadWords(f"--spoke: {word!r}; expected a spoke and turns, like 7=1/2 or 1-8=1/4")
        start, stop = (int(end) for end in ends)
        if not 1 <= start <= stop <= wheel.n:
            raise BadWords(f"--spoke: {word!r}; expected spokes from 1 to {wheel.n}, the lower first")
        each = typed_turns("--spoke", amount)
        for spoke in range(start, stop + 1):
            if spoke in wheel.spokes.missing:
                if start == stop:
                    raise BadWords(f"--spoke: {word!r}; spoke {spoke} is missing; expected one that is there")
                continue
            turns[spoke] = turns.get(spoke, 0.0) + each
    return turns


def one_of(option: str, value: str | None, words: Sequence[str]) -> None:
    if value is not None and value not in words:
        raise BadWords(f"{option}: {value!r}; expected {', '.join(words[:-1])} or {words[-1]}")
