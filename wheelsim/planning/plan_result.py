"""What a plan says: turns, passes, what they leave, what stands beside or in the way."""

from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.estimation.outlook import Outlook
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.view import View
from wheelsim.planning.hindrance import Blocking
from wheelsim.planning.passes import PlannedPass
from wheelsim.planning.verdict import Status, Verdict
from wheelsim.planning.ways import Way
from wheelsim.wheel.parts import SIDES, Wheel


@dataclass(frozen=True, eq=False)
class Literal:
    """The literal fewest turns, shown beside the plan: what it is and what it leaves."""

    turns: Turns
    after: View
    bound_turns: float
    proven: bool
    passes: int

    def as_dict(self) -> dict[str, object]:
        return {"passes": self.passes, "turns": [float(t) + 0.0 for t in self.turns], "total_turns": total(self.turns),
                "nipples": int(np.count_nonzero(self.turns)), "bound_turns": self.bound_turns,
                "proven": self.proven, "after": self.after.as_dict()}


@dataclass(frozen=True, eq=False, kw_only=True)
class Plan:
    """What to do to a wheel.

    Attributes
    ----------
    status : str
        "proven", "best so far", "none", "not found" or "nothing to do".
    turns : (n,) ndarray or None
        Sum over the passes. [turn]
    bound_turns : float or None
        No plan within the same bounds takes fewer turns in all; rounded up to the step. [turn]
    unmet : tuple of str
        Aims, by name, that the plan leaves unmet; limits it always keeps.
    label : str
        Of the reading it starts from.
    first : tuple of str
        What to do or to know before the first pass.
    """

    wheel: str
    status: Status
    verdict: Verdict
    ways: tuple[Way, ...] = ()
    turns: Turns | None = None
    bound_turns: float | None = None
    proven: bool = False
    passes: tuple[PlannedPass, ...] = ()
    before: View | None = None
    after: View | None = None
    literal: Literal | None = None
    blocking: tuple[Blocking, ...] = ()
    unmet: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    suspects: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    step: float
    target_dish: float
    limits: Bounds
    aims: Bounds
    label: str
    first: tuple[str, ...] = ()
    outlook: Outlook | None = None

    def as_dict(self) -> dict[str, object]:
        turns = self.turns
        return {
            "format": 1, "wheel": self.wheel, "status": self.status, "verdict": self.verdict.as_dict(),
            "ways": [way.as_dict() for way in self.ways],
            "turns": None if turns is None else [float(t) + 0.0 for t in turns],
            "total_turns": None if turns is None else total(turns),
            "nipples": None if turns is None else int(np.count_nonzero(turns)),
            "bound_turns": self.bound_turns, "proven": self.proven,
            "passes": [one.as_dict() for one in self.passes],
            "before": None if self.before is None else self.before.as_dict(),
            "after": None if self.after is None else self.after.as_dict(),
            "fewest_turns": None if self.literal is None else total(self.literal.turns),
            "fewest": None if self.literal is None else self.literal.as_dict(),
            "blocking": [one.as_dict() for one in self.blocking],
            "unmet_aims": list(self.unmet), "assumed": list(self.assumed), "suspects": list(self.suspects),
            "advice": list(self.advice), "first": list(self.first),
            "outlook": None if self.outlook is None else self.outlook.as_dict(),
        }


def named_nipples(wheel: Wheel, turns: Turns) -> int:
    """How many nipples must be named one by one: all that aren't turned with most of their side."""
    named = 0
    for side in SIDES:
        mine = np.asarray(turns)[wheel.pulling(side)]
        amounts, counts = np.unique(mine, return_counts=True)
        usual = amounts[counts.argmax()] if counts.max() > len(mine) / 2 else 0.0
        named += int(np.count_nonzero(mine != usual))
    return named


def total(turns: Turns) -> float:
    """All turns added up, either way. [turn]"""
    return round(float(np.abs(turns).sum()), 6)
