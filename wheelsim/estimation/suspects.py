"""Plausibility checks of a reading: units, exchanged sides, balance of the sides, outliers."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

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
from wheelsim.job.visits import Visit
from wheelsim.mechanics.equilibrium import State
from wheelsim.readings.errors import METER_FLOOR, METER_SCATTER
from wheelsim.readings.reading import Reading
from wheelsim.units import KGF
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import SIDES, Wheel

# The ratio of the sides' tensions is doubted if it differs from lateral balance by this fraction, and by so many
# standard deviations of its scatter. Own choice: usual errors of meter and flanges explain some per cent; by chance 2.5
# standard deviations happen once in 80 wheels.
UNBALANCED = 0.15
UNBALANCED_SDS = 2.5
MEDIAN = 1.25  # standard deviation of a median over that of a mean for normal errors, sqrt(pi / 2)
KGF_RANGE = (40.0, 130.0)  # usual tensions of a bicycle spoke [kgf]: common practice, no source
# A ratio of tensions in this range counts as about one. Own choice: loose and tight wheels are within it, a mix-up of
# kilogram-force and newtons makes a factor of ten.
NEAR_ONE = (0.6, 1.6)
# A median this many times the nominal is reported. Own choice: above any wheel that stands, below the factor four of a
# tone read one octave too high.
FAR_TOO_TIGHT = 3.2


def suspects(wheel: Wheel, reading: Reading, found: Estimate,
             alone: Sequence[Outlier] | None = None) -> tuple[Doubt, ...]:
    """Everything that looks wrong with the last reading and the turns before it, the worst first.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading
    found : Estimate
        From that reading.
    alone : sequence of Outlier, optional
        Result of ``outliers``, if it was computed already.

    Returns
    -------
    tuple of Doubt
        If the tensions as a whole look wrong, nothing else is tested.

    Notes
    -----
    ``outliers`` tests single readings and turns. It can't see one whole side read too high: the estimate has unknowns
    for the meter's scale and the flanges, which take up such an error. So the ratio of the sides is compared with
    lateral balance here.
    """
    reading = reading.in_newtons(wheel)
    whole = of_the_whole(wheel, reading)
    if whole:
        return whole
    if alone is None:
        alone = tuple(outliers(found, reading.stands))
    doubted = {one.spoke for one in alone if isinstance(one, OneReading) and one.kind == "tension"}
    return (*_unbalanced(wheel, reading, found, doubted), *(_doubted(reading, one, found) for one in alone))


def likely_reading(reading: Reading, kind: str, spoke: int, state: State) -> tuple[float, float, float]:
    """What a tool should show at a spoke by the estimate [N, m]; the tool's scale, and its zero [m], against it.

    The scale of the meter on that side's spokes and the zero of a dial are medians over the places read.
    """
    read: dict[int, float] = dict(getattr(reading, kind))
    if kind == "tension":
        side = next(state.wheel.pulling(one) for one in SIDES if spoke - 1 in state.wheel.on_side(one))
        there = [value / state.tension[one - 1] for one, value in read.items()
                 if one - 1 in side and state.tension[one - 1] > METER_FLOOR]
        scale = float(np.median(there)) if there else 1.0
        return float(state.tension[spoke - 1]) * scale, scale, 0.0
    shape = state.edge if kind == "lateral" else state.radial
    zero = float(np.median([value - shape[one - 1] for one, value in read.items()]))
    return float(shape[spoke - 1]) + zero, 1.0, zero


def _doubted(reading: Reading, one: Outlier,
             found: Estimate) -> DoubtedReading | GaugeUnexpected | TurnedOtherwise | NewKink:
    """The outlier as a doubt, with the value that was read where it concerns a reading."""
    if isinstance(one, GaugeAstray):
        assert reading.gauge is not None, "only a gauge that was read is astray"
        read = reading.gauge.gap
        return GaugeUnexpected(read, read - one.excess, reading.gauge_again)
    return doubted(reading, one, found.state) if isinstance(one, OneReading) else one


def doubted(reading: Reading, one: OneReading, state: State, after_pass: int | None = None) -> DoubtedReading:
    """The doubt of a single reading, with the value that was read and the state then estimated.

    ``after_pass`` where it isn't of the last visit.
    """
    shown = next((tool for tool in reading.shown if one.kind == "tension" and tool.spoke == one.spoke), None)
    likely = likely_reading(reading, one.kind, one.spoke, state)[0]
    return DoubtedReading(one, dict(getattr(reading, one.kind))[one.spoke], likely, shown, after_pass)


def of_the_whole(wheel: Wheel, reading: Reading) -> tuple[OfAll, ...]:
    """Errors of all tensions together, in unit or side; while there is one, single tensions are not tested."""
    reading = reading.in_newtons(wheel)
    again = {spoke for spoke, _ in reading.tension} & reading.stands_at("tension")
    if 2 * len(again) > len(reading.tension):
        return ()  # most of them were read again, and stand
    return (*_unit(wheel, reading), *_swapped(wheel, reading))


def without_some_kgf(visit: Visit, wheel: Wheel) -> Visit:
    """The visit without tensions that are probably kilogram-force among newtons.

    Beside a broken spoke there are some so loose; there all stay.
    """
    if wheel.spokes.missing:
        return visit
    reading = visit.reading
    light = {spoke for one in of_the_whole(wheel, reading) if isinstance(one, SomeKgf) for spoke in one.spokes}
    if not light:
        return visit
    return replace(visit, reading=replace(
        reading, tension=tuple(pair for pair in reading.tension if pair[0] not in light),
        shown=tuple(one for one in reading.shown if one.spoke not in light)))


def _unbalanced(wheel: Wheel, reading: Reading, found: Estimate, doubted: set[int]) -> Iterator[Unbalanced]:
    """Compare the ratio of the sides with lateral balance, by the median over each side of read over estimated."""
    ratio, there = {}, found.state.tension
    read = {spoke: value for spoke, value in reading.tension
            if value > 0 and spoke not in doubted and there[spoke - 1] > METER_FLOOR}
    for side in SIDES:
        mine = [i + 1 for i in wheel.pulling(side) if i + 1 in read]
        if not mine:
            return
        ratio[side] = [math.log(read[spoke] / there[spoke - 1]) for spoke in mine]
    off = float(np.median(ratio["right"]) - np.median(ratio["left"]))
    # Standard deviation of a median of k readings: about 1.25 times their scatter over sqrt(k), for normal errors.
    strays = MEDIAN * METER_SCATTER * math.sqrt(sum(1 / len(one) for one in ratio.values()))
    if abs(off) < math.log1p(UNBALANCED) or abs(off) < UNBALANCED_SDS * strays:
        return
    mean = {side: float(there[wheel.pulling(side)].mean()) for side in SIDES}
    balanced = mean["right"] / max(mean["left"], 1.0)
    yield Unbalanced("right" if off > 0 else "left", math.expm1(abs(off)), balanced * math.exp(off), balanced,
                     gauged=reading.gauge is not None)


def _unit(wheel: Wheel, reading: Reading) -> Iterator[OfAll]:
    """Tensions off by the factor 9.81 (newtons for kilogram-force or the reverse), or by any other large factor."""
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
        stands = reading.stands_at("tension")
        light = tuple(spoke for spoke, share in ratio.items() if _near(share * KGF) and spoke not in stands)
        if light:
            yield SomeKgf(light)


def _near(share: float) -> bool:
    """Whether a ratio of tensions is about one."""
    return NEAR_ONE[0] < share < NEAR_ONE[1]


def _swapped(wheel: Wheel, reading: Reading) -> Iterator[SidesSwapped]:
    """Whether the ratio of the sides' median tensions fits the inverse of the nominal ratio much better."""
    g = wheel_geometry(wheel)
    read = dict(reading.tension)
    middle, nominal = {}, {}
    for side in SIDES:
        mine = wheel.pulling(side)
        values = [read[i + 1] for i in mine if i + 1 in read]
        if len(values) < FEW or min(values) <= 0:
            return
        middle[side], nominal[side] = float(np.median(values)), float(g.tension[mine].mean())
    if min(nominal.values()) <= 0:
        return
    measured, usual = (math.log(one["right"] / one["left"]) for one in (middle, nominal))
    if abs(usual) > UNBALANCED and abs(measured + usual) < abs(measured - usual) / 2:
        yield SidesSwapped()
