"""A prediction as text and tables."""

import numpy as np
from rich.console import Console

from wheelsim.files.errors import one_line
from wheelsim.measures.bounds import Bounds, broken, within
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.report.terminal.shared import (
    comparison,
    print_assumed,
    print_outlook,
    print_suspects,
    turns_words,
)
from wheelsim.report.words.shared import spokes_words
from wheelsim.report.words.warned import warning_words
from wheelsim.stand.predict import Prediction


def tell_prediction(result: Prediction, console: Console) -> None:
    """Print a prediction."""
    wheel = result.before.state.wheel
    console.print(one_line(result.wheel))
    print_suspects(result.suspects, result.read_first, console)
    console.print(f"Turns (plus tightens): {turns_words(wheel, result.turns)}\n")
    console.print(comparison(result.before, result.after))
    _outside(result.after, result.limits, console)
    if result.turns.any():
        print_outlook(result.outlook, console, result.unread)
    for warning in result.warnings:
        console.print(f"\nWarning: {warning_words(warning)}.")
    if result.untouchable:
        console.print(f"\nTurned here, but marked stuck or left alone in the job: {spokes_words(result.untouchable)}.")
    print_assumed(result.assumed, console)


def _outside(seen: View, limits: Bounds, console: Console) -> None:
    """Quantities outside their limits after the turns, and for tensions at how many spokes."""
    values = seen.values
    lines = []
    for name in broken(values, limits):
        unit = name.unit
        digits = 0 if unit == "N" else 2 if unit == "mm" else 1
        value, limit = (f"{v * name.per_si:.{digits}f} {unit}" for v in (values[name], limits.of(name)))
        line = f"{name.trade} {value}, limit {limit}"
        if name.is_tension:
            tension = seen.state.tension
            past = np.count_nonzero(~within(name, tension, limits.of(name)))
            line += f" ({past} of {len(tension)} spokes)"
        lines.append(line)
    if lines:
        console.print("\nOutside limits after: " + "; ".join(lines) + ".")
    if Quantity.HIGHEST in broken(values, limits):
        console.print("Don't turn this on a wheel.")
