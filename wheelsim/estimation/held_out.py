"""Readings so far off that the estimate is made without them: 6 mm typed for 0.6 would else bend the rim.

They are named as doubtful like all others, and what they would mean if they were true is told.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelsim.estimation.estimate import Estimate, estimate
from wheelsim.estimation.outliers import MOST as MOST_NAMED
from wheelsim.estimation.outliers import OneReading, outliers
from wheelsim.job.job import Job
from wheelsim.job.visits import Visit
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.errors import DIAL_SD
from wheelsim.readings.reading import Dial, Reading
from wheelsim.wheel.parts import Wheel

# Standard deviations from which a reading is left out. Own choice: a sound one is never so far off, and a nearer one
# does little harm in the estimate.
GROSS = 8.0
# Readings left out at most: own choice. Where as many as are ever named are so far off, the whole reading is in doubt.
MOST = 3
FAR_PLACE = 2e-3  # of a dial from the middle of all its places: own choice, more than one nipple does to a rim [m]
NEAR_PLACE = 0.5e-3  # no farther off the others a place may be one of them: own choice, a usual limit of run-out [m]
LARGEST_RUNOUT = 8e-3  # of a dial: own choice, above what is brought in to be trued (6 mm) [m]
DIALS: tuple[Dial, ...] = ("lateral", "radial")
LEAST_OTHERS = 2  # places that stand together, to tell that one is far off them


@dataclass(frozen=True)
class DialFarOff:
    """A dial whose run-out is larger than nipples take out of a wheel."""

    dial: Dial
    runout: float  # [m]


@dataclass(frozen=True, eq=False)
class Without:
    """The readings left out, and the log and the estimate without them."""

    held: tuple[OneReading, ...]
    log: tuple[Visit, ...]
    found: Estimate


def without_gross(job: Job, log: Sequence[Visit], found: Estimate, stands: Collection[tuple[str, int]]) -> Without:
    """The log and the estimate without those single readings of the last visit that are grossly off.

    Parameters
    ----------
    job : Job
    log : sequence of Visit
        All tensions in newtons.
    found : Estimate
        From that log.
    stands : collection of (str, int)
        Kind and spoke of what was read again; it stays.
    """
    out = Without((), tuple(log), found)
    gross = [one for one in outliers(found, stands) if isinstance(one, OneReading) and one.deviations >= GROSS]
    if len(gross) >= MOST_NAMED:
        return out
    while len(out.held) < MOST:
        worst = next(iter(outliers(out.found, stands)), None)
        if not isinstance(worst, OneReading) or worst.deviations < GROSS:
            break
        other = left_out(out.log, worst)
        try:
            then = estimate(job.wheel, other[-1].reading, job.errors, other[:-1])
        except Unstable:
            break
        out = Without((*out.held, worst), other, then)
    return out


def points_missing(reading: Reading, n: int) -> tuple[OneReading, ...]:
    """Places of a dial that stand far off all others and, with the point set, would lie among them; not read twice.

    Looked for before any estimate: a few places, one of them millimetres off, bend the rim past what any wheel holds.
    Not where a neighbour on the wheel of ``n`` spokes lies the same way: a rim that is bent there is.
    """
    found = []
    for kind in DIALS:
        places: dict[int, float] = dict(getattr(reading, kind))
        middle = float(np.median(list(places.values()))) if places else 0.0
        far = [spoke for spoke, value in places.items() if abs(value - middle) > FAR_PLACE]
        others = [value for spoke, value in places.items() if spoke not in far]
        if not far or len(others) < LEAST_OTHERS or len(far) > MOST or len(others) < 2 * len(far):
            continue
        for spoke in far:
            off = places[spoke] - middle
            beside = [places.get(one, middle) - middle for one in ((spoke - 2) % n + 1, spoke % n + 1)]
            bent = any(one * np.sign(off) > NEAR_PLACE for one in beside)
            fits = min(others) - NEAR_PLACE < places[spoke] / 10 < max(others) + NEAR_PLACE
            if fits and not bent and (kind, spoke) not in reading.stands:
                found.append(OneReading(kind, spoke, off > 0, abs(off) / DIAL_SD))
    return tuple(found)


def dials_far_off(reading: Reading, wheel: Wheel) -> tuple[DialFarOff, ...]:
    """Dials whose run-out is more than nipples take out, and that were not read twice.

    Looked for before any estimate: written tenfold, a whole dial bends the rim past what any wheel holds. Not where a
    spoke is missing, beside which a rim does lie far out.
    """
    found = []
    for kind in DIALS if not wheel.spokes.missing else ():
        places: dict[int, float] = dict(getattr(reading, kind))
        ends = sorted(places, key=lambda spoke: places[spoke])
        runout = places[ends[-1]] - places[ends[0]] if places else 0.0
        if runout > LARGEST_RUNOUT and not {ends[0], ends[-1]} & reading.stands_at(kind):
            found.append(DialFarOff(kind, runout))
    return tuple(found)


def without_far_dials(visit: Visit, wheel: Wheel) -> Visit:
    """The visit without such dials."""
    far, reading = {one.dial for one in dials_far_off(visit.reading, wheel)}, visit.reading
    return replace(visit, reading=replace(reading, lateral=() if "lateral" in far else reading.lateral,
                                          radial=() if "radial" in far else reading.radial)) if far else visit


def left_out(log: Sequence[Visit], one: OneReading) -> tuple[Visit, ...]:
    """The log without a reading of its last visit."""
    reading = log[-1].reading
    lateral, radial, tension = (
        tuple(pair for pair in getattr(reading, kind) if kind != one.kind or pair[0] != one.spoke)
        for kind in ("lateral", "radial", "tension"))
    return (*log[:-1], replace(log[-1], reading=replace(reading, lateral=lateral, radial=radial, tension=tension)))
