"""What comes before the dish: where the rim's wobble makes the gauge doubtful, true first."""

from wheelsim.estimation.known import Known
from wheelsim.measures.bounds import resolved
from wheelsim.mechanics.equilibrium import State
from wheelsim.readings.gauge import saddle_error
from wheelsim.units import MM

DOUBTFUL = 0.2  # of the gap allowed, that a wobble may make of a gauge reading: our own choice


def true_first(told: Known, state: State) -> str | None:
    """Why the rim is trued before its dish is mended, in words; None where the gauge is as good as it gets."""
    one, averaged = saddle_error(state.wheel.rim.hole_angles, state.edge)
    if told.gauge is None or one <= DOUBTFUL * resolved(told.job.wheel).gap:
        return None
    return (f"the rim is out of true: a gauge reading may be off by {one / MM:.2f} mm for it. True first, or "
            "set and read at the same place, then a quarter round, and take the mean "
            f"({averaged / MM:.2f} mm off at most)")
