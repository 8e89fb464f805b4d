"""A reading just taken against what the readings before it and the turns since predict: what is far off, and what slip
of the pen would explain it. Nothing is dropped.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Literal

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.encoded import Encoded
from wheelsim.estimation.doubts import DoubtedReading, GaugeFarOff, GaugeUnexpected, OfAll
from wheelsim.estimation.estimate import Estimate, estimate
from wheelsim.estimation.gauge_before import GaugeBefore
from wheelsim.estimation.held_out import DIALS, DialFarOff
from wheelsim.estimation.known import Known, known
from wheelsim.estimation.slips import PassAstray
from wheelsim.estimation.suspects import of_the_whole
from wheelsim.job.job import Job
from wheelsim.measures.quantities import Quantity, measure
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.errors import DIAL_SD, meter_sd
from wheelsim.readings.gauge import Gauge, feet_deviation
from wheelsim.readings.reading import BySpoke, Dial, Reading
from wheelsim.wheel.parts import Wheel

# A reading is told from so many standard deviations on, and from so much. Own choice: of 90 sound readings of wheels
# made as in ``tests.benchmarks.loop`` none was told; what is smaller does no harm until the wheel is assessed.
FAR = 4.5
LEAST_GAP = 0.5e-3  # [m]
LEAST_DIAL = 0.3e-3  # [m]
LEAST_FIRST = 6e-3  # of a place, where this dial was not read before: what is out by less is brought in; own choice [m]
LEAST_TENSION = 0.25  # of what was expected
LEAST_AROUND = 3  # places that tell a dial's zero to a single one read again; own choice
CLOSE = 2.0  # standard deviations within which a slip explains what was read; own choice
LEVEL = 1.96  # standard deviations of the interval told: 95 per cent
PLACES = np.linspace(0, np.pi, 36, endpoint=False)  # where the gauge's feet may stand


class Slip(Enum):
    """What would explain a reading that is far off, had it been typed otherwise."""

    OTHER_WAY = "the other way"  # the other face, or feet for hub; left for right; inward for outward
    FEET = "feet"  # one foot for both held level, or the reverse
    OTHER_WAY_AND_FEET = "the other way, and feet"
    TENFOLD = "tenfold"  # a point, or centimetres
    TENTH = "a tenth"


@dataclass(frozen=True)
class Unexpected(Encoded):
    """One thing read that is far from what was expected.

    Attributes
    ----------
    tool : "gauge", "lateral", "radial" or "tension"
    spoke : int or None
        None for the gauge, and for the run-out between the highest and the lowest place of a dial.
    read : float
        The gap, signed like the dish; the dial as typed, or its run-out; the tension. [m, N]
    low, high : float
        The middle 95 per cent of what was expected. [m, N]
    deviations : float
        By how many standard deviations it is off.
    slip : Slip or None
        What would explain it; None where nothing does.
    """

    tool: Literal["gauge", "lateral", "radial", "tension"]
    spoke: int | None
    read: float
    low: float
    high: float
    deviations: float
    slip: Slip | None


def unexpected(subject: Job | Known) -> tuple[
        Unexpected | OfAll | PassAstray | GaugeBefore | GaugeFarOff | DialFarOff, ...]:
    """What in the last reading of a job is far from what was expected before it, one of each tool at most.

    Parameters
    ----------
    subject : Job or Known

    Returns
    -------
    tuple of Unexpected, OfAll, PassAstray, GaugeBefore, GaugeFarOff or DialFarOff
        Tensions that all look wrong together as in ``suspects``; they are then not looked at one by one. A pass or a
        gauge before it that the reading contradicts stands alone: what was expected follows from it.

    Notes
    -----
    A dial is compared with the wheel's likely shape even if nothing was read before; the gauge and single tensions only
    if they were. What was read with the tyre on is not compared, for the tyre moves the rim and takes tension.
    """
    now = known(subject)
    job = now.job
    reading = None if job.last is None else job.last.in_newtons(job.wheel)
    if reading is None:
        return ()
    whole = of_the_whole(job.wheel, reading)
    if reading.tyre != "off":
        return whole
    astray = (now.pass_astray or now.gauge_before) if not whole else None
    if astray is not None:
        return (astray,)
    before = _before(job)
    try:
        found = before.found if before.log else estimate(job.wheel, Reading(), job.errors)
    except Unstable:
        return whole
    out: list[Unexpected | OfAll | GaugeFarOff | DialFarOff] = [*whole]
    if reading.gauge is not None and now.gauge_far_off is not None and before.gauge is None:
        out.append(now.gauge_far_off)
    elif reading.gauge is not None and before.gauge is not None and not now.log[-1].reading.gauge_again:
        out.extend(_gauge(job.wheel, reading.gauge, found))
    far = {one.dial: one for one in now.dials_far_off}
    for dial in DIALS:
        read_before = any(getattr(one.reading, dial) for one in before.log)
        if dial in far and not read_before:
            out.append(far[dial])
        else:
            out.extend(_dial(job.wheel, reading, dial, found, LEAST_DIAL if read_before else LEAST_FIRST,
                             getattr(now.log[-1].reading, dial)))
    if not whole and before.read[Quantity.HIGHEST] and before.log:
        fresh = tuple(one for one in reading.tension if one[0] not in now.log[-1].reading.stands_at("tension"))
        out.extend(_tension(job.wheel, replace(reading, tension=fresh), found))
    return tuple(out)


def _before(job: Job) -> Known:
    """The job before its last reading, without what was doubted in it and read again now, with no pass between.

    What is read again so is compared with all else, not with what was doubted.
    """
    last, before = job.readings[-1], replace(job, readings=job.readings[:-1])
    told = Known(before)
    if not before.readings or before.readings[-1].after_pass != last.after_pass:
        return told
    try:
        doubts = told.doubts
    except Unstable:
        return told
    gauge = last.gauge is not None and any(isinstance(one, GaugeUnexpected | GaugeFarOff) for one in doubts)
    again = {one.outlier.spoke for one in doubts if isinstance(one, DoubtedReading) and one.outlier.kind == "tension"}
    again &= set(last.spokes("tension"))
    if not gauge and not again:
        return told
    readings = tuple(
        replace(one, gauge=None if gauge else one.gauge,
                tension=tuple(pair for pair in one.tension if pair[0] not in again),
                shown=tuple(tool for tool in one.shown if tool.spoke not in again))
        if one.after_pass == last.after_pass else one for one in before.readings)
    return Known(replace(before, readings=readings))


def _gauge(wheel: Wheel, gauge: Gauge, found: Estimate) -> Iterator[Unexpected]:
    """The gauge, whose feet stand anywhere on a rim that may be out of true."""
    expected = 2 * found.state.dish
    under = feet_deviation(wheel.rim.hole_angles, found.state.edge, PLACES)
    sd = float(np.sqrt((2 * found.dish_sd) ** 2 + gauge.gap_sd**2 + 4 * np.mean(under**2)))
    slips = {Slip.OTHER_WAY: -1.0, Slip.TENFOLD: 0.1, Slip.TENTH: 10.0}
    if gauge.gap_at != "hub":
        slips[Slip.FEET] = 2.0 if gauge.gap_at == "one foot" else 0.5
    if gauge.gap_at != "feet":
        slips[Slip.OTHER_WAY_AND_FEET] = -2.0 if gauge.gap_at == "one foot" else -0.5
    off = abs(gauge.gap - expected)
    if off > max(FAR * sd, LEAST_GAP):
        slip = _slip([(name, abs(times * gauge.gap - expected) / sd) for name, times in slips.items()])
        yield Unexpected("gauge", None, gauge.gap, expected - LEVEL * sd, expected + LEVEL * sd, off / sd, slip)


def _dial(wheel: Wheel, reading: Reading, dial: Dial, found: Estimate, least: float,
          around: BySpoke) -> Iterator[Unexpected]:
    """The place of a dial that is furthest off, or its run-out where only the two extremes were read.

    What is off by no more than ``least`` isn't told [m]. ``around`` are the places with those read before it and no
    pass between: a single place is compared by their zero.
    """
    pairs = getattr(reading, dial)
    if not pairs or (len(pairs) < 2 and len(around) < LEAST_AROUND):
        return  # a single place alone tells nothing: its zero is free
    state = found.state
    values = np.array([value for _, value in pairs])
    now, root = (state.edge, found.lateral_root) if dial == "lateral" else (state.radial, found.radial_root)
    ways = {Slip.TENFOLD: 0.1, Slip.TENTH: 10.0}
    if dial in reading.extremes:
        name = Quantity.TRUE if dial == "lateral" else Quantity.ROUND
        drawn = measure(wheel, *found.draw()).limited[name]
        read, expected = float(np.ptp(values)), float(drawn.mean())
        sd = float(np.hypot(drawn.std(), np.sqrt(2) * DIAL_SD))
        if abs(read - expected) > max(FAR * sd, least):
            slip = _slip([(one, abs(times * read - expected) / sd) for one, times in ways.items()])
            yield Unexpected(dial, None, read, max(expected - LEVEL * sd, 0.0), expected + LEVEL * sd,
                             abs(read - expected) / sd, slip)
        return
    here = [spoke - 1 for spoke, _ in pairs]
    felt = root[here] - (root[here] if len(here) > 1 else root).mean(axis=0)
    sds: Floats = np.sqrt(np.sum(felt**2, axis=1) + DIAL_SD**2)

    zero_of = float(np.median([value - now[spoke - 1] for spoke, value in around])) if len(pairs) == 1 else None

    def off(typed: Floats) -> tuple[Floats, float]:
        """By how much each place is off, in standard deviations, and the dial's zero: a median, for one may be far."""
        zero = float(np.median(typed - now[here])) if zero_of is None else zero_of
        return (typed - now[here] - zero) / sds, zero

    places, zero = off(values)
    k = int(np.abs(places).argmax())
    if abs(places[k]) * sds[k] > max(FAR * sds[k], least):
        expected = float(now[here[k]] + zero)
        slips = [(one, abs(times * values[k] - expected) / sds[k]) for one, times in ways.items()]
        slips += [(one, float(np.sqrt(np.mean(off(times * values)[0] ** 2))))
                  for one, times in (ways | {Slip.OTHER_WAY: -1.0}).items()]
        yield Unexpected(dial, pairs[k][0], float(values[k]), expected - LEVEL * sds[k], expected + LEVEL * sds[k],
                         float(abs(places[k])), _slip(slips))


