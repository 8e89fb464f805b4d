"""Whether a prediction came true, as far as the readings before and after can tell."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from wheelsim.arrays import Floats, Turns
from wheelsim.readings.errors import DIAL_SD, GAUGE_SD, METER_SCATTER
from wheelsim.units import MM

# Way that can be predicted: kind of reading that shows it, sign of the change there, the opposite way.
WAYS = {"right": ("gauge", 1, "left"), "left": ("gauge", -1, "right"), "out": ("round", 1, "in"),
        "in": ("round", -1, "out"), "tighter": ("tension", 1, "looser"), "looser": ("tension", -1, "tighter"),
        "still": ("gauge", 0, "")}
SURE = 1.5  # a change of fewer standard deviations is not told from none; own choice
CLEAR = 3.0  # places count as gone opposite ways if both changed by more standard deviations; own choice
Readings: TypeAlias = Mapping[tuple[str, object], tuple[int, Any]]  # (kind, key): (turns made before, value)
NEAR = 0.25  # an amount predicted to within this share of the change counts as near; own choice
BESIDE = 3  # stations to each side that a turned nipple moves noticeably; own choice
STILL = 1 / 3  # least share of the rim away from turned nipples, from which the dial's zero is taken; own choice
LEAST_SD = 5.0  # standard deviation of the meter at low tension; own choice [N]
TOOL_WORDS = {"gauge": "gauge", "true": "dial true", "round": "dial round", "tension": "tension"}


@dataclass(frozen=True)
class Guess:
    """What the learner says the next turn will do: ``amount`` in m or N, ``spoke`` where, or None."""

    way: str
    amount: float | None = None
    spoke: int | None = None

    @property
    def kinds(self) -> set[str]:
        """Readings that may show it."""
        kind = WAYS[self.way][0]
        if kind != "gauge":
            return {kind}
        return {"gauge", "true"} if self.spoke is None else {"true"}

    @property
    def tool(self) -> str:
        """The commands that show it, in words."""
        return " or ".join(TOOL_WORDS[kind] + {"gauge": " (after a whole side)", "true": " (after single nipples)"
                                               }.get(kind, "") * (len(self.kinds) > 1) for kind in sorted(self.kinds))


@dataclass(frozen=True)
class Answer:
    """``right`` is None where the readings can't tell; ``near``, of the amount, also where none was said."""

    right: bool | None
    words: str
    near: bool | None = None


