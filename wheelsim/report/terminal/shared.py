"""Shared by all commands: the console, tables, and lines that several of them print."""

from collections.abc import Collection, Iterator, Sequence
from typing import TextIO

import numpy as np
from rich.console import Console
from rich.table import Table

from wheelsim.arrays import Turns
from wheelsim.estimation.assumed import Assumed
from wheelsim.estimation.doubts import Doubt
from wheelsim.estimation.outlook import Outlook
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.report.words.estimation import assumed_words, chance_words, check_words, suspect_lines
from wheelsim.report.words.shared import spokes_words
from wheelsim.units import MM, turns_text
from wheelsim.wheel.parts import SIDES, Wheel


class _Console(Console):
    def on_broken_pipe(self) -> None:
        """Re-raise, so that the command can end with success; rich itself would exit with an error."""
        raise BrokenPipeError


def printer(stream: TextIO) -> Console:
    """A console on a stream; colour and wrapping only if it is a terminal."""
    tty = stream.isatty()
    return _Console(file=stream, highlight=False, markup=False, emoji=False, no_color=not tty,
                   width=None if tty else 100_000, soft_wrap=not tty)


def columns_table(*columns: str) -> Table:
    """An empty table without lines; first column left-aligned, the others right-aligned."""
    table = Table(box=None, pad_edge=False, show_edge=False, padding=(0, 2, 0, 0))
    for k, column in enumerate(columns):
        table.add_column(column, justify="left" if k == 0 else "right")
    return table


def _lines(before: View, after: View) -> Iterator[tuple[str, str, float, float, int]]:
    """(name, unit, before, after, digits) of the quantities of two states."""
    yield "dish, plus right", "mm", before.dish / MM, after.dish / MM, 2
    yield "gauge gap, signed like the dish", "mm", before.gap / MM, after.gap / MM, 2
    yield "true (lateral run-out)", "mm", before.true / MM, after.true / MM, 2
    yield "round (radial run-out)", "mm", before.round / MM, after.round / MM, 2
    for side in SIDES:
        yield f"{side} mean tension", "N", before.mean[side], after.mean[side], 0
        yield f"{side} spread", "%", 100 * before.spread[side], 100 * after.spread[side], 1
    yield "highest spoke", "N", before.highest, after.highest, 0
    yield "lowest spoke", "N", before.lowest, after.lowest, 0


def comparison(before: View, after: View) -> Table:
    """Table of two states and the change from one to the other."""
    table = columns_table("", "unit", "before", "after", "change")
    for words, unit, was, now, digits in _lines(before, after):
        change = round(now, digits) - round(was, digits) + 0.0
        was, now = round(was, digits) + 0.0, round(now, digits) + 0.0
        table.add_row(words, unit, f"{was:z.{digits}f}", f"{now:z.{digits}f}", f"{change:+z.{digits}f}")
    return table


def turns_words(wheel: Wheel, turns: Turns) -> str:
    """Turns (n,) in words: sides turned alike as a whole, the rest by spoke."""
    parts = []
    for side in SIDES:
        spokes = [i for i in wheel.on_side(side) if i + 1 not in wheel.spokes.missing]
        amounts, counts = np.unique(turns[spokes], return_counts=True)
        common = float(amounts[counts.argmax()]) if counts.max() > len(spokes) / 2 else 0.0
        if common:
            parts.append(f"every {side} spoke {turns_text(common, signed=True)}"
                         + ("" if counts.max() == len(spokes) else " but for"))
        for amount in amounts:
            if amount != common:
                numbers = [i + 1 for i in spokes if turns[i] == amount]
                parts.append(f"{spokes_words(numbers)} {turns_text(float(amount), signed=True)}")
    return "; ".join(parts).replace("but for; ", "but for ") or "none"


def print_suspects(suspects: Sequence[Doubt], first: Sequence[Doubt], console: Console) -> None:
    """Print readings and turns in doubt; called before anything that depends on them.

    ``first``: those that are read again before anything is turned.
    """
    for line in suspect_lines(suspects, first):
        console.print(line)
    if suspects:
        console.print()


def print_outlook(ahead: Outlook, console: Console, unread: Collection[Quantity], numbers: Sequence[int] = ()) -> None:
    """Print the outlook in one sentence; ``numbers`` are the passes' numbers, for the advised check between them."""
    gap = " to ".join(f"{one / MM:+z.1f}" for one in ahead.gap)
    highest = " to ".join(f"{one:.0f}" for one in ahead.highest)
    way = f", on the way no higher than {ahead.highest_on_the_way[1]:.0f} N" \
        if ahead.highest_on_the_way[1] > ahead.highest[1] + 1 else ""
    console.print(f"\nOutlook: {chance_words(ahead, unread)}; for 95 in 100 the gap ends at {gap} mm (plus right), the "
                  f"highest spoke at {highest} N{way}.{check_words(ahead, numbers, unread)}")


def print_assumed(assumed: Sequence[Assumed], console: Console) -> None:
    """Print the assumptions made where nothing was read."""
    if assumed:
        console.print("\nTaken, not read: " + "; ".join(map(assumed_words, assumed)) + ".")
