"""What a plan says: turns, passes, what they leave, what stands beside or in the way."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.encoded import Encoded
from wheelsim.estimation.assumed import Assumed, NewSpokes
from wheelsim.estimation.doubts import Doubt
from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.outlook import Outlook, outlook
from wheelsim.job.job import Job
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.planning.hindrance import Blocking
from wheelsim.planning.majority import majority_turn
from wheelsim.planning.notes import PlanAdvice
from wheelsim.planning.passes import PlannedPass
from wheelsim.planning.verdict import Status, Verdict
from wheelsim.planning.ways import Way
from wheelsim.planning.what_first import First
from wheelsim.wheel.parts import SIDES, Wheel


@dataclass(frozen=True, eq=False)
class FewestTurns(Encoded):
    """The literal fewest turns, shown beside the plan: what it is and what it leaves."""

    turns: Turns
    after: View
    bound_turns: float
    proven: bool
    passes: int


@dataclass(frozen=True, eq=False, kw_only=True)
class Plan(Encoded):
    """What to do to a wheel.

    Attributes
    ----------
    status : str
        "proven", "best so far", "none", "not found" or "nothing to do".
    turns : (n,) ndarray or None
        Sum over the passes. [turn]
    bound_turns : float or None
        No plan within the same bounds takes fewer turns in all; rounded up to the step. [turn]
    unmet : tuple of Quantity
        Aims that the plan leaves unmet; limits it always keeps.
    label : str
        Of the reading it starts from.
    first : tuple of First
        What to do or to know before the first pass.
    unread : tuple of Quantity
        Limited quantities of which not enough was read.
    found : Estimate
        The wheel that it starts from, with its uncertainty.
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
    literal: FewestTurns | None = None
    blocking: tuple[Blocking, ...] = ()
    unmet: tuple[Quantity, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    suspects: tuple[Doubt, ...] = ()
    read_first: tuple[Doubt, ...] = ()
    advice: tuple[PlanAdvice, ...] = ()
    step: float
    target_dish: float
    limits: Bounds
    aims: Bounds
    label: str
    first: tuple[First, ...] = ()
    unread: tuple[Quantity, ...] = ()
    found: Estimate | None = None

    @cached_property
    def outlook(self) -> Outlook | None:
        """What may happen rather than what should; None where there is no plan."""
        if self.before is None or self.after is None or self.found is None:
            return None
        states = [self.before.state, *(one.after.state for one in self.passes)]
        return outlook(self.found, states, [one.turns for one in self.passes], self.limits, self.target_dish)

    def planned_in(self, job: Job) -> bool:
        """Whether the passes planned in a job and not made yet are these."""
        planned = [({spoke: turns for spoke, turns in one.planned if turns}, one.gauge_again)
                   for one in job.passes if one.turns is None and isinstance(one.planned, tuple)]
        mine = [({int(i) + 1: float(one.turns[i]) for i in np.flatnonzero(one.turns)}, one.gauge_again)
                for one in self.passes]
        return planned == mine

    @property
    def foreseen(self) -> Outlook | None:
        """The outlook of the passes; None with new spokes put in, whose tension then is not known."""
        new = any(isinstance(one, NewSpokes) for one in self.first)
        return self.outlook if self.passes and not new else None


def named_nipples(wheel: Wheel, turns: Turns) -> int:
    """How many nipples must be named one by one: all that aren't turned with most of their side."""
    named = 0
    for side in SIDES:
        mine = np.asarray(turns)[wheel.pulling(side)]
        named += int(np.count_nonzero(mine != majority_turn(mine)))
    return named


def total(turns: Turns) -> float:
    """All turns added up, either way. [turn]"""
    return round(float(np.abs(turns).sum()), 6)
