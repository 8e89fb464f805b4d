"""What the strip shows of a wheel, as plain numbers and words for the browser: millimetres, newtons, turns."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from wheelsim.arrays import Floats, Turns
from wheelsim.estimation.outlook import Outlook
from wheelsim.measures.bounds import Bounds, within
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.report.words.shared import spokes_words
from wheelsim.units import MM, turns_text
from wheelsim.wheel.parts import SIDES, Wheel
from wheelsim.wheel.sides import Side

Face = dict[str, Any]
LEAST_REACH = 0.5  # least range of the panel of turns; own choice [turn]


@dataclass(frozen=True)
class Marks:
    """Spokes of which something is to be said, by number from 1."""

    slack: tuple[int, ...] = ()
    over: tuple[int, ...] = ()
    under: tuple[int, ...] = ()
    doubted: tuple[int, ...] = ()
    missing: tuple[int, ...] = ()

    def word(self, spoke: int) -> str:
        """What is wrong with a spoke, the worst first; nothing where nothing is."""
        for word, own in (("missing", self.missing), ("slack", self.slack), ("over limit", self.over),
                          ("under limit", self.under), ("doubted", self.doubted)):
            if spoke in own:
                return word
        return ""

    @property
    def sentence(self) -> str:
        """All of them in one line, for those who don't see the strip; empty where nothing is wrong."""
        named = (("Slack", self.slack), ("Over the limit", self.over), ("Under the limit", self.under),
                 ("Reading doubted", self.doubted), ("Missing", self.missing))
        return " ".join(f"{word}: {spokes_words(own)}." for word, own in named if own)


def marks(seen: View, limits: Bounds, doubted: Collection[int] = ()) -> Marks:
    """What is wrong with which spoke of a wheel."""
    tension, slack, gone = seen.state.tension, seen.slack, sorted(seen.wheel.spokes.missing)
    there = [i for i in range(1, seen.wheel.n + 1) if i not in gone and i not in slack]
    over, under = (~within(name, tension, limits.of(name)) for name in (Quantity.HIGHEST, Quantity.LOWEST))
    return Marks(tuple(slack), tuple(i for i in there if over[i - 1]), tuple(i for i in there if under[i - 1]),
                 tuple(sorted(doubted)), tuple(gone))


def face_of(before: View, after: View, turns: Turns, limits: Bounds, doubted: Collection[int] = (),
            step: float = 0.25) -> Face:
    """A wheel before and after turns (n,), to be turned further by steps of ``step``. [turn]"""
    wrong = marks(after, limits, doubted)
    was, now = _mm(before.state.edge), _mm(after.state.edge)
    face = _face(after.wheel, now, after.state.tension, limits, wrong, after.target_dish)
    reach = float(max(np.abs(np.concatenate([was, now]) - face["target"]).max(), face["reach"] / 1.1))
    return face | {
        "turnable": True, "was": was.tolist() if turns.any() else None, "reach": 1.1 * reach,
        "turns": turns.tolist(), "turn_reach": max(float(np.abs(turns).max()), LEAST_REACH), "step": step,
        "tried": {i + 1: turns_text(float(turns[i]), signed=True) for i in np.flatnonzero(turns).tolist()},
        "lines": face["lines"] + [_line(f"usual {side}", after.usual[side]) for side in SIDES],
        "names": [_name(after, wrong, i, float(turns[i])) for i in range(after.wheel.n)],
        "says": ("The rim laid out flat from valve to valve. "
                 f"Gap {before.gap / MM:+z.2f} to {after.gap / MM:+z.2f} mm, "
                 f"highest spoke {before.highest:.0f} to {after.highest:.0f} newtons. {wrong.sentence}").rstrip()}


