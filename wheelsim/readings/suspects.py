"""Readings that can't well be true: named, never dropped."""

import math

import numpy as np

from wheelsim.units import KGF
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import SIDES

FAR = 3.0  # standard deviations from what the rest says
UNBALANCED = 0.15  # share by which the sides' ratio may miss lateral balance before it accuses something


def suspects(wheel, reading, found):
    """What in a reading looks wrong, in sentences.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading
    found : Estimate
        Of that reading.
    """
    out = [*_unit(wheel, reading), *_balance(wheel, reading, found)]
    if not out:
        out.extend(_outliers(reading, found))
    return tuple(out)


def _unit(wheel, reading):
    """Tensions a gravity off: kilograms written as newtons, or newtons as kilograms."""
    nominal = wheel_geometry(wheel).tension
    pairs = [(value, nominal[spoke - 1]) for spoke, value in reading.tension if nominal[spoke - 1] > 0]
    if not pairs:
        return
    ratio = float(np.median([value / usual for value, usual in pairs]))
    if 0.6 < ratio * KGF < 1.6:
        yield ("all tensions stand near a tenth of the nominal: kilogram-force written as newtons? "
               "(tension_kgf takes kilograms)")
    elif 0.6 < ratio / KGF < 1.6:
        yield "all tensions stand near ten times the nominal: newtons written as kilogram-force?"


def _balance(wheel, reading, found):
    """The ratio of the sides' means against lateral balance where the rim now stands."""
    read = dict(reading.tension)
    mean = {}
    for side in SIDES:
        values = [read[i + 1] for i in wheel.on_side(side) if i + 1 in read]
        if len(values) < 2:
            return
        mean[side] = float(np.mean(values))
    if min(mean.values()) <= 0:
        return
    state = found.state
    now = {side: float(state.tension[wheel.on_side(side)].mean()) for side in SIDES}
    if min(now.values()) <= 0:
        return
    g = wheel_geometry(wheel)
    nominal = [float(g.tension[wheel.on_side(side)].mean()) for side in SIDES]
    measured, balanced = math.log(mean["right"] / mean["left"]), math.log(now["right"] / now["left"])
    usual = math.log(nominal[0] / nominal[1]) if min(nominal) > 0 else 0.0
    if abs(usual) > UNBALANCED and abs(measured + usual) < abs(measured - usual) / 2:
        yield ("left and right tensions stand the wrong way round for these flanges: sides swapped, or the numbering "
               "off by one?")
    elif abs(measured - balanced) > UNBALANCED:
        yield (f"right to left stands {math.exp(measured):.2f}, lateral balance says {math.exp(balanced):.2f}: it "
               "accuses the meter, the flange figures or the numbering, never the wheel")


def _outliers(reading, found):
    """Single readings that the rest disbelieves."""
    words = {"tension": "tension", "lateral": "lateral dial", "radial": "radial dial"}
    value = {kind: dict(getattr(reading, kind)) for kind in words}
    for kind, spoke, misfit in found.residual:
        if kind in words and abs(misfit) > FAR:
            which = "higher" if misfit > 0 else "lower"
            shown = value[kind][spoke]
            text = f"{shown:.0f} N" if kind == "tension" else f"{shown * 1e3:.2f} mm"
            yield f"{words[kind]} at spoke {spoke}, {text}, is {which} than all else says: read it again"
