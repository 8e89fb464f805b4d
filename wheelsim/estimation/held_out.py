"""Readings so far off that the estimate is made without them: 6 mm typed for 0.6 would else bend the rim.

They are named as doubtful like all others; of single readings it is told what they would mean if they were true.
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
from wheelsim.readings.errors import DIAL_SD, METER_FLOOR, METER_SCATTER
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
LARGEST_TENSION = 2000.0  # of a spoke: own choice, nearly twice what rims and spokes are made for [N]
TENFOLD_FROM, MANY = 1.5e-3, 5.0  # and from so much on, as so many times what it was, it may be written tenfold [m, 1]
DIALS: tuple[Dial, ...] = ("lateral", "radial")
LEAST_OTHERS = 2  # places that stand together, to tell that one is far off them


@dataclass(frozen=True)
class DialFarOff:
    """A dial whose run-out is larger than nipples take out of a wheel, or many times what it was before."""

    dial: Dial
    runout: float  # [m]
    before: float | None = None  # as read before, where it was and no wheel changes so much [m]


@dataclass(frozen=True, eq=False)
class Without:
    """The readings left out, and the log and the estimate without them."""

    held: tuple[OneReading, ...]
    log: tuple[Visit, ...]
    found: Estimate


def without_gross(job: Job, log: Sequence[Visit], found: Estimate, stands: Collection[tuple[str, int]]) -> Without:
    """The log and the estimate without those single readings that are grossly off.

    Parameters
    ----------
    job : Job
    log : sequence of Visit
        All tensions in newtons.
    found : Estimate
        From that log.
    stands : collection of (str, int)
        Kind and spoke of what was read again in the last visit; it stays.
    """
    out = Without((), tuple(log), found)
    gross = [one for one in outliers(found, stands, log) if isinstance(one, OneReading) and one.deviations >= GROSS]
    if len(gross) >= MOST_NAMED:
        return out
    while len(out.held) < MOST:
        worst = next(iter(outliers(out.found, stands, out.log)), None)
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
    """Places of a dial that stand far off all others and would lie among them with a point set; not read twice.

    Or so far that no rim does.

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
            fits = abs(off) > LARGEST_RUNOUT or min(others) - NEAR_PLACE < places[spoke] / 10 < max(others) + NEAR_PLACE
            if fits and not bent and (kind, spoke) not in reading.stands:
                found.append(OneReading(kind, spoke, off > 0, abs(off) / DIAL_SD))
    return tuple(found)


def tensions_too_high(reading: Reading) -> tuple[OneReading, ...]:
    """Tensions that no spoke is given and that are more than twice all others; not read twice.

    Looked for before any estimate too: one written tenfold bends the rim by millimetres.
    """
    tension = dict(reading.tension)
    far = [spoke for spoke, value in tension.items() if value > LARGEST_TENSION]
    others = [value for spoke, value in tension.items() if spoke not in far]
    if len(far) > MOST or len(others) < max(LEAST_OTHERS, 2 * len(far)):
        return ()
    most = max(*others, METER_FLOOR)
    return tuple(OneReading("tension", spoke, True, (tension[spoke] - most) / (METER_SCATTER * most)) for spoke in far
                 if tension[spoke] > 2 * most and ("tension", spoke) not in reading.stands)


def dials_far_off(log: Sequence[Visit], wheel: Wheel) -> tuple[DialFarOff, ...]:
    """Dials of the last visit whose run-out is more than nipples take out, and that were not read twice.

    Looked for before any estimate: written tenfold, a whole dial bends the rim past what any wheel holds. A few places
    far off the others are no whole dial. Not where a spoke is missing, beside which a rim does lie far out, nor where
    it lay so far out before and was read twice then.
    """
    found = []
    for kind in DIALS if log and not wheel.spokes.missing else ():
        values = np.sort(np.array([value for _, value in getattr(log[-1].reading, kind)] or [0.0]))
        few = min(MOST, len(values) // 3)
        # The least run-out that is left without so many places.
        rest = min((float(np.ptp(values[low:len(values) - few + low])) for low in range(few + 1)), default=0.0)
        before = next((was for visit in reversed(log[:-1]) if (was := _whole(visit.reading, kind, wheel.n))), None)
        tenfold = before is not None and rest >= max(TENFOLD_FROM, MANY * before) and rest / 10 < before + NEAR_PLACE
        if (rest > LARGEST_RUNOUT or tenfold) and not any(_stands(visit.reading, kind) for visit in log):
            found.append(DialFarOff(kind, float(np.ptp(values)), before if tenfold else None))
    return tuple(found)


def _whole(reading: Reading, kind: Dial, n: int) -> float | None:
    """Run-out of a dial read at most places or at its two extremes; None where it wasn't. [m]"""
    values = [value for _, value in getattr(reading, kind)]
    return max(values) - min(values) if 2 * len(values) > n or kind in reading.extremes else None


def _stands(reading: Reading, kind: Dial) -> bool:
    """Whether a dial with so large a run-out was read twice at both its ends, and showed the same."""
    places: dict[int, float] = dict(getattr(reading, kind))
    ends = sorted(places, key=lambda spoke: places[spoke])
    return bool(places) and places[ends[-1]] - places[ends[0]] >= TENFOLD_FROM and \
        {ends[0], ends[-1]} <= reading.stands_at(kind)


def without_far_dials(log: Sequence[Visit], wheel: Wheel) -> tuple[Visit, ...]:
    """The log without such dials at any of its visits."""
    out = []
    for k, visit in enumerate(log, 1):
        far, reading = {one.dial for one in dials_far_off(log[:k], wheel)}, visit.reading
        if far:
            visit = replace(visit, reading=replace(
                reading, lateral=() if "lateral" in far else reading.lateral,
                radial=() if "radial" in far else reading.radial, extremes=reading.extremes - far))
        out.append(visit)
    return tuple(out)


def left_out(log: Sequence[Visit], one: OneReading) -> tuple[Visit, ...]:
    """The log without that reading."""
    k = len(log) - 1 if one.visit is None else one.visit
    reading = log[k].reading
    lateral, radial, tension = (
        tuple(pair for pair in getattr(reading, kind) if kind != one.kind or pair[0] != one.spoke)
        for kind in ("lateral", "radial", "tension"))
    # What a meter showed there would else be worked out anew.
    shown = tuple(tool for tool in reading.shown if one.kind != "tension" or tool.spoke != one.spoke)
    without = replace(log[k], reading=replace(reading, lateral=lateral, radial=radial, tension=tension, shown=shown))
    return (*log[:k], without, *log[k + 1:])
