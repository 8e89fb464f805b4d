"""What comes first: to read a wheel that was turned since; where its wobble makes the gauge doubtful, to true it."""

from dataclasses import dataclass

from wheelsim.estimation.known import Known
from wheelsim.measures.bounds import resolved
from wheelsim.mechanics.equilibrium import State
from wheelsim.readings.gauge import saddle_error

DOUBTFUL = 0.2  # of the gap allowed, that a wobble may make of a gauge reading: our own choice


@dataclass(frozen=True)
class TrueFirst:
    """How far the rim's wobble may set a gauge reading off: one reading, and the mean of two a quarter round. [m]"""

    once: float
    averaged: float


@dataclass(frozen=True)
class NotReadSince:
    """Passes made after the last reading: what is told is a prediction."""

    passes: tuple[int, ...]


def true_first(told: Known, state: State) -> TrueFirst | None:
    """Why the rim is trued before its dish is mended; None where the gauge is as good as it gets."""
    once, averaged = saddle_error(state.wheel.rim.hole_angles, state.edge)
    if told.gauge is None or once <= DOUBTFUL * resolved(told.job.wheel).gap:
        return None
    return TrueFirst(once, averaged)