def with_outlook(face: Face, after: View, outlook: Outlook) -> Face:
    """The face with bands that hold the rim's place and the highest tension in 95 of 100 drawn wheels."""
    edge = _mm(after.state.edge)
    low, high = ((one - after.gap) / 2 / MM for one in outlook.gap)
    reach = max(face["reach"], 1.05 * float(np.abs(np.concatenate([edge + low, edge + high]) - face["target"]).max()))
    return face | {"outlook": [(edge + low).tolist(), (edge + high).tolist()], "highest": list(outlook.highest),
                   "most": max(face["most"], 1.02 * outlook.highest[1]), "reach": reach}


def read_face(wheel: Wheel, limits: Bounds, lateral: Floats | None, tension: Mapping[int, float]) -> Face:
    """Readings alone: a dial from its mean (n,) [m], and tensions of some spokes [N]; its keys choose spokes."""
    pull = np.array([tension.get(i + 1, math.nan) for i in range(wheel.n)])
    wrong = Marks(over=tuple(i for i, value in tension.items()
                             if not within(Quantity.HIGHEST, value, limits.max_tension)),
                  slack=tuple(i for i, value in tension.items() if value == 0),
                  missing=tuple(sorted(wheel.spokes.missing)))
    face = _face(wheel, None if lateral is None else _mm(lateral), pull, limits, wrong, 0.0)
    right = set(wheel.on_side("right"))
    names = [f"spoke {i + 1}, {'right' if i in right else 'left'}"
             + (f", {tension[i + 1]:.0f} newtons read" if i + 1 in tension else "") for i in range(wheel.n)]
    return face | {"turnable": True, "chosen": [], "names": names,
                   "says": "What the tools showed, laid out flat from valve to valve."}


def _mm(values: ArrayLike) -> Floats:
    return np.round(np.asarray(values, dtype=np.float64) / MM, 4)


def _face(wheel: Wheel, now: Floats | None, tension: Floats, limits: Bounds, wrong: Marks, target: float) -> Face:
    """What both kinds of strip have in common."""
    read = tension[np.isfinite(tension)]
    middle, true_limit, gap_limit = target / MM, limits.lateral_runout / MM, limits.gap / MM
    rim = np.zeros(1) if now is None else now
    mean = float(rim.mean())
    lines = [_line("limit", value, f"N, {word} allowed")
             for value, word in ((limits.max_tension, "most"), (limits.min_tension, "least"))]
    right = set(wheel.on_side("right"))
    return {
        "sides": "".join("R" if i in right else "L" for i in range(wheel.n)), "missing": list(wrong.missing),
        "target": middle, "mean": mean, "true_limit": true_limit, "gap_limit": gap_limit,
        "reach": 1.1 * max(float(np.abs(rim - middle).max()), gap_limit / 2, abs(mean - middle) + true_limit / 2),
        "was": None, "now": [None] * wheel.n if now is None else now.tolist(),
        "tension": [round(float(t), 1) if math.isfinite(t) and i + 1 not in wrong.missing else None
                    for i, t in enumerate(tension)],
        "most": 1.15 * max(limits.max_tension, *(float(t) for t in read), 1.0), "lines": lines,
        "wrong": {i: wrong.word(i) for i in range(1, wheel.n + 1) if wrong.word(i)},
        "turns": [0.0] * wheel.n, "turn_reach": LEAST_REACH, "step": 0.25, "tried": {}, "names": [],
        "outlook": None, "highest": None}


def _line(kind: str, value: float, word: str = "") -> dict[str, Any]:
    """A line across the tensions, with its number in the margin. [N]"""
    return {"kind": kind, "value": value, "text": f"{value:.0f}", "word": word}


def _name(seen: View, wrong: Marks, i: int, turned: float) -> str:
    """A spoke as a screen reader says it."""
    side: Side = "right" if i in set(seen.wheel.on_side("right")) else "left"
    if i + 1 in wrong.missing:
        return f"spoke {i + 1}, {side}, missing"
    word = wrong.word(i + 1)
    return (f"spoke {i + 1}, {side}, {seen.state.tension[i]:.0f} newtons" + (f", {word}" if word else "")
            + (f", {turns_text(turned, signed=True)} turn" if turned else ""))
