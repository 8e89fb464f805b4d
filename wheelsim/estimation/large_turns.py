"""Turns that are larger than a hand gives in one pass: three turns typed for three quarters."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from wheelsim.encoded import Encoded
from wheelsim.job.job import Job
from wheelsim.job.visits import visits
from wheelsim.wheel.parts import SIDES, Wheel
from wheelsim.wheel.sides import Side

# From a full turn on for a side, two for single nipples. Common practice, no source: once round by quarters, by halves
# on a wheel far off; more only while a wheel is built, or a new spoke drawn up.
WHOLE_SIDE = 1.0  # [turn]
ONE_NIPPLE = 2.0  # [turn]
# Times what is still planned for the same nipples, and at least so much more. Own choice: a hand that does two planned
# passes at once, or one more quarter, is none.
TIMES_PLANNED = 2.0
MORE_THAN_PLANNED = 0.5  # [turn]


@dataclass(frozen=True)
class LargeTurn(Encoded):
    """A pass with turns larger than a hand gives in one.

    Attributes
    ----------
    number : int
        Of the pass; 0 for one that has none yet.
    side : "right", "left" or None
        The side of which most nipples were turned so; None for single nipples.
    spoke : int or None
        Where no side was.
    turns : float
        The largest. [turn]
    planned : float or None
        What was still planned for that nipple, where it is far more than that; None: it is large by itself. [turn]
    """

    number: int
    side: Side | None
    spoke: int | None
    turns: float
    planned: float | None = None

    @property
    def meant(self) -> float | None:
        """What may have been meant, where a whole number was typed: as many quarters; else None. [turn]"""
        return self.turns / 4 if float(self.turns).is_integer() else None


def more_than_a_hand(wheel: Wheel, turns: Mapping[int, float], planned: Mapping[int, float] | None = None,
                     number: int = 0) -> LargeTurn | None:
    """The largest turn of a pass, where it is larger than a hand gives in one, or than is planned.

    Parameters
    ----------
    wheel : Wheel
    turns : mapping of int to float
        By spoke number. [turn]
    planned : mapping of int to float, optional
        What is planned and not made yet, all passes together, likewise. [turn]
    number : int
        Of the pass.
    """
    for side in SIDES:
        mine = [i + 1 for i in wheel.pulling(side)]
        sizes = sorted(((abs(turns.get(spoke, 0.0)), spoke) for spoke in mine), reverse=True)
        size, spoke = sizes[len(sizes) // 2] if sizes else (0.0, 0)  # more than half are turned by as much
        if size >= WHOLE_SIDE:
            return LargeTurn(number, side, None, turns[spoke])
        if size and planned and _far_beyond(turns[spoke], planned.get(spoke, 0.0)):
            return LargeTurn(number, side, None, turns[spoke], planned.get(spoke, 0.0))
    spoke = max(turns, key=lambda one: abs(turns[one]), default=0)
    if spoke and abs(turns[spoke]) >= ONE_NIPPLE and spoke not in wheel.spokes.missing:
        return LargeTurn(number, None, spoke, turns[spoke])
    return None


def _far_beyond(turned: float, planned: float) -> bool:
    """Whether a turn is far more than what is planned, the same way."""
    more = abs(turned) - abs(planned)
    return planned * turned > 0 and abs(turned) > TIMES_PLANNED * abs(planned) and more >= MORE_THAN_PLANNED


def large_turns(job: Job, numbers: Collection[int] | None = None) -> tuple[LargeTurn, ...]:
    """The passes of a job with turns larger than a hand gives, but for those that were made as planned.

    Parameters
    ----------
    job : Job
    numbers : collection of int, optional
        Of the passes to look at; default those made since the last reading, for what is read tells of the others.
    """
    if numbers is None:
        log = visits(job)
        since = job.passes if not log else () if len(log) < 2 or log[-1].read else log[-2].passes
        numbers = {one.number for one in since}
    planned: dict[int, float] = {}
    for one in job.passes:
        if one.turns is None and isinstance(one.planned, tuple):
            for spoke, turns in one.planned:
                planned[spoke] = planned.get(spoke, 0.0) + turns
    found = (more_than_a_hand(job.wheel, dict(one.made), planned, one.number) for one in job.passes
             if one.number in numbers and one.turns and one.planned not in (True, one.turns))
    return tuple(one for one in found if one is not None)