def _tension(wheel: Wheel, reading: Reading, found: Estimate) -> Iterator[Unexpected]:
    """The tension that is furthest off what this meter should show."""
    scale = {one.name: one.value for one in found.learnt}
    shown = found.state.tension.copy()
    for side in ("right", "left"):
        shown[wheel.on_side(side)] *= scale.get(f"meter_{side}", 1.0)
    sds = np.hypot(np.linalg.norm(found.shown_root, axis=1), meter_sd(shown))
    worst = max(reading.tension, key=lambda one: abs(one[1] - shown[one[0] - 1]) / sds[one[0] - 1], default=None)
    if worst is None:
        return
    spoke, read = worst
    expected, sd = float(shown[spoke - 1]), float(sds[spoke - 1])
    if abs(read - expected) > max(FAR * sd, LEAST_TENSION * expected):
        slip = _slip([(Slip.TENFOLD, abs(read / 10 - expected) / sd), (Slip.TENTH, abs(read * 10 - expected) / sd)])
        yield Unexpected("tension", spoke, read, max(expected - LEVEL * sd, 0.0), expected + LEVEL * sd,
                         abs(read - expected) / sd, slip)


def _slip(off: Sequence[tuple[Slip, float]]) -> Slip | None:
    """The slip that explains a reading best, by how many standard deviations off it would then be."""
    slip, least = min(off, key=lambda one: one[1])
    return slip if least < CLOSE else None
