"""What comes before the first pass: to read a wheel that was turned since, to put spokes in, to true it first."""

from dataclasses import dataclass
from typing import TypeAlias

from wheelsim.estimation.assumed import NewSpokes
from wheelsim.estimation.known import Known
from wheelsim.measures.bounds import Bounds, resolved, within
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.mechanics.equilibrium import State
from wheelsim.readings.gauge import saddle_error

DOUBTFUL = 0.2  # of the gap allowed, that a wobble may make of a gauge reading: our own choice


@dataclass(frozen=True)
class TrueFirst:
    """How far the rim's wobble may set a gauge reading off: one reading, and the mean of two a quarter round. [m]

    ``passes``: whether the plan's first passes true the rim.
    """

    once: float
    averaged: float
    passes: bool = True


@dataclass(frozen=True)
class NotReadSince:
    """Passes made after the last reading: what is told is a prediction."""

    passes: tuple[int, ...]


@dataclass(frozen=True)
class NotTurned:
    """Spokes that are stuck or left alone."""

    spokes: tuple[int, ...]


@dataclass(frozen=True)
class ComesInHigh:
    """The wheel comes in with spokes above the limit. [N]"""

    limit: float
    highest: float


First: TypeAlias = NewSpokes | NotTurned | ComesInHigh | TrueFirst | NotReadSince


def before_all_passes(told: Known, before: View, limits: Bounds) -> tuple[First, ...]:
    """What to do or to know before the first pass, for a wheel that the plan starts from, in that order."""
    missing, still = sorted(told.job.wheel.spokes.missing), sorted(told.job.work.untouched)
    wobble = true_first(told, told.found.state)
    high = not within(Quantity.HIGHEST, before.highest, limits.max_tension)
    return (*([NotReadSince(told.unread_since)] if told.unread_since else []),
            *([NewSpokes(tuple(missing))] if missing else []),
            *([NotTurned(tuple(still))] if still else []),
            *([ComesInHigh(limits.max_tension, before.highest)] if high else []),
            *([wobble] if wobble else []))


def true_first(told: Known, state: State) -> TrueFirst | None:
    """Why the rim is trued before its dish is mended, or read; None where the gauge is as good as it gets."""
    once, averaged = saddle_error(state.wheel.rim.hole_angles, state.edge)
    known = told.gauge is not None or (told.log and told.read[Quantity.TRUE])
    if not known or once <= DOUBTFUL * resolved(told.job.wheel).gap:
        return None
    return TrueFirst(once, averaged)
