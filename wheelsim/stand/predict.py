"""Predict the effect of nipple turns on a wheel."""

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
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View, view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.stability import PRACTICAL_SHARE, buckling
from wheelsim.stand.warned import NearBuckling, SlackSpokes, Warned
from wheelsim.threads import one_thread
from wheelsim.units import turns_of
from wheelsim.wheel.parts import Wheel


@dataclass(frozen=True, eq=False)
class Prediction(Encoded):
    """A wheel before and after turns."""

    wheel: str  # its name
    turns: Turns  # (n,) plus tightens [turn]
    before: View
    after: View
    assumed: tuple[Assumed, ...]  # what was not read
    limits: Bounds
    untouchable: tuple[int, ...]  # spokes turned here although the job marks them as stuck or to be left
    warnings: tuple[Warned, ...]  # of the wheel after
    suspects: tuple[Doubt, ...]
    found: Estimate  # of the wheel before
    target_dish: float  # plus right [m]
    unread: tuple[Quantity, ...] = ()  # of which not enough was read
    read_first: tuple[Doubt, ...] = ()  # those of the suspects that are read again before anything is turned

    @cached_property
    def outlook(self) -> Outlook:
        """Distribution of the outcome with the errors of readings, hand, thread and rim; computed when first used."""
        states, passes = [self.before.state], []
        if self.turns.any():
            states, passes = [*states, self.after.state], [self.turns]
        return outlook(self.found, states, passes, self.limits, self.target_dish)


def gather_turns(wheel: Wheel, right: float | str = 0.0, left: float | str = 0.0,
                 spokes: Mapping[int, float | str] | None = None) -> Turns:
    """Turns of every nipple: those of its side plus its own.

    Parameters
    ----------
    right, left : float or str
        For every nipple of the side. [turn]
    spokes : dict of int to float or str, optional
        By spoke number, from 1. [turn]

    Returns
    -------
    (n,) ndarray
        0 for missing spokes. [turn]

    Raises
    ------
    ValueError
        If the wheel has no spoke of a number, or that spoke is missing.
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
    """Dangers that no limit in the file covers: slack spokes, and tension near buckling."""
    slack, near = view(state).slack, near_buckling(state)
    return (*([SlackSpokes(tuple(slack))] if slack else []), *([near] if near else []))


def near_buckling(state: State) -> NearBuckling | None:
    """A warning if the right side's mean is above ``PRACTICAL_SHARE`` of the buckling tension, else None."""
    wheel = state.wheel
    critical = buckling(wheel)
    mean = float(state.tension[wheel.pulling("right")].mean())
    if mean <= PRACTICAL_SHARE * critical.tension:
        return None
    return NearBuckling(mean, critical.tension, critical.waves)


@one_thread
def predict(subject: Wheel | Job | Known, *, right: float | str = 0.0, left: float | str = 0.0,
            spokes: Mapping[int, float | str] | None = None) -> Prediction:
    """Predict the wheel after turns, by its nonlinear equilibrium.

    Parameters
    ----------
    subject : Wheel, Job or Known
        A wheel alone is true and centred at its nominal tension; a job is estimated from its readings.
    right, left : float or str
        Turns of every nipple of the side, plus tightens; text such as "1/4" is allowed. [turn]
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
        If the wheel has no spoke of a number, that spoke is missing, or turns can't be read.
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
                      suspects=told.doubts, found=found, target_dish=job.work.target_dish,
                      unread=told.unread, read_first=told.read_first)
