"""Readings and passes of a job put in the order of the work.

A visit is a set of readings taken at one time, and the passes made between it and the next.
"""

from dataclasses import dataclass, replace

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.job.job import Job, Pass
from wheelsim.readings.errors import DIAL_SD, METER_FLOOR, METER_SCATTER
from wheelsim.readings.reading import BySpoke, Dial, Reading

NOTHING_READ = Reading()
# Two readings with no pass between contradict each other from so many standard deviations of their difference on. Own
# choice: chance alone does that to fewer than one pair in ten thousand.
CONTRADICTION_SDS = 4.0
SOME = 3  # tensions read again that contradict what was turned; one or two are those that were doubted: own choice
MOST_AGAIN = 8  # places of a dial that count as read again, not as read anew: own choice
# Times what a gauge shows when it was typed otherwise: the other face, hub or feet, one foot, a point.
GAUGE_SLIPS = (-1.0, 2.0, 0.5, -2.0, -0.5, 10.0, 0.1)


@dataclass(frozen=True, eq=False)
class Visit:
    """One set of readings, and the passes made between it and the next.

    Attributes
    ----------
    reading : Reading
        All its tensions in newtons. Empty in the last visit if passes were made after the last reading.
    passes : tuple of Pass
        Made after the reading, in order.
    after_pass : int
        Number of the last pass made before the reading; 0 for none.
    forgotten : int
        Number of earlier readings that are not used, because this one contradicts them without a logged pass between.
    contradicted : Reading or None
        What was read before it in the same place of the work, and is contradicted.
    """

    reading: Reading
    passes: tuple[Pass, ...] = ()
    after_pass: int = 0
    forgotten: int = 0
    contradicted: Reading | None = None

    @property
    def read(self) -> bool:
        """Whether anything was read."""
        one = self.reading
        return bool(one.gauge or one.lateral or one.radial or one.tension)

    def turned(self, n: int) -> Turns:
        """Sum of the turns of its passes for each nipple, (n,). [turn]"""
        out = np.zeros(n)
        for one in self.passes:
            for spoke, turns in one.made:
                out[spoke - 1] += turns
        return out

    def times(self, n: int) -> Turns:
        """In how many of its passes each nipple was turned, (n,)."""
        out = np.zeros(n)
        for one in self.passes:
            for spoke, turns in one.made:
                out[spoke - 1] += turns != 0
        return out


def visits(job: Job) -> tuple[Visit, ...]:
    """The visits of a job in time order; the last one is the wheel as it is now. Empty if nothing was ever read.

    A reading that doesn't say after which pass it was taken counts as taken after all of them. Readings with no pass
    between are merged, unless they contradict each other; then the earlier ones are dropped, or a single one that all
    before it and after it contradict. One or two tensions, or
    the gauge alone where a pass was logged before or a slip of the pen explains the first, were read again because they
    were doubted: they take the place of the first, and what shows the same twice stands.
    """
    made = [one for one in job.passes if one.turns is not None]
    numbers = [one.number for one in job.passes]

    def place(reading: Reading) -> int:
        """How many of the passes made come before the reading."""
        if reading.after_pass is None:
            return len(made)
        if reading.after_pass not in numbers:
            return 0
        upto = job.passes[:numbers.index(reading.after_pass) + 1]
        return sum(one.turns is not None for one in upto)

    if not job.readings:
        return ()
    readings = [reading.in_newtons(job.wheel) for reading in job.readings]
    starts: list[int] = []
    for reading in readings:
        starts.append(max([*starts[-1:], place(reading)]))
    out: list[Visit] = []
    dropped: tuple[list[Visit], Visit] | None = None  # what stood before a reading that contradicts it
    for k, (reading, start) in enumerate(zip(readings, starts, strict=True)):
        end = starts[k + 1] if k + 1 < len(starts) else len(made)
        visit = Visit(reading, tuple(made[start:end]), made[start - 1].number if start else 0)
        if out and not out[-1].passes:
            before = out.pop()
            if not _contradict(before.reading, reading, bool(out)):
                visit = _merged(before, visit)
            elif dropped is not None and not _contradict(dropped[1].reading, reading, bool(dropped[0])):
                (out, before), dropped = dropped, None
                visit = _merged(before, visit)
            else:
                dropped = out, before
                visit, out = replace(visit, forgotten=k, contradicted=before.reading), []
        else:
            dropped = None
        out.append(visit)
    if out[-1].passes:
        out.append(Visit(NOTHING_READ, after_pass=made[-1].number))
    return tuple(out)


