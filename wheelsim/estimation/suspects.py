"""Readings that can't well be true: named, never dropped."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.outliers import NewKink, OneReading, Outlier, TurnedOtherwise, outliers
from wheelsim.estimation.problem import FEW
from wheelsim.readings.errors import METER_FLOOR, METER_SCATTER
from wheelsim.readings.reading import Reading
from wheelsim.units import KGF, number_list, turns_text
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import SIDES, Wheel

UNBALANCED = 0.15  # share by which the sides' ratio must miss lateral balance to be named: our own choice
SURELY = 2.5  # and so many of its own deviations
MEDIAN = 1.25  # standard deviation of a median over that of a mean, normal errors: sqrt(pi / 2)
KGF_RANGE = (40.0, 130.0)  # tensions of a bicycle spoke in kilogram-force: common practice, no source
HARDLY = 0.35  # of what was logged: nothing to speak of
WORDS = {"tension": "tension", "lateral": "lateral dial", "radial": "radial dial"}


def suspects(wheel: Wheel, reading: Reading, found: Estimate,
             alone: Sequence[Outlier] | None = None) -> tuple[str, ...]:
    """What in a reading looks wrong, in sentences, the worst first.

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
    return (*_unbalanced(wheel, reading, found, doubted), *(_told(reading, one) for one in alone))


def of_the_whole(wheel: Wheel, reading: Reading) -> tuple[str, ...]:
    """What looks wrong with all tensions of a reading together: while it does, none is doubted singly."""
    return (*_unit(wheel, reading), *_swapped(wheel, reading))


def _unbalanced(wheel: Wheel, reading: Reading, found: Estimate, doubted: set[int]) -> Iterator[str]:
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
    gauge = "" if reading.gauge is None else "; the dish is taken from the gauge (set on the face that is written?)"
    high, low = SIDES if off > 0 else SIDES[::-1]
    yield (f"right to left the tensions read {balanced * math.exp(off):.2f}, lateral balance says {balanced:.2f}: "
           f"{high} reads {100 * math.expm1(abs(off)):.0f} % high against {low}. A wheel can't do that; check the "
           f"flange distances, the meter on these spokes, the numbering{gauge}")


def _told(reading: Reading, one: Outlier) -> str:
    if isinstance(one, TurnedOtherwise):
        return _turned(one)
    if isinstance(one, NewKink):
        way = {"lateral": ("left", "right"), "radial": ("inward", "outward")}[one.direction][one.height > 0]
        return (f"the rim has a bend at spoke {one.spoke} that was not there before, {abs(one.height) * 1e3:.1f} mm "
                f"{way}, and nothing turned explains it: look for a crack there, and if there is one, stop")
    value = dict(getattr(reading, one.kind))[one.spoke]
    text = f"{value:.0f} N" if one.kind == "tension" else f"{value * 1e3:.2f} mm"
    return (f"{WORDS[one.kind]} at spoke {one.spoke}, {text}, is {'higher' if one.higher else 'lower'} than all else "
            "says: read it again")


def _turned(one: TurnedOtherwise) -> str:
    """What a nipple did, and what may be the cause."""
    which = f"pass{'es' * (len(one.passes) > 1)} {number_list(one.passes)}" if one.passes else "between the readings"
    moved = f"{abs(one.moved):.2f} turn {'tighter' if one.moved > 0 else 'looser'}"
    if not one.logged:
        cause = "was it turned, and not logged?" if one.moved > 0 else \
            "if it wasn't turned, look for a crack at its hole in rim and flange; if there is one, stop"
        return f"spoke {one.spoke} stands as if turned {moved} ({which}), and no turn of it is logged: {cause}"
    logged = f"{turns_text(abs(one.logged))} {'tighter' if one.logged > 0 else 'looser'}"
    if abs(one.moved) < HARDLY * abs(one.logged):
        return (f"spoke {one.spoke} was turned {logged} ({which}), and hardly anything came of it: does its nipple "
                "turn the spoke with it, or was it left out?")
    return f"spoke {one.spoke} was turned {logged} ({which}), and stands as if turned {moved}: is the log right?"


def _unit(wheel: Wheel, reading: Reading) -> Iterator[str]:
    """Tensions a gravity off: kilograms written as newtons, or newtons as kilograms."""
    nominal = wheel_geometry(wheel).tension
    pairs = [(spoke, value, nominal[spoke - 1]) for spoke, value in reading.tension if nominal[spoke - 1] > 0]
    if not pairs:
        return
    ratio = {spoke: value / usual for spoke, value, usual in pairs}
    middle = float(np.median(list(ratio.values())))
    low, high = KGF_RANGE
    if (len(pairs) >= FEW and all(low <= value <= high for _, value, _ in pairs)) or _near(middle * KGF):
        yield (f"all tensions lie between {min(value for _, value, _ in pairs):.0f} and "
               f"{max(value for _, value, _ in pairs):.0f} N: is this kgf? (tension_kgf takes kilograms)")
    elif _near(middle / KGF):
        yield ("all tensions stand near ten times the nominal: newtons written as kilogram-force, here or under "
               "[tension]?")
    elif middle > 3.2:
        yield (f"all tensions stand near {middle:.0f} times the nominal: tones an octave high, or a meter's chart for "
               "other spokes?")
    elif _near(middle):
        light = [spoke for spoke, share in ratio.items() if _near(share * KGF)]
        if light:
            yield (f"tension of spoke{'s' * (len(light) > 1)} {number_list(light)} stands near a tenth of the nominal, "
                   "the others near it: kilogram-force among newtons, or as loose as that?")


def _near(share: float) -> bool:
    return 0.6 < share < 1.6


def _swapped(wheel: Wheel, reading: Reading) -> Iterator[str]:
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
        yield ("left and right tensions stand the wrong way round for these flanges: sides swapped, or the numbering "
               "off by one?")