def answer(guess: Guess, turns: Turns, whole: bool, before: Readings, after: Readings, made: int,
           kind: str) -> Answer | None:
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

    Returns
    -------
    Answer or None
    """
    wanted, sign, opposite = WAYS[guess.way]
    if wanted == "gauge" and (guess.spoke is not None or not whole):
        wanted = "true"
    stations = np.flatnonzero(turns) if guess.spoke is None else np.array([guess.spoke - 1], dtype=np.intp)
    still = _still(turns)
    if wanted in ("true", "round") and still.sum() < STILL * len(turns):
        return Answer(None, f"You predicted {guess.way}, and turned so much of the wheel that the dial can't tell: its "
                            "zero is free, so it doesn't show the whole rim going anywhere. Of a whole side predict "
                            "right or left, tighter or looser.")
    if kind != wanted:
        return None
    found = _change(wanted, stations, still, before, after, made)
    if found is None:
        if any(which == wanted and at == made for (which, _), (at, _) in before.items()):
            return None  # the place read before the turn may still be read
        return _not_read(guess, wanted)
    changes, sd = found
    if changes.max() > CLEAR * sd and changes.min() < -CLEAR * sd:
        return Answer(None, f"You predicted {guess.way}: it went both ways, at some of the spokes you turned one, at "
                            "others the other. Predict one place at a time, or name the spoke: predict 7 "
                            f"{guess.way}.")
    change, sd = float(changes.mean()), sd / np.sqrt(len(changes))
    told = _told(guess, wanted, change)
    if sign == 0:
        if abs(change) < SURE * sd:
            return Answer(True, f"{told} As good as still, as far as this tool can tell.")
        return (Answer(False, f"{told} Not still.") if abs(change) > 2 * SURE * sd else
                Answer(None, f"{told} Still or not, this tool can't tell."))
    if abs(change) < SURE * sd:
        return Answer(None, f"{told} That is less than this tool can tell.")
    if change * sign < 0:
        return Answer(False, f"{told} You said {guess.way}, it went {opposite}.")
    if guess.amount is None:
        return Answer(True, f"{told} As you said.")
    off = guess.amount - abs(change)
    near = bool(abs(off) <= max(NEAR * abs(change), SURE * sd))
    how = "by about as much." if near else "less than that." if off > 0 else "more than that."
    return Answer(True, f"{told} As you said, and {how}", near)


def _not_read(guess: Guess, wanted: str) -> Answer:
    """Where a reading of the kind wanted is missing before the turn."""
    spokes = "the spokes you turned" if guess.spoke is None else f"spoke {guess.spoke}"
    what = TOOL_WORDS[wanted] if wanted != "tension" else f"the tension of {spokes}"
    return Answer(None, f"You predicted {guess.way}, but {what} was not read just before that turn: nothing to "
                        "compare with.")


def _still(turns: Turns) -> NDArray[np.bool_]:
    """Stations with no turned nipple beside them, (n,) of bool."""
    near = turns != 0
    beside: NDArray[np.bool_] = np.any([np.roll(near, k) for k in range(-BESIDE, BESIDE + 1)], axis=0)
    return ~beside


def _change(kind: str, stations: NDArray[np.intp], still: NDArray[np.bool_], before: Readings, after: Readings,
            made: int) -> tuple[Floats, float] | None:
    """(changes at the stations, the standard deviation of one), or None without a reading right before the turn."""
    def was(key: object) -> Any:
        at, value = before.get((kind, key), (-1, None))
        return value if at == made else None

    if kind == "gauge":
        # With the feet at the same place both times the effect of the rim's out-of-true under them cancels.
        for place in (False, True):
            if was(place) is not None and after.get((kind, place), (0, 0))[0] > made:
                return np.array([(after[kind, place][1] - was(place)) / 2]), GAUGE_SD / np.sqrt(2)
        return None
    if kind in ("true", "round"):
        if was(None) is None:
            return None
        change = after[kind, None][1] - was(None)
        # Away from the nipples turned the rim hardly moves: the mean change there is that of the dial's zero.
        return (change - change[still].mean())[stations], DIAL_SD * np.sqrt(2)
    read = [i + 1 for i in stations if was(i + 1) is not None and after.get((kind, i + 1), (0, 0))[0] > made]
    if not read:
        return None
    old, new = (np.array(values) for values in ([was(k) for k in read], [after[kind, k][1] for k in read]))
    return new - old, max(METER_SCATTER * float(max(old.mean(), new.mean())), LEAST_SD) * np.sqrt(2)


def _told(guess: Guess, kind: str, change: float) -> str:
    way = {"round": ("out", "in"), "tension": ("tighter", "looser")}.get(kind, ("right", "left"))[change < 0]
    if kind == "tension":
        said = "" if guess.amount is None else f" by {guess.amount:.0f} N"
        who = ("the spokes you turned (those read) are" if guess.spoke is None else f"spoke {guess.spoke} is")
        return (f"You predicted {guess.way}{said}: by the meter {who} {abs(change):.0f} N {way}"
                + (" on average." if guess.spoke is None else "."))
    said = "" if guess.amount is None else f" by {guess.amount / MM:.2g} mm"
    where = ("the rim" if kind == "gauge" else "the rim, where you turned," if guess.spoke is None else
             f"the rim at spoke {guess.spoke}")
    tool = "gauge" if kind == "gauge" else "dial"
    twice = " (half of what the gap changed)" if kind == "gauge" else ""
    return f"You predicted {guess.way}{said}: by the {tool} {where} went {way} {abs(change) / MM:.2f} mm{twice}."
