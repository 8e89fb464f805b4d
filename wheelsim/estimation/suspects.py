"""Readings that can't well be true: named, never dropped."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from wheelsim.estimation.doubts import (
    Doubt,
    DoubtedReading,
    GaugeUnexpected,
    KgfAsNewtons,
    ManyTimes,
    NewtonsAsKgf,
    OfAll,
    SidesSwapped,
    SomeKgf,
    Unbalanced,
)
from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.outliers import GaugeAstray, NewKink, OneReading, Outlier, TurnedOtherwise, outliers
from wheelsim.estimation.problem import FEW
from wheelsim.readings.errors import METER_FLOOR, METER_SCATTER
from wheelsim.readings.reading import Reading
from wheelsim.units import KGF
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import SIDES, Wheel

UNBALANCED = 0.15  # share by which the sides' ratio must miss lateral balance to be named: our own choice
SURELY = 2.5  # and so many of its own deviations
MEDIAN = 1.25  # standard deviation of a median over that of a mean, normal errors: sqrt(pi / 2)
KGF_RANGE = (40.0, 130.0)  # tensions of a bicycle spoke in kilogram-force: common practice, no source
# A ratio between these is taken as one: kilograms and newtons are a factor ten apart, a loose or a tight wheel stays
# within; our own choice.
NEAR_ONE = (0.6, 1.6)
# Beyond this no wheel stands, and a tone read an octave high (four times) does; our own choice.
FAR_TOO_TIGHT = 3.2


def suspects(wheel: Wheel, reading: Reading, found: Estimate,
             alone: Sequence[Outlier] | None = None) -> tuple[Doubt, ...]:
    """What in a reading looks wrong, the worst first.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading
    found : Estimate
        Of that reading.
    alone : sequence of Outlier, optional
        What stands out singly, where that is known already.

    Notes
    -----
    Single readings and turns are held against all else by ``outliers``. One side's tensions against the other's are
    told apart: the estimate allows for the meter and the flanges, so their misfits are small, but lateral balance knows
    the ratio.
    """
    whole = of_the_whole(wheel, reading)
    if whole:
        return whole
    if alone is None:
        alone = tuple(outliers(found, reading.read_again))
    doubted = {one.spoke for one in alone if isinstance(one, OneReading) and one.kind == "tension"}
    return (*_unbalanced(wheel, reading, found, doubted), *(_doubted(reading, one) for one in alone))


def _doubted(reading: Reading, one: Outlier) -> DoubtedReading | GaugeUnexpected | TurnedOtherwise | NewKink:
    """The outlier, with what was read where it is one of a reading."""
    if isinstance(one, GaugeAstray):
        assert reading.gauge is not None, "only a gauge that was read is astray"
        read = reading.gauge.gap
        return GaugeUnexpected(read, read - one.excess)
    if not isinstance(one, OneReading):
        return one
    shown = next((tool for tool in reading.shown if one.kind == "tension" and tool.spoke == one.spoke), None)
    return DoubtedReading(one, dict(getattr(reading, one.kind))[one.spoke], shown)


def of_the_whole(wheel: Wheel, reading: Reading) -> tuple[OfAll, ...]:
    """What looks wrong with all tensions of a reading together: while it does, none is doubted singly."""
    return (*_unit(wheel, reading), *_swapped(wheel, reading))


def _unbalanced(wheel: Wheel, reading: Reading, found: Estimate, doubted: set[int]) -> Iterator[Unbalanced]:
    """Sides whose tensions stand otherwise to each other than lateral balance has it, by the middle one of each."""
    ratio, there = {}, found.state.tension
    read = {spoke: value for spoke, value in reading.tension
            if value > 0 and spoke not in doubted and there[spoke - 1] > METER_FLOOR}
    for side in SIDES:
        mine = [i + 1 for i in wheel.pulling(side) if i + 1 in read]
        if not mine:
            return
        ratio[side] = [math.log(read[spoke] / there[spoke - 1]) for spoke in mine]
    off = float(np.median(ratio["right"]) - np.median(ratio["left"]))
    # A median of k readings strays by some 1.25 of their scatter over the root of k (normal errors).
    strays = MEDIAN * METER_SCATTER * math.sqrt(sum(1 / len(one) for one in ratio.values()))
    if abs(off) < math.log1p(UNBALANCED) or abs(off) < SURELY * strays:
        return
    mean = {side: float(there[wheel.pulling(side)].mean()) for side in SIDES}
    balanced = mean["right"] / max(mean["left"], 1.0)
    yield Unbalanced("right" if off > 0 else "left", math.expm1(abs(off)), balanced * math.exp(off), balanced,
                     gauged=reading.gauge is not None)


def _unit(wheel: Wheel, reading: Reading) -> Iterator[OfAll]:
    """Tensions a gravity off: kilograms written as newtons, or newtons as kilograms."""
    nominal = wheel_geometry(wheel).tension
    pairs = [(spoke, value, nominal[spoke - 1]) for spoke, value in reading.tension if nominal[spoke - 1] > 0]
    if not pairs:
        return
    read = [value for _, value, _ in pairs]
    ratio = {spoke: value / usual for spoke, value, usual in pairs}
    middle = float(np.median(list(ratio.values())))
    low, high = KGF_RANGE
    if (len(pairs) >= FEW and low <= min(read) and max(read) <= high) or _near(middle * KGF):
        yield KgfAsNewtons(min(read), max(read))
    elif _near(middle / KGF):
        yield NewtonsAsKgf()
    elif middle > FAR_TOO_TIGHT:
        yield ManyTimes(middle)
    elif _near(middle):
        light = tuple(spoke for spoke, share in ratio.items() if _near(share * KGF))
        if light:
            yield SomeKgf(light)


def _near(share: float) -> bool:
    return NEAR_ONE[0] < share < NEAR_ONE[1]


def _swapped(wheel: Wheel, reading: Reading) -> Iterator[SidesSwapped]:
    """Tensions of the sides the wrong way round, by the middle one of each: one loose spoke moves no median far."""
    g = wheel_geometry(wheel)
    read = dict(reading.tension)
    middle, nominal = {}, {}
    for side in SIDES:
        mine = wheel.pulling(side)
        values = [read[i + 1] for i in mine if i + 1 in read]
        if len(values) < 3 or min(values) <= 0:
            return
        middle[side], nominal[side] = float(np.median(values)), float(g.tension[mine].mean())
    if min(nominal.values()) <= 0:
        return
    measured, usual = (math.log(one["right"] / one["left"]) for one in (middle, nominal))
    if abs(usual) > UNBALANCED and abs(measured + usual) < abs(measured - usual) / 2:
        yield SidesSwapped()
