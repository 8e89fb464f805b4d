"""Outlier tests on an estimate: wrong readings, turns that were not made as logged, new kinks of the rim.

Each candidate is one extra unknown in the linearised least-squares problem: a free error of one reading or turn. A
score test asks whether it reduces the misfit by more than chance would; the level is divided by the number of
candidates (Bonferroni). The most significant one is kept free and the others are tested again (forward selection),
because one gross error distorts the residuals of all other readings.

References
----------
D. M. Hawkins, Identification of Outliers, 1980, ch. 5 (from memory).
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from statistics import NormalDist
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.estimation.estimate import Estimate
from wheelsim.job.visits import Visit

ALARM = 0.01  # level of the test: chance that correct readings of a wheel raise any doubt; own choice
MOST = 6  # outliers reported at most; own choice: with more the whole reading is to be checked anyway
READ = ("tension", "lateral", "radial")  # kinds of readings at single spokes
EARLIER = "earlier "  # before the kind of a reading made before the last visit
# Of several significant errors the worst is named first. What counts against one, in chi-squared, because it is rarer
# than a false reading (about twice the logarithm of how much): a wrong turn of a nipple that was turned, of one that
# wasn't, a kink. Own choice.
BEYOND, BEYOND_UNTURNED, BEYOND_KINK = 4.0, 10.0, 14.0
# Significant errors smaller than these are not reported (own choice: too small to act on).
HALF = 0.5  # of a turn: share of what was logged
NOTICED = 1 / 8  # of a turn, if little or nothing was logged at that nipple [turn]
LEAST_KINK = 0.2e-3  # height of a kink [m]
ASTRAY = 0.5e-3  # of the gauge: half of the gap that is good for any use (common practice, no source) [m]


@dataclass(frozen=True)
class OneReading:
    """A single reading that contradicts all the others.

    Attributes
    ----------
    kind : str
        "tension", "lateral" or "radial".
    spoke : int
    higher : bool
        Whether it is higher than the other readings predict.
    deviations : float
        By how many standard deviations.
    visit : int or None
        Index of the visit at which it was read, where that isn't the last.
    """

    kind: str
    spoke: int
    higher: bool
    deviations: float = field(default=0.0, compare=False)
    visit: int | None = None


@dataclass(frozen=True)
class TurnedOtherwise:
    """A nipple that moved otherwise than logged between two readings.

    Attributes
    ----------
    spoke : int
    passes : tuple of int
        Numbers of the passes between the readings.
    logged, moved : float
        Turn logged, and movement on the thread that the readings imply. [turn]
    interval : int
        Index of the interval between visits, from 0.
    """

    spoke: int
    passes: tuple[int, ...]
    logged: float
    moved: float
    interval: int


@dataclass(frozen=True)
class NewKink:
    """A kink of the rim that was not there at the previous reading.

    Attributes
    ----------
    spoke : int
        The spoke nearest to it.
    direction : str
        "lateral" or "radial".
    height : float
        Deviation of the rim at that spoke caused by the kink; plus right or outward. [m]
    """

    spoke: int
    direction: str
    height: float


@dataclass(frozen=True)
class GaugeAstray:
    """A gauge reading far from what earlier readings and the turns since predict.

    Attributes
    ----------
    excess : float
        Gap read less gap predicted (twice the offset), plus right. [m]
    interval : int
        Index of the interval between visits, from 0.
    """

    excess: float
    interval: int


Outlier: TypeAlias = OneReading | TurnedOtherwise | NewKink | GaugeAstray
# A candidate: kind, spoke, interval between visits; of an earlier reading the index of its visit.
_Place: TypeAlias = tuple[str, int | None, int]


def outliers(found: Estimate, stands: Collection[tuple[str, int]] = (), log: Sequence[Visit] = ()) -> Iterator[Outlier]:
    """Significant errors of readings, turns and rim, the most significant first: the gauge and at most ``MOST`` others.

    Parameters
    ----------
    found : Estimate
    log : sequence of Visit
        The log that it was estimated from. Without it single readings before the last visit aren't told.
    stands : collection of (str, int)
        Kind and spoke of what was read again in the last visit; it is not tested, as isn't what was in an earlier one.
    """
    explains, residual = found.explains, found.residual
    misfit = np.array([one[2] for one in residual])
    size = len(misfit)
    # Covariance of the standardised misfits if there is no error: the part that the unknowns can't absorb.
    certain = np.eye(size) - explains @ np.linalg.solve(explains.T @ explains + np.eye(explains.shape[1]), explains.T)
    places, errors = _candidates(found, stands, log)
    gauge = next((k for k, one in enumerate(residual) if one[0] == "gauge"), None)
    if gauge is not None and found.moves:
        seen, size_of = certain[:, gauge], float(certain[gauge, gauge])
        free = float(misfit[gauge]) / max(size_of, 1e-6)
        excess = 2 * free * float(found.spread[gauge])
        # Tested at the full level, without Bonferroni: only the gauge measures the dish.
        if abs(misfit[gauge]) / np.sqrt(max(size_of, 1e-6)) > NormalDist().inv_cdf(1 - ALARM / 2) and \
                abs(excess) > ASTRAY:
            yield GaugeAstray(excess, len(found.moves) - 1)
            misfit, certain = misfit - seen * free, certain - np.outer(seen, seen) / size_of
    told: set[_Place] = set()
    named = 0
    rarer = np.array([_rarer(place, found) for place in places])
    while named < MOST and len(places) > len(told):
        seen = certain @ errors
        size_of = np.einsum("mc,mc->c", errors, seen)
        apart = np.array([place not in told for place in places]) & (size_of > 1e-6)
        score = np.where(apart, (errors.T @ misfit) ** 2 / np.where(apart, size_of, 1.0), 0.0)
        significant = score >= NormalDist().inv_cdf(1 - ALARM / 2 / max(int(apart.sum()), 1)) ** 2
        if not significant.any():
            return
        worst = int(np.where(significant, score - rarer, -np.inf).argmax())
        bent, free = seen[:, worst], float(errors[:, worst] @ misfit) / float(size_of[worst])
        kind, spoke, interval = places[worst]
        told.add(places[worst])
        if spoke is not None and (what := kind.removeprefix(EARLIER)) in READ:
            if kind == what or log:
                named += 1
                visit = None if kind == what else interval
                yield OneReading(what, spoke, free > 0, float(np.sqrt(score[worst])), visit)
        elif kind == "turned" and spoke is not None:
            moves = found.moves[interval]
            logged = float(moves.logged[spoke - 1])
            if abs(free) > max(HALF * abs(logged), NOTICED):
                named += 1
                yield TurnedOtherwise(spoke, moves.passes, logged, found.gain * logged + free, interval)
        elif kind.startswith("bent ") and spoke is not None and abs(free) > LEAST_KINK:
            named += 1
            yield NewKink(spoke, kind.removeprefix("bent "), free)
        # Make this error an unknown: its part is projected out of the misfits and of their covariance.
        misfit = misfit - bent * free
        certain = certain - np.outer(bent, bent) / size_of[worst]


def _rarer(place: _Place, found: Estimate) -> float:
    """What counts against a candidate, in chi-squared, because it is rarer than a false reading."""
    kind, spoke, interval = place
    if kind.removeprefix(EARLIER) in READ:
        return 0.0
    if kind != "turned" or spoke is None:
        return BEYOND_KINK
    return BEYOND if found.moves[interval].logged[spoke - 1] else BEYOND_UNTURNED


def _visit(log: Sequence[Visit], kind: str, spoke: int, before: int) -> int:
    """Index of the earlier visit that read this kind there, after so many that did; without a log that number."""
    there = [k for k, one in enumerate(log[:-1]) if spoke in dict(getattr(one.reading, kind))]
    return there[before] if log else before


def _candidates(found: Estimate, stands: Collection[tuple[str, int]],
                log: Sequence[Visit]) -> tuple[list[_Place], Floats]:
    """The c candidates, and the change of the m standardised misfits per unit of each error, (m, c).

    A dial of which only the two extremes were read is no candidate: an extreme is higher or lower than all else by
    definition; tested like the others, the extremes of nearly every untrue wheel were reported (measured).
    """
    places: list[_Place] = []
    columns: list[Floats] = []
    size = len(found.residual)
    extremes = {kind.replace("between ", "") for kind, _, _ in found.residual if "between " in kind}
    each = np.eye(size)
    before: dict[tuple[str, int], int] = {}
    for k, (kind, spoke, _) in enumerate(found.residual):
        if spoke is None or kind.removeprefix(EARLIER) not in READ:
            continue
        nth = before[kind, spoke] = before.get((kind, spoke), -1) + 1
        what, stand = kind, stands
        if kind.startswith(EARLIER):
            what = kind.removeprefix(EARLIER)
            nth = _visit(log, what, spoke, nth)
            stand = log[nth].reading.stands if log else ()
        if kind not in extremes and (what, spoke) not in stand:
            places.append((kind, spoke, nth))
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
