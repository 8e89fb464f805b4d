"""Readings that can't well be true: named, never dropped."""

import contextlib
import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np

from wheelsim.estimation.estimate import estimate
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.errors import METER_SCATTER
from wheelsim.units import KGF, number_list
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import SIDES

ALARM = 0.01  # chance that sound readings of a wheel are doubted
UNBALANCED = 0.05  # share by which the sides' ratio must miss lateral balance to accuse anything
MOST = 6  # so many doubts are told
WORDS = {"tension": "tension", "lateral": "lateral dial", "radial": "radial dial"}


def suspects(wheel, reading, found):
    """What in a reading looks wrong, in sentences, the worst first.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading
    found : Estimate
        Of that reading.

    Notes
    -----
    The worst is left free and the rest looked at again, for one false reading bends what all others are
    held against; the estimate that is shown keeps it. A doubt is a free error, of one thing read or of
    one side's tensions against the other's, that explains the misfits far better than chance would:
    D. M. Hawkins, Identification of Outliers, 1980, ch. 5 (memory), with Bonferroni's bound.
    """
    whole = tuple([*_unit(wheel, reading), *_swapped(wheel, reading)])
    return whole or tuple(_one_by_one(wheel, reading, found))


def _one_by_one(wheel, reading, found):
    explains = found.explains
    misfit = np.array([one[2] for one in found.residual])
    certain = np.eye(len(misfit)) - explains @ np.linalg.solve(explains.T @ explains + np.eye(explains.shape[1]),
                                                               explains.T)
    sides = _sides_error(wheel, reading, found)
    for _ in range(MOST):
        places = [k for k, (kind, _, _) in enumerate(found.residual) if kind in WORDS and certain[k, k] > 1e-6]
        # An error's likeliest size is e.r / e.M.e: r the misfits, M their covariance's inverse times themselves.
        along, known = misfit[places], np.diag(certain)[places]
        if sides is not None and sides @ certain @ sides > 1e-6:
            along, known = np.append(along, sides @ misfit), np.append(known, sides @ certain @ sides)
        if not len(along):
            return
        unlikely = np.abs(along) / np.sqrt(known)
        balance = len(along) > len(places)
        if balance and abs(along[-1] / known[-1]) < UNBALANCED:
            unlikely[-1] = 0.0
        worst = int(unlikely.argmax())
        if unlikely[worst] < NormalDist().inv_cdf(1 - ALARM / 2 / len(along)):
            return
        if balance and worst == len(places):
            error = sides
            yield _unbalanced(wheel, reading, found, along[worst] / known[worst])
        else:
            error = np.eye(len(misfit))[places[worst]]
            kind, spoke, _ = found.residual[places[worst]]
            yield _told(reading, kind, spoke, along[worst] > 0)
        # That error left free: what it explained no longer speaks for or against the others.
        bent = certain @ error
        misfit = misfit - bent * (error @ misfit) / (error @ bent)
        certain = certain - np.outer(bent, bent) / (error @ bent)


def _sides_error(wheel, reading, found):
    """Misfits that right tensions a share too high and left ones as much too low would make; None with one side."""
    right, read = set(wheel.on_side("right")), dict(reading.tension)
    out, seen = np.zeros(len(found.residual)), set()
    for k, (kind, spoke, _) in enumerate(found.residual):
        if kind == "tension" and spoke not in wheel.spokes.missing:
            here = spoke - 1 in right
            seen.add(here)
            spread = METER_SCATTER * max(read[spoke], 100.0)
            out[k] = (0.5 if here else -0.5) * found.state.tension[spoke - 1] / spread
    return out if len(seen) == 2 and np.count_nonzero(out) > 2 else None


def _unbalanced(wheel, reading, found, share):
    right = set(wheel.on_side("right"))
    mended = replace(reading, tension=tuple(
        (spoke, value * math.exp(-share if spoke - 1 in right else 0.0)) for spoke, value in reading.tension))
    with contextlib.suppress(Unstable):
        found = estimate(wheel, mended)
    mean = {side: float(found.state.tension[wheel.pulling(side)].mean()) for side in SIDES}
    balanced = mean["right"] / max(mean["left"], 1.0)
    gauge = "" if reading.gauge is None else "; or the gauge was set on the other face than is written"
    return (f"right to left stands {balanced * math.exp(share):.2f}, lateral balance says {balanced:.2f}: it "
            f"accuses the meter, the flange figures or the numbering, never the wheel{gauge}")


def _told(reading, kind, spoke, higher):
    value = dict(getattr(reading, kind))[spoke]
    text = f"{value:.0f} N" if kind == "tension" else f"{value * 1e3:.2f} mm"
    return (f"{WORDS[kind]} at spoke {spoke}, {text}, is {'higher' if higher else 'lower'} than all else says: "
            "read it again")


def _unit(wheel, reading):
    """Tensions a gravity off: kilograms written as newtons, or newtons as kilograms."""
    nominal = wheel_geometry(wheel).tension
    pairs = [(spoke, value, nominal[spoke - 1]) for spoke, value in reading.tension if nominal[spoke - 1] > 0]
    if not pairs:
        return
    ratio = {spoke: value / usual for spoke, value, usual in pairs}
    middle = float(np.median(list(ratio.values())))
    if _near(middle * KGF):
        yield ("all tensions stand near a tenth of the nominal: kilogram-force written as newtons? "
               "(tension_kgf takes kilograms)")
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


def _near(share):
    return 0.6 < share < 1.6


def _swapped(wheel, reading):
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
    if abs(usual) > 3 * UNBALANCED and abs(measured + usual) < abs(measured - usual) / 2:
        yield ("left and right tensions stand the wrong way round for these flanges: sides swapped, or the numbering "
               "off by one?")
