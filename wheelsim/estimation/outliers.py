"""Single errors that explain the misfits of an estimate far better than chance: false readings, false turns, kinks.

Score tests of one free error at a time with Bonferroni's bound; the worst is left free and the rest are looked at
again, for one error bends what all others are held against.

References
----------
D. M. Hawkins, Identification of Outliers, 1980, ch. 5 (from memory).
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from statistics import NormalDist
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.estimation.estimate import Estimate

ALARM = 0.01  # chance that sound readings of a wheel are doubted
MOST = 6  # so many doubts are told: with more, the whole reading is to be looked at; own choice
READ = ("tension", "lateral", "radial")
BEYOND = 4.0  # chi-squared by which a false reading is preferred to a false turn or a kink as the worst: own choice
HALF = 0.5  # a nipple that moved by less than this share of what was logged, or astray by more, is named: own choice
BENT = 0.2e-3  # nor is a new kink of less [m]
ASTRAY = 0.5e-3  # nor is a gauge for less: half of the gap that is good for any use (common practice) [m]
NOTICED = 1 / 8  # nor is one that wasn't to be turned named for less [turn]


@dataclass(frozen=True)
class OneReading:
    """A reading that all else speaks against.

    Attributes
    ----------
    kind : str
        "tension", "lateral" or "radial".
    spoke : int
    higher : bool
        Whether it is higher than all else says.
    """

    kind: str
    spoke: int
    higher: bool


@dataclass(frozen=True)
class TurnedOtherwise:
    """A nipple that did not do, between two readings, what was logged.

    Attributes
    ----------
    spoke : int
    passes : tuple of int
        Numbers of the passes between the readings.
    logged, moved : float
        What was logged, and what the readings say it moved on its thread. [turn]
    interval : int
        Between which readings, from nought.
    """

    spoke: int
    passes: tuple[int, ...]
    logged: float
    moved: float
    interval: int


@dataclass(frozen=True)
class NewKink:
    """A bend of the rim that was not there at the reading before.

    Attributes
    ----------
    spoke : int
        The station nearest to it.
    direction : str
        "lateral" or "radial".
    height : float
        Of the rim there, from where it would stand without; plus right or outward. [m]
    """

    spoke: int
    direction: str
    height: float


@dataclass(frozen=True)
class GaugeAstray:
    """A gauge reading far from where the reading before and the turns since have the rim.

    Attributes
    ----------
    excess : float
        Of twice the offset that it shows over twice that which was expected, plus right. [m]
    interval : int
        Between which readings, from nought.
    """

    excess: float
    interval: int


Outlier: TypeAlias = OneReading | TurnedOtherwise | NewKink | GaugeAstray
_Place: TypeAlias = tuple[str, int | None, int]  # kind, spoke and, for turns, which interval


def outliers(found: Estimate, stands: Collection[int] = ()) -> Iterator[Outlier]:
    """The errors that stand out, the worst first.

    Parameters
    ----------
    found : Estimate
    stands : collection of int
        Spokes whose readings were taken again: they are not doubted.
    """
    explains, residual = found.explains, found.residual
    misfit = np.array([one[2] for one in residual])
    size = len(misfit)
    certain = np.eye(size) - explains @ np.linalg.solve(explains.T @ explains + np.eye(explains.shape[1]), explains.T)
    places, errors = _candidates(found, stands)
    gauge = next((k for k, one in enumerate(residual) if one[0] == "gauge"), None)
    if gauge is not None and found.moves:
        seen, size_of = certain[:, gauge], float(certain[gauge, gauge])
        free = float(misfit[gauge]) / max(size_of, 1e-6)
        excess = 2 * free * float(found.spread[gauge])
        # By itself, not as one of many: it is the witness of the dish.
        if abs(misfit[gauge]) / np.sqrt(max(size_of, 1e-6)) > NormalDist().inv_cdf(1 - ALARM / 2) and \
                abs(excess) > ASTRAY:
            yield GaugeAstray(excess, len(found.moves) - 1)
            misfit, certain = misfit - seen * free, certain - np.outer(seen, seen) / size_of
    told: set[_Place] = set()
    named = 0
    while named < MOST and len(places) > len(told):
        seen = certain @ errors
        size_of = np.einsum("mc,mc->c", errors, seen)
        apart = np.array([place not in told for place in places]) & (size_of > 1e-6)
        if not apart.any():
            return
        score = np.where(apart, (errors.T @ misfit) ** 2 / np.where(apart, size_of, 1.0), 0.0)
        weighed = score - BEYOND * np.array([place[0] not in READ for place in places])
        worst = int(weighed.argmax())
        if np.sqrt(score[worst]) < NormalDist().inv_cdf(1 - ALARM / 2 / np.count_nonzero(apart)):
            return
        error, bent = errors[:, worst], seen[:, worst]
        free = float(error @ misfit) / float(size_of[worst])
        kind, spoke, interval = places[worst]
        told.add(places[worst])
        if kind in READ and spoke is not None:
            named += 1
            yield OneReading(kind, spoke, free > 0)
        elif kind == "turned" and spoke is not None:
            moves = found.moves[interval]
            logged = float(moves.logged[spoke - 1])
            if abs(free) > max(HALF * abs(logged), NOTICED):
                named += 1
                yield TurnedOtherwise(spoke, moves.passes, logged, found.gain * logged + free, interval)
        elif kind.startswith("bent ") and spoke is not None and abs(free) > BENT:
            named += 1
            yield NewKink(spoke, kind.removeprefix("bent "), free)
        # Project that error out, so that the misfit it explains no longer counts for or against the others.
        misfit = misfit - bent * free
        certain = certain - np.outer(bent, bent) / size_of[worst]


def _candidates(found: Estimate, stands: Collection[int]) -> tuple[list[_Place], Floats]:
    """What may be in error, and the change of all misfits (m, c) per unit of each error."""
    places: list[_Place] = []
    columns: list[Floats] = []
    size = len(found.residual)
    each = np.eye(size)
    for k, (kind, spoke, _) in enumerate(found.residual):
        if kind.removeprefix("earlier ") in READ and spoke is not None and (spoke not in stands or " " in kind):
            places.append((kind, spoke, -1))
            columns.append(each[k])
    for interval, moves in enumerate(found.moves):
        for i, column in enumerate(moves.felt.T):
            if i + 1 in moves.compared and np.linalg.norm(column) > 0:
                places.append(("turned", i + 1, interval))
                columns.append(column)
        for direction, bent in zip(("lateral", "radial"), moves.bent, strict=False):
            for i, column in enumerate(bent.T):
                if np.linalg.norm(column) > 0:
                    places.append((f"bent {direction}", i + 1, interval))
                    columns.append(column)
    return places, np.array(columns).reshape(len(columns), size).T