def _merged(before: Visit, after: Visit) -> Visit:
    """Two visits of the same state as one."""
    return replace(after, reading=_together(before.reading, after.reading), forgotten=before.forgotten,
                   contradicted=before.contradicted)


def _together(before: Reading, after: Reading) -> Reading:
    """Two readings of the same state merged; what was read twice is taken from the later one."""
    dials: dict[Dial, BySpoke] = {name: _places(before, after, name) for name in ("lateral", "radial")}
    extremes = {name for name in dials if name in (after if getattr(after, name) else before).extremes}
    twice = {(kind, spoke) for kind in ("lateral", "radial", "tension") for spoke in _the_same(before, after, kind)}
    return replace(after, label=after.label or before.label, gauge=after.gauge or before.gauge,
                   lateral=dials["lateral"], radial=dials["radial"],
                   tension=tuple(sorted((dict(before.tension) | dict(after.tension)).items())),
                   extremes=frozenset(extremes), dial_radius=after.dial_radius or before.dial_radius,
                   shown=(*(one for one in before.shown if one.spoke not in dict(after.tension)), *after.shown),
                   read_again=before.read_again | after.read_again, twice=before.twice | after.twice | twice,
                   gauge_again=before.gauge_again or _same_gauge(before, after))


def _again(before: Reading, after: Reading, name: str) -> bool:
    """Whether a dial was read again at a few places of many, because they were doubted."""
    was, now = getattr(before, name), getattr(after, name)
    return 0 < len(now) <= MOST_AGAIN and len(was) > 2 * len(now) and name not in before.extremes | after.extremes


def _places(before: Reading, after: Reading, name: Dial) -> BySpoke:
    """A dial of two readings: the later one; but a few places read again, of many, take the place of the first.

    A dial's zero is free, and a few places don't tell it: it is taken as that of the reading before.
    """
    was: BySpoke = getattr(before, name)
    now: BySpoke = getattr(after, name)
    return tuple(sorted((dict(was) | dict(now)).items())) if _again(before, after, name) else now or was


def _the_same(before: Reading, after: Reading, kind: str) -> set[int]:
    """Spokes at which both show the same; a dial read anew all round may have another zero."""
    was: dict[int, float] = dict(getattr(before, kind))
    both = {spoke: value - was[spoke] for spoke, value in getattr(after, kind) if spoke in was}
    if not both:
        return set()
    if kind == "tension":
        return {spoke for spoke, off in both.items()
                if abs(off) <= CONTRADICTION_SDS * METER_SCATTER * np.sqrt(2.0) * max(was[spoke], METER_FLOOR)}
    zero = 0.0 if _again(before, after, kind) else float(np.median(list(both.values())))
    return {spoke for spoke, off in both.items() if abs(off - zero) <= CONTRADICTION_SDS * DIAL_SD * np.sqrt(2.0)}


def _same_gauge(before: Reading, after: Reading, times: float = 1.0) -> bool:
    """Whether both show the same gap, or the first so many times the second."""
    if before.gauge is None or after.gauge is None:
        return False
    off = abs(before.gauge.gap - times * after.gauge.gap)
    return bool(off <= CONTRADICTION_SDS * np.hypot(before.gauge.gap_sd, min(abs(times), 1.0) * after.gauge.gap_sd))


def _contradict(before: Reading, after: Reading, passes: bool) -> bool:
    """Whether two readings can hardly be of the same state: something was then turned between them and not logged.

    ``passes``: whether passes were logged before both.
    """
    if before.tyre != after.tyre:
        return True
    if before.gauge and after.gauge and not _same_gauge(before, after):
        alone = not (after.lateral or after.radial or after.tension)
        if not alone or not (passes or any(_same_gauge(before, after, times) for times in GAUGE_SLIPS)):
            return True
    was, now = dict(before.tension), dict(after.tension)
    both = [spoke for spoke in was if spoke in now]
    if len(both) < SOME:
        return False
    off = np.median([now[spoke] - was[spoke] for spoke in both])
    usual = max(float(np.median([was[spoke] for spoke in both])), METER_FLOOR)
    return bool(abs(off) > CONTRADICTION_SDS * METER_SCATTER * usual * np.sqrt(2.0 / len(both)))
