"""Whether a prediction came true, as far as the readings before and after can tell."""

from dataclasses import dataclass

import numpy as np

from wheelsim.readings.gauge import GAUGE_SD
from wheelsim.readings.problem import DIAL_SD, METER_SCATTER
from wheelsim.units import MM

# way: the readings that show it, its sign there, its opposite
WAYS = {"right": ("gauge", 1, "left"), "left": ("gauge", -1, "right"), "out": ("round", 1, "in"),
        "in": ("round", -1, "out"), "tighter": ("tension", 1, "looser"), "looser": ("tension", -1, "tighter"),
        "still": ("gauge", 0, "")}
SURE = 1.5  # standard deviations of a change below which a tool can't tell
TOOL_WORDS = {"gauge": "gauge", "true": "dial true", "round": "dial round", "tension": "tension"}


@dataclass(frozen=True)
class Guess:
    """What the learner says the next turn will do; ``amount`` in m or N, or None."""

    way: str
    amount: float | None


@dataclass(frozen=True)
class Answer:
    """``right`` is None where the readings can't tell."""

    right: bool | None
    words: str


def tool_for(way):
    """The commands that show whether a prediction came true, in words."""
    kind = WAYS[way][0]
    return "gauge (after a whole side) or dial true (after single nipples)" if kind == "gauge" else TOOL_WORDS[kind]


def answer(guess, turns, whole, before, after, made, kind, wheel):
    """Judge a prediction by a reading, or None while that reading is not the one to judge it by.

    Parameters
    ----------
    guess : Guess
    turns : (n,) ndarray
        What was turned. [turn]
    whole : bool
        Whether whole sides were.
    before, after : dict
        Last readings by (kind, key): (turns made before it was taken, value).
    made : int
        Turns made before this one.
    kind : str
        Of the reading just taken.
    wheel : Wheel

    Returns
    -------
    Answer or None
    """
    wanted, sign, opposite = WAYS[guess.way]
    if wanted == "gauge" and not whole:
        wanted = "true"
    if wanted == "round" and whole:
        return Answer(None, "You predicted in or out of a whole side: the dial's zero is free, so it can't show the "
                            "whole rim going in or out. Predict right or left, tighter or looser.")
    if kind != wanted:
        return None
    found = _change(wanted, np.flatnonzero(turns), before, after, made)
    if found is None:
        what = "the tension of the spokes you turned" if wanted == "tension" else TOOL_WORDS[wanted]
        return Answer(None, f"You predicted {guess.way}, but {what} was not read just before that turn: nothing to "
                            "compare with.")
    change, sd = found
    told = _words(guess, wanted, change)
    if sign == 0:
        still = abs(change) < 2 * SURE * sd
        end = "As good as still, as far as this tool can tell" if still else "Not still"
        return Answer(still, f"{told} {end}.")
    if abs(change) < SURE * sd:
        return Answer(None, f"{told} That is less than this tool can tell.")
    right = change * sign > 0
    return Answer(bool(right), f"{told} {'As you said' if right else f'You said {guess.way}, it went {opposite}'}.")


def _change(kind, stations, before, after, made):
    """(change, its standard deviation), or None when there is no reading right before the turn."""
    def was(key):
        at, value = before.get((kind, key), (-1, None))
        return value if at == made else None

    if kind == "gauge":
        # The same place of the rim both times: what its out-of-true does under the feet then falls out.
        for place in (False, True):
            if was(place) is not None and after.get((kind, place), (0, 0))[0] > made:
                return (after[kind, place][1] - was(place)) / 2, GAUGE_SD / np.sqrt(2)
        return None
    if kind in ("true", "round"):
        if was(None) is None:
            return None
        change = after[kind, None][1] - was(None)
        worst = stations if len(stations) < 4 else stations[np.argsort(-np.abs(change[stations]))[:3]]
        return float(change[worst].mean()), DIAL_SD * np.sqrt(2 / len(worst))
    read = [i + 1 for i in stations if was(i + 1) is not None and after.get((kind, i + 1), (0, 0))[0] > made]
    if not read:
        return None
    old, new = (np.array(values) for values in ([was(k) for k in read], [after[kind, k][1] for k in read]))
    return float((new - old).mean()), METER_SCATTER * float(old.mean()) * np.sqrt(2 / len(read))


def _words(guess, kind, change):
    if kind == "tension":
        said = "" if guess.amount is None else f" by {guess.amount:.0f} N"
        return (f"You predicted {guess.way}{said}: by the meter the spokes you turned (those read) are "
                f"{abs(change):.0f} N {'tighter' if change > 0 else 'looser'} on average.")
    said = "" if guess.amount is None else f" by {guess.amount / MM:.2g} mm"
    way = {"round": ("out", "in")}.get(kind, ("right", "left"))[change < 0]
    where = "the rim" if kind == "gauge" else "the rim, where you turned,"
    tool = "gauge" if kind == "gauge" else "dial"
    twice = " (half of what the gap changed)" if kind == "gauge" else ""
    return f"You predicted {guess.way}{said}: by the {tool} {where} went {way} {abs(change) / MM:.2f} mm{twice}."
