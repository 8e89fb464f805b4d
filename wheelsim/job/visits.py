"""Readings and passes of a job put in the order of the work.

A visit is a set of readings taken at one time, and the passes made between it and the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Literal, TypeAlias

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.job.job import Job, Pass
from wheelsim.readings.errors import DIAL_SD, METER_FLOOR, METER_SCATTER
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import BySpoke, Dial, Reading
from wheelsim.units import KGF

Tool: TypeAlias = Literal["gauge", "tension", "tyre"]

NOTHING_READ = Reading()
# Two readings with no pass between contradict each other from so many standard deviations of their difference on. Own
# choice: chance alone does that to fewer than one pair in ten thousand.
CONTRADICTION_SDS = 4.0
SOME = 3  # tensions read again that contradict what was turned; one or two are those that were doubted: own choice
MOST_AGAIN = 8  # places of a dial that count as read again, not as read anew: own choice
NEAR_UNIT = 1.25  # a ratio of tensions within this factor of 9.81 is one of units: own choice
# Times what a gauge shows when it was typed otherwise: the other face, hub or feet, one foot, a point.
GAUGE_SLIPS = (-1.0, 2.0, 0.5, -2.0, -0.5, 10.0, 0.1)


@dataclass(frozen=True, eq=False)
class Contradiction:
    """Readings that are not used, because another one with no pass between contradicts them.

    Attributes
    ----------
    by : "gauge" or "tension"
        The tool that shows it.
    unused : Reading
        All that is not used.
    gauge : Gauge or None
        The gauge as read in the last of them.
    """

    by: Tool
    unused: Reading
    gauge: Gauge | None


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
        Number of readings that are not used, because this one contradicts them without a logged pass between.
    contradiction : Contradiction or None
        What of it is contradicted, and by which tool.
    """

    reading: Reading
    passes: tuple[Pass, ...] = ()
    after_pass: int = 0
    forgotten: int = 0
    contradiction: Contradiction | None = None

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
    between are merged, unless they contradict each other: see ``_chosen``. Where the first of them isn't used, neither
    is anything before it. One or two tensions, or the gauge alone where a pass was logged before or a slip of the pen
    explains the first, were read again because they were doubted: they take the place of the first, and what shows the
    same twice stands.
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
    groups: dict[int, list[Reading]] = {}  # by how many of the passes made come before
    for reading in job.readings:
        start = max([*groups, place(reading)])
        groups.setdefault(start, []).append(reading.in_newtons(job.wheel))
    starts = list(groups)
    out: list[Visit] = []
    for start, end in zip(starts, [*starts[1:], len(made)], strict=True):
        group = groups[start]
        chosen, by = _chosen(group, bool(out), more_came=start < len(made))
        aside = [one for k, one in enumerate(group) if k not in chosen]
        history = [] if 0 in chosen or by is None else out
        lost = [*(one.reading for one in history), *aside]
        out = [] if history else out
        out.append(Visit(reduce(_together, (group[k] for k in chosen)), tuple(made[start:end]),
                         made[start - 1].number if start else 0, len(lost),
                         Contradiction(by, reduce(_together, lost), aside[-1].gauge) if by else None))
    if out[-1].passes:
        out.append(Visit(NOTHING_READ, after_pass=made[-1].number))
    return tuple(out)


def _chosen(group: Sequence[Reading], passes: bool, *, more_came: bool) -> tuple[list[int], Tool | None]:
    """Which of the readings of one place in the work are used, and the tool that contradicts others; None: none does.

    The last one, and all earlier ones that contradict none of those used. Where the work went on after it
    (``more_came``) the doubt can't be cleared any more by reading again: then the first and what doesn't contradict it,
    if that tells more.
    """
    used, by = [len(group) - 1], None
    for k in reversed(range(len(group) - 1)):
        tool = _contradict(group[k:k + 1], [group[j] for j in used], passes)
        if tool is None:
            used.insert(0, k)
        elif tool != "tyre" and by is None:
            by = tool
    if by is None:
        return used, by
    first = [0]
    for k in range(1, len(group)):
        if _contradict([group[j] for j in first], group[k:k + 1], passes) is None:
            first.append(k)
    if len(first) == len(group):
        return first, None  # a gauge read again alone came between: what it replaced contradicts nothing
    if more_came and sum(_amount(group[k]) for k in first) > sum(_amount(group[k]) for k in used):
        used = first
    return used, by


def _amount(reading: Reading) -> int:
    """How much was read."""
    return (reading.gauge is not None) + len(reading.lateral) + len(reading.radial) + len(reading.tension)


def _together(before: Reading, after: Reading) -> Reading:
    """Two readings of the same state merged; what was read twice is taken from the later one.

    Tensions that were written in another unit before go with it.
    """
    if _other_unit(before, after):
        before = replace(before, tension=(), shown=())
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


def _other_unit(before: Reading, after: Reading) -> bool:
    """Whether the tensions of one are those of the other in kilogram-force, or tenfold."""
    was, now = dict(before.tension), dict(after.tension)
    ratio = [now[spoke] / was[spoke] for spoke in was if spoke in now and was[spoke] > 0]
    times = float(np.median(ratio)) if len(ratio) >= SOME else 1.0
    return any(abs(np.log(max(times, 1e-9) / one)) < np.log(NEAR_UNIT) for one in (KGF, 1 / KGF))


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


def _contradict(before: Sequence[Reading], after: Sequence[Reading], passes: bool) -> Tool | None:
    """The tool by which readings and later ones can hardly be of the same state; None where they can.

    Something was then turned between them and not logged, or one is wrong. ``passes``: whether passes were logged
    before both.
    """
    if {one.tyre for one in before} != {one.tyre for one in after}:
        return "tyre"
    one, other = (next((one for one in reversed(some) if one.gauge), None) for some in (before, after))
    if one and other and not _same_gauge(one, other):
        alone = not (other.lateral or other.radial or other.tension)
        if not alone or not (passes or any(_same_gauge(one, other, times) for times in GAUGE_SLIPS)):
            return "gauge"
    was, now = (dict(reduce(_together, some).tension) for some in (before, after))
    both = [spoke for spoke in was if spoke in now]
    if len(both) < SOME or _other_unit(reduce(_together, before), reduce(_together, after)):
        return None
    off = np.median([now[spoke] - was[spoke] for spoke in both])
    usual = max(float(np.median([was[spoke] for spoke in both])), METER_FLOOR)
    return "tension" if abs(off) > CONTRADICTION_SDS * METER_SCATTER * usual * np.sqrt(2.0 / len(both)) else None
