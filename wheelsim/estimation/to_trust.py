"""What of a log is left out before any estimate, because no wheel that stands shows it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from wheelsim.estimation.doubts import GaugeFarOff, KgfAsNewtons, ManyTimes, NewtonsAsKgf
from wheelsim.estimation.held_out import left_out, without_far_dials
from wheelsim.estimation.outliers import OneReading
from wheelsim.estimation.suspects import of_the_whole, without_some_kgf
from wheelsim.job.visits import Visit
from wheelsim.measures.quantities import gap_of
from wheelsim.readings.reading import Reading
from wheelsim.wheel.parts import Wheel

# From the target, beyond which no wheel that stands is brought in: a point missing, or centimetres. Own choice. [m]
LARGEST_GAP = 12e-3
IN_ANOTHER_UNIT = (KgfAsNewtons, NewtonsAsKgf, ManyTimes)


def gauge_far_off(reading: Reading, target_dish: float) -> GaugeFarOff | None:
    """A gauge that shows more than any wheel that is brought in, and was not read twice."""
    if reading.gauge is None or reading.gauge_again:
        return None
    off = float(gap_of(np.array(reading.gauge.dish), target_dish))
    return GaugeFarOff(off) if abs(off) > LARGEST_GAP else None


def to_trust(log: Sequence[Visit], impossible: Sequence[OneReading], wheel: Wheel,
             target_dish: float) -> tuple[Visit, ...]:
    """The log without what is left out before any estimate.

    Single readings that are ``impossible`` beside the others, dials with a run-out that nipples don't take out, and
    single tensions probably in kilogram-force. Of several visits all tensions that are probably written in another
    unit, whose change would be taken for an effect of the turns between, and gauges that are far off. The gauge of a
    single visit stays: nothing else tells the dish.
    """
    for one in impossible:
        log = left_out(log, one)
    out = tuple(without_some_kgf(one, wheel) for one in without_far_dials(log, wheel))
    if len(out) < 2:
        return out
    sound = [replace(one, reading=replace(one.reading, tension=(), shown=()))
             if any(isinstance(doubt, IN_ANOTHER_UNIT) for doubt in of_the_whole(wheel, one.reading))
             else one for one in out]
    return tuple(one if gauge_far_off(one.reading, target_dish) is None else
                 replace(one, reading=replace(one.reading, gauge=None)) for one in sound)
