"""What a plan tells beside its passes: data, put into words by `report.words.planning`."""

from dataclasses import dataclass
from enum import Enum
from typing import TypeAlias

import numpy as np

from wheelsim.measures.bounds import Bounds, LowerLimit
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View

OFF_SAID = 0.08  # of the usual tension: further off is told; own choice


@dataclass(frozen=True)
class AimsNotHad:
    """The aims can't all be had in the time; the plan ends within the limits, but those of what was hardly read."""

    but: tuple[Quantity, ...] = ()


@dataclass(frozen=True)
class PlainMargin:
    """No plan keeps the tension limits in as many wheels as the margin promises; this one keeps it at the likeliest."""


@dataclass(frozen=True)
class NoMargin:
    """No plan keeps anything from the limits for what the readings leave unsure; this one ends within them."""


@dataclass(frozen=True)
class MarginGiven:
    """Few tensions were read: so much of the margin below the highest tension is given up. [N]"""

    given: float


@dataclass(frozen=True)
class ReadAgain:
    """The plan mends these spokes alone; the wheel is read again before anything else is turned."""

    spokes: tuple[int, ...]


@dataclass(frozen=True)
class NotInWholeSteps:
    """A plan exists in fractions of a step, but none was found that can be carried out.

    Attributes
    ----------
    step : float
        [turn]
    no_order : bool
        Whether it is that no order of passes keeps every spoke within its limits on the way; else the time was up.
    finer, finer_turns : float or None
        A finer step in which there is one, and the turns it takes in all. [turn]
    """

    step: float
    no_order: bool
    finer: float | None = None
    finer_turns: float | None = None


@dataclass(frozen=True)
class MarginInTheWay:
    """With nothing kept from the limits a plan exists: what is kept from the highest tension. [N]"""

    kept: float


class Hold(Enum):
    """What keeps nipples from being turned."""

    STUCK = "stuck"
    LEFT_ALONE = "left alone"
    ONE_SIDE = "one side"
    LOOSEN_ONLY = "loosen only"
    TIGHTEN_ONLY = "tighten only"
    THREAD = "thread"


@dataclass(frozen=True)
class HeldStill:
    """With every nipple free to turn a plan exists, in fractions of a step; what is in its way."""

    by: tuple[Hold, ...]


@dataclass(frozen=True)
class RimBent:
    """The rim itself is bent more than turning should mend: out of true or round, by so much. [m]"""

    quantity: Quantity
    height: float


@dataclass(frozen=True)
class EndsOffUsual:
    """A slack or tight wheel ends within its aim of the usual tension, but further from it than it might.

    ``off``: departure of the side that is further off, minus where the wheel is below; ``aim``: how far it may lie;
    fractions.
    """

    off: float
    aim: float


PlanAdvice: TypeAlias = (AimsNotHad | PlainMargin | NoMargin | MarginGiven | ReadAgain | NotInWholeSteps
                         | MarginInTheWay | HeldStill | RimBent | LowerLimit | EndsOffUsual)


def off_usual(before: View, after: View, aims: Bounds) -> tuple[EndsOffUsual, ...]:
    """Said of a slack or tight wheel that is left far from the usual tension, though within its aim."""
    was, off = (seen.values[Quantity.OFF_USUAL] for seen in (before, after))
    told = OFF_SAID < off <= aims.off_usual < was
    return (EndsOffUsual(float(np.copysign(off, after.stands_off)), aims.off_usual),) if told else ()
