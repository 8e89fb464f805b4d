"""What a set of nipple turns would do to this wheel."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.encoded import Encoded
from wheelsim.estimation.assumed import Assumed
from wheelsim.estimation.doubts import Doubt
from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.known import Known, known
from wheelsim.estimation.outlook import Outlook, outlook
from wheelsim.job.job import Job
from wheelsim.measures.bounds import Bounds, resolved
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.stability import PRACTICAL_SHARE, buckling
from wheelsim.stand.advice import NearBuckling, SlackSpokes, Warned
from wheelsim.threads import one_thread
from wheelsim.units import turns_of
from wheelsim.wheel.parts import Wheel


@dataclass(frozen=True, eq=False)
class Prediction(Encoded):
    """Before and after a set of turns (n,) [turn], plus tightens; what was assumed.

    ``untouchable`` are the spokes turned here that the job marks as stuck or to be left.
    """

    wheel: str
    turns: Turns
    before: View
    after: View
    assumed: tuple[Assumed, ...]
    limits: Bounds
    untouchable: tuple[int, ...]
    warnings: tuple[Warned, ...]
    suspects: tuple[Doubt, ...]
    found: Estimate
    target_dish: float

    @cached_property
    def outlook(self) -> Outlook:
        """What may happen, rather than what should; drawn when it is first asked for."""
        states, passes = [self.before.state], []
        if self.turns.any():
            states, passes = [*states, self.after.state], [self.turns]
        return outlook(self.found, states, passes, self.limits, self.target_dish)


def gather_turns(wheel: Wheel, right: float | str = 0.0, left: float | str = 0.0,
                 spokes: Mapping[int, float | str] | None = None) -> Turns:
    """Turns of every nipple, sides and single ones added up: (n,) [turn].

    Parameters
    ----------
    right, left : float or str
        For every nipple of the side. [turn]
    spokes : dict of int to float or str, optional
        By spoke number, from 1. [turn]

    Raises
    ------
    ValueError
        If a spoke number is none of the wheel's, or its spoke is missing.
    """
    turns = np.zeros(wheel.n)
    turns[wheel.on_side("right")] += turns_of(right)
    turns[wheel.on_side("left")] += turns_of(left)
    for spoke, turn in (spokes or {}).items():
        if not 1 <= spoke <= wheel.n:
            raise ValueError(f"spoke {spoke}: expected 1 to {wheel.n}")
        if spoke in wheel.spokes.missing:
            raise ValueError(f"spoke {spoke}: is missing; expected one that is there")
        turns[spoke - 1] += turns_of(turn)
    turns[[i - 1 for i in wheel.spokes.missing]] = 0.0
    return turns


def _warnings(state: State) -> tuple[Warned, ...]:
    """What is not a limit of the file, but of the wheel: slack spokes, and tension near buckling."""
    slack, near = view(state).slack, near_buckling(state)
    return (*([SlackSpokes(tuple(slack))] if slack else []), *([near] if near else []))


def near_buckling(state: State) -> NearBuckling | None:
    """A warning when the right side's mean is above half of where the wheel buckles, else None."""
    wheel = state.wheel
    critical = buckling(wheel)
    mean = float(state.tension[wheel.pulling("right")].mean())
    if mean <= PRACTICAL_SHARE * critical.tension:
        return None
    return NearBuckling(mean, critical.tension, critical.waves)


@one_thread
def predict(subject: Wheel | Job | Known, *, right: float | str = 0.0, left: float | str = 0.0,
            spokes: Mapping[int, float | str] | None = None) -> Prediction:
    """Predict what turns would do.

    Parameters
    ----------
    subject : Wheel, Job or Known
        A wheel alone is true and centred at its nominal tension; a job is its last reading.
    right, left : float or str
        Turns of every nipple of the side, plus tightens; words such as "1/4" will do. [turn]
    spokes : dict of int to float or str, optional
        Further turns by spoke number. [turn]

    Returns
    -------
    Prediction

    Raises
    ------
    Unstable
        When the wheel has no stable equilibrium before or after.
    ValueError
        If a spoke number is none of the wheel's, or turns are no turns.
    """
    told = known(subject)
    job, found = told.job, told.found
    turns = gather_turns(job.wheel, right, left, spokes)
    before = found.state
    after = equilibrium(before.wheel, before.turns + turns, before.own_shape, start=before) if turns.any() else before
    untouchable = tuple(spoke for spoke in sorted(job.work.untouched) if turns[spoke - 1])
    was, now = (view(one, job.work.target_dish) for one in (before, after))
    return Prediction(wheel=job.wheel.name, turns=turns, before=was, after=now, assumed=found.assumed,
                      limits=resolved(job.wheel), untouchable=untouchable, warnings=_warnings(after),
                      suspects=told.doubts, found=found, target_dish=job.work.target_dish)
