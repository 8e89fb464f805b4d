"""Passes that were probably not turned as they are logged: three turns written for three quarters, plus for minus.

Each hypothesis about one pass is the log with that pass written otherwise; the state is estimated anew under it, and
the hypotheses are compared by the maximum of the posterior. Whether that is worth while is asked first by a score test
on the estimate that trusts the log.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Generic, TypeVar

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.estimation.course import GAIN_SD
from wheelsim.estimation.estimate import Estimate, estimate_below
from wheelsim.estimation.held_out import left_out
from wheelsim.estimation.large_turns import more_than_a_hand
from wheelsim.estimation.outliers import OneReading, outliers
from wheelsim.job.job import Job, Pass
from wheelsim.job.visits import Visit
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.reading import BySpoke
from wheelsim.wheel.parts import SIDES, Wheel
from wheelsim.wheel.sides import OTHER, Side

# Score of a free factor on a pass, or of a free move of a side, from which the log is compared with other ways to write
# it, in standard deviations: own choice, for the comparison decides; below it nothing is gained by one.
LOOK_FROM = 3.0
# Movement per turn, as a share of the thread's pitch, below which no log is taken as it is. A pass that is far off is
# mostly put down to the thread: then its score is small, and the gain tells.
LEAST_GAIN = 1 - LOOK_FROM * GAIN_SD
# By how much twice the logarithm of the posterior must rise for a slip to be named. Own choice: 16 for one hand in a
# thousand that writes so; less for turns that no hand gives in one pass, which are doubtful by themselves.
NAMED_FROM = 16.0
NAMED_FROM_LARGE = 5.0
NAMED_FROM_FREE = 40.0  # where no slip explains it, and the turn of each side is an unknown the more
MOST_TRIED = 12  # other ways to write the log, those of the last passes first: own choice


class PassSlip(Enum):
    """How a pass may have been written otherwise than it was turned."""

    QUARTERS = "quarters"  # of turns, written as turns: 3 for 3/4
    EIGHTHS = "eighths"  # likewise
    OTHER_WAY = "the other way"  # plus for minus
    OTHER_SIDE = "the other side"
    NOT_MADE = "not made"


FRACTIONS = (PassSlip.QUARTERS, PassSlip.EIGHTHS)  # typed without their fraction


@dataclass(frozen=True)
class PassAstray:
    """A pass that what was read after it contradicts, and how it would fit.

    Attributes
    ----------
    number : int
        Of the pass.
    slip : PassSlip or None
        None: no slip explains it, only a turn of both sides that nothing is known of.
    side : "right", "left" or None
        Of all nipples that were turned; None where they are of both sides.
    logged : float
        Turn of most of them, as logged. [turn]
    fits : float or None
        As it would fit; None without a slip. [turn]
    interval : int
        Index of the interval between visits, from 0.
    """

    number: int
    slip: PassSlip | None
    side: Side | None
    logged: float
    fits: float | None
    interval: int


Astray = TypeVar("Astray")


@dataclass(frozen=True, eq=False)
class Rewritten(Generic[Astray]):
    """The log with what is astray in it written as it fits, and the estimate that trusts it so.

    ``price`` is its cost and what must be gained to believe it, so that ways to write the log compare.
    """

    astray: Astray
    log: tuple[Visit, ...]
    found: Estimate
    price: float


def rewritten(job: Job, log: Sequence[Visit], as_logged: Estimate | None) -> Rewritten[PassAstray] | None:
    """The log with the pass that was probably written otherwise than turned; None if every pass may be as logged.

    Parameters
    ----------
    job : Job
    log : sequence of Visit
        All tensions in newtons.
    as_logged : Estimate or None
        None: no stable wheel explains the readings with every pass as it is logged.
    """
    best: Rewritten[PassAstray] | None = None
    below = np.inf if as_logged is None else as_logged.cost  # of the cost, with what must be gained by a slip
    tried = 0
    for interval, done, large in _contradicted(job.wheel, log, as_logged) if len(log) > 1 else ():
        for slip, turns in _other_ways(job, done):
            tried += 1
            if tried > MOST_TRIED or (large is Large.ALONE and slip not in FRACTIONS):
                continue
            other = _with(log, interval, done, turns)
            needed = NAMED_FROM_FREE if slip is None else \
                NAMED_FROM_LARGE if slip in FRACTIONS and large is not Large.NO else NAMED_FROM
            found = estimated(job, other, below - needed, () if slip else (interval,))
            if found is None or (slip and found.gain < LEAST_GAIN):
                continue
            below = found.cost + needed
            logged, fits = (_most(dict(one)) for one in (done.made, turns))
            best = Rewritten(PassAstray(done.number, slip, _side(job.wheel, done), logged, fits if slip else None,
                                        interval), other, found, below)
    if best is None or (as_logged is not None and _rather_one_reading(job, log, as_logged, best)):
        return None
    return best


def _rather_one_reading(job: Job, log: Sequence[Visit], as_logged: Estimate,
                        other: Rewritten[PassAstray]) -> bool:
    """Whether a single reading alone contradicts the log: then that is named.

    Not the gauge where the turns are more than a hand gives.
    """
    reading, done = log[-1].reading, next(one for visit in log for one in visit.passes
                                          if one.number == other.astray.number)
    alone = []
    if reading.gauge is not None and not more_than_a_hand(job.wheel, dict(done.made)):
        alone.append((*log[:-1], replace(log[-1], reading=replace(reading, gauge=None))))
    worst = next((one for one in outliers(as_logged, log=log) if isinstance(one, OneReading)), None)
    if worst is not None:
        alone.append(left_out(log, worst))
    enough = other.found.cost + NAMED_FROM / 2
    return any(estimated(job, one, enough) for one in alone)


class Large(Enum):
    """Whether the turns of a pass are larger than a hand gives, and whether that alone makes them doubtful."""

    NO = "no"
    TOO = "too"
    ALONE = "alone"


def _contradicted(wheel: Wheel, log: Sequence[Visit], found: Estimate | None) -> list[tuple[int, Pass, Large]]:
    """Passes whose turns may not be as logged, the last first, with the index of their interval."""
    every = [(k, done, Large.TOO if more_than_a_hand(wheel, dict(done.made)) else Large.NO)
             for k, visit in reversed(list(enumerate(log[:-1]))) for done in reversed(visit.passes)
             if any(turns for _, turns in done.made) and any(later.read for later in log[k + 1:])]
    if found is None:
        return sorted(every, key=lambda one: one[2] is Large.NO)
    misfit = np.array([one[2] for one in found.residual])
    explains = found.explains

    def free(felt: Floats) -> float:
        """Score of a free factor on a change of the standardised misfits (m,), in standard deviations."""
        seen = felt - explains @ np.linalg.solve(explains.T @ explains + np.eye(explains.shape[1]), explains.T @ felt)
        return float(abs(seen @ misfit) / np.sqrt(max(float(seen @ felt), 1e-9)))

    ones = [np.isin(np.arange(wheel.n), wheel.pulling(side)).astype(float) for side in SIDES]
    out = []
    for k, done, large in every:
        ways = (_turned(done.made, wheel.n), *ones)
        if found.gain < LEAST_GAIN or max(free(found.moves[k].felt @ one) for one in ways) > LOOK_FROM:
            out.append((k, done, large))
        elif large is Large.TOO:
            out.append((k, done, Large.ALONE))
    return out


def _turned(pairs: Sequence[tuple[int, float]], n: int) -> Turns:
    out = np.zeros(n)
    for spoke, turns in pairs:
        out[spoke - 1] = turns
    return out


def _other_ways(job: Job, done: Pass) -> Iterator[tuple[PassSlip | None, BySpoke]]:
    """Other ways to write a pass, and last that nothing is known of it."""
    made = tuple((spoke, turns) for spoke, turns in done.made if turns)
    scales = {PassSlip.OTHER_WAY: -1.0, PassSlip.NOT_MADE: 0.0}
    if all(float(turns).is_integer() for _, turns in made):
        scales |= {PassSlip.QUARTERS: 0.25} | ({PassSlip.EIGHTHS: 0.125} if job.work.step <= 0.125 else {})
    for slip, scale in scales.items():
        yield slip, tuple((spoke, scale * turns) for spoke, turns in made)
    for side in SIDES:
        mine = {i + 1 for i in job.wheel.pulling(side)}
        if {spoke for spoke, _ in made} == mine and len({turns for _, turns in made}) == 1:
            yield PassSlip.OTHER_SIDE, tuple((int(i) + 1, made[0][1]) for i in job.wheel.pulling(OTHER[side]))
    yield None, ()


def other_way_fits(job: Job, log: Sequence[Visit], below: float) -> bool:
    """Whether a pass, or all between two visits, turned the other way than logged bring the cost below this."""
    tried = 0
    for k, visit in reversed(list(enumerate(log[:-1]))):
        some = {(done,) for done in visit.passes} | ({visit.passes} if len(visit.passes) > 1 else set())
        for passes in sorted(some, key=len):
            tried += 1
            other = log
            for done in passes:
                other = _with(other, k, done, tuple((spoke, -turns) for spoke, turns in done.made))
            if tried <= MOST_TRIED and estimated(job, other, below):
                return True
    return False


def _with(log: Sequence[Visit], interval: int, done: Pass,
          turns: tuple[tuple[int, float], ...]) -> tuple[Visit, ...]:
    """The log with one pass written otherwise."""
    visit = log[interval]
    passes = tuple(replace(one, turns=turns) if one is done else one for one in visit.passes)
    return (*log[:interval], replace(visit, passes=passes), *log[interval + 1:])


def estimated(job: Job, log: Sequence[Visit], below: float, moved: Sequence[int] = ()) -> Estimate | None:
    """The estimate, if a stable wheel explains the readings at a cost below."""
    try:
        found = estimate_below(below, job.wheel, log[-1].reading, job.errors, log[:-1], moved)
    except Unstable:
        return None
    return found if found is not None and found.cost < below else None


def _side(wheel: Wheel, done: Pass) -> Side | None:
    """The side of all nipples that a pass turned; None where they are of both."""
    turned = {spoke - 1 for spoke, turns in done.made if turns}
    return next((side for side in SIDES if turned <= set(wheel.on_side(side))), None)


def _most(turns: dict[int, float]) -> float:
    """The turn that most nipples have. [turn]"""
    values, counts = np.unique(list(turns.values()) or [0.0], return_counts=True)
    return float(values[counts.argmax()])
