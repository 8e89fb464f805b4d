"""Everything inferred from one job: estimate, outliers and doubts, each computed once when first used."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property

from wheelsim.estimation.certainty import was_read
from wheelsim.estimation.doubts import (
    Contradicted,
    Doubt,
    DoubtedReading,
    GaugeFarOff,
    GaugeUnexpected,
    Unbalanced,
)
from wheelsim.estimation.estimate import Estimate, estimate
from wheelsim.estimation.gauge_before import GaugeBefore, on_the_other_face
from wheelsim.estimation.held_out import (
    DialFarOff,
    Without,
    dials_far_off,
    left_out,
    points_missing,
    tensions_too_high,
    without_gross,
)
from wheelsim.estimation.in_doubt import IfTrue, if_true, read_first
from wheelsim.estimation.large_turns import large_turns
from wheelsim.estimation.outliers import GaugeAstray, OneReading, Outlier, TurnedOtherwise, outliers
from wheelsim.estimation.problem import FEW
from wheelsim.estimation.slips import PassAstray, Rewritten, rewritten
from wheelsim.estimation.suspects import doubted, of_the_whole, suspects
from wheelsim.estimation.to_trust import gauge_far_off, to_trust
from wheelsim.job.job import Job, Work, as_job
from wheelsim.job.visits import Visit, visits
from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.equilibrium import State
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.wheel.parts import Wheel

SPOKE_TOOLS = ("lateral", "radial", "tension")
OTHER_FACE = 9.0  # by how much the cost must fall for a gauge set on the other face: own choice, three deviations


class Known:
    """A job, and what its readings tell of the wheel now.

    Parameters
    ----------
    subject : Wheel or Job
        A wheel alone is true and centred at its nominal tension.
    """

    def __init__(self, subject: Wheel | Job) -> None:
        self.job: Job = as_job(subject)

    @cached_property
    def as_logged(self) -> Estimate:
        """Estimate that trusts every logged turn; raises Unstable if no stable wheel explains the readings."""
        return self._of(self._to_trust)

    def _of(self, log: tuple[Visit, ...]) -> Estimate:
        return estimate(self.job.wheel, log[-1].reading if log else None, self.job.errors, log[:-1])

    @cached_property
    def _impossible(self) -> tuple[OneReading, ...]:
        """Places of the last reading's dials, and tensions of any, that are left out before any estimate."""
        if not self.log:
            return ()
        now = self.log[-1].reading
        before = (replace(one, visit=k) for k, visit in enumerate(self.log[:-1])
                  for one in tensions_too_high(visit.reading))
        return (*points_missing(now, self.job.wheel.n), *tensions_too_high(now), *before)

    @cached_property
    def _to_trust(self) -> tuple[Visit, ...]:
        """The log without what is left out before any estimate."""
        return to_trust(self.log, self._impossible, self.job.wheel, self.job.work.target_dish)

    @property
    def dials_far_off(self) -> tuple[DialFarOff, ...]:
        """The last reading's dials whose run-out is more than nipples take out, and that were not read twice."""
        sound = self.log
        for one in self._impossible:
            sound = left_out(sound, one)
        return dials_far_off(sound, self.job.wheel)

    @property
    def gauge_far_off(self) -> GaugeFarOff | None:
        """The latest gauge where it shows more than any wheel that is brought in, and was not read twice."""
        target = self.job.work.target_dish
        return next((gauge_far_off(one.reading, target) for one in reversed(self.log) if one.reading.gauge is not None),
                    None)

    @property
    def contradicted(self) -> Contradicted | None:
        """Readings of this place in the work that another one contradicts; None once that tool showed the same twice.

        None too where as much was read again as isn't used.
        """
        one = self.log[-1].contradiction if self.log else None
        if one is None:
            return None
        now, was = self.log[-1].reading, one.unused
        tensions = sum(kind == "tension" for kind, _ in now.twice)
        lost = tuple(tool for tool in SPOKE_TOOLS if 2 * len(getattr(now, tool)) < len(getattr(was, tool)))
        lost = ("gauge", *lost) if was.gauge and not now.gauge else lost
        if not lost or (now.gauge_again if one.by == "gauge" else tensions >= FEW):
            return None
        return Contradicted(one.by, one.gauge.gap if one.gauge else None, now.gauge.gap if now.gauge else None, lost)

    @cached_property
    def _rewritten(self) -> Rewritten[PassAstray] | Rewritten[GaugeBefore] | None:
        """The log with a pass, or an earlier gauge, written as it fits, where that is far likelier."""
        if self.gauge_far_off is not None:
            return None  # turns are not doubted by what no gauge shows
        log = self._to_trust
        try:
            found: Estimate | None = self.as_logged
        except Unstable:
            found = None
        one = rewritten(self.job, log, found)
        other = None if found is None else on_the_other_face(self.job, log, found)
        return other if one is None or (other is not None and other.price < one.price) else one

    @property
    def pass_astray(self) -> PassAstray | None:
        """The pass that what was read after it contradicts grossly; the estimate takes it as it would fit."""
        other = self._rewritten
        return other.astray if other is not None and isinstance(other.astray, PassAstray) else None

    @property
    def gauge_before(self) -> GaugeBefore | None:
        """The earlier gauge that was probably set on the other face; the estimate takes it so."""
        other = self._rewritten
        return other.astray if other is not None and isinstance(other.astray, GaugeBefore) else None

    @cached_property
    def _believed(self) -> tuple[tuple[Visit, ...], Estimate]:
        """The log with such a pass or gauge as it would fit, without gross readings; its estimate. Raises Unstable."""
        one = self._without
        return one.log, one.found

    @cached_property
    def _without(self) -> Without:
        """Log and estimate without readings that are grossly off; raises Unstable."""
        other, log = self._rewritten, self._to_trust
        log, found = (log, self.as_logged) if other is None else (other.log, other.found)
        if not log or of_the_whole(self.job.wheel, self.log[-1].reading):
            return Without((), log, found)
        one = without_gross(self.job, log, found, log[-1].reading.stands)
        return replace(one, held=(*self._impossible, *one.held))

    @cached_property
    def outliers(self) -> tuple[Outlier, ...]:
        """Results of the outlier test, worst first; empty while the last reading as a whole is in doubt."""
        if not self.log or of_the_whole(self.job.wheel, self.log[-1].reading):
            return ()
        log, found = self._believed
        return (*self._without.held, *outliers(found, self.log[-1].reading.stands, log))

    def read_anew(self, one: Outlier) -> bool:
        """Whether it is a reading of an earlier visit that was made anew since."""
        return isinstance(one, OneReading) and one.visit is not None and any(
            one.spoke in dict(getattr(later.reading, one.kind)) for later in self.log[one.visit + 1:])

    @cached_property
    def doubted(self) -> tuple[OneReading, ...]:
        """Single readings that all else contradicts, the worst first, unless they were made anew since."""
        return tuple(one for one in self.outliers if isinstance(one, OneReading) and not self.read_anew(one))

    def visit_of(self, one: OneReading) -> tuple[Reading, State, int | None]:
        """All that was read with it, the state then by the estimate of now, and after which pass if not the last."""
        if one.visit is None:
            return self.log[-1].reading, self.found.state, None
        visit = self.log[one.visit]
        return visit.reading, self.found.before[one.visit], visit.after_pass

    @cached_property
    def stand_alone(self) -> tuple[OneReading, ...]:
        """Readings that were read again and stand, though all else contradicts them."""
        stands = self.log[-1].reading.stands if self.log else frozenset()
        if not stands or of_the_whole(self.job.wheel, self.log[-1].reading):
            return ()
        return tuple(one for one in outliers(self._believed[1])
                     if isinstance(one, OneReading) and (one.kind, one.spoke) in stands)

    @cached_property
    def in_doubt(self) -> tuple[IfTrue, ...]:
        """Readings that all else contradicts, each with the wheel if it were true."""
        return if_true(self)

    @cached_property
    def read_first(self) -> tuple[Doubt, ...]:
        """The doubts that decide what is turned: nothing is, until they are cleared by reading again."""
        return read_first(self)

    @cached_property
    def _used(self) -> tuple[Visit, ...]:
        """The log that ``found`` is estimated from: also without readings before the last that all else contradicts."""
        log = self._believed[0]
        for one in self.outliers:
            if isinstance(one, OneReading) and one.visit is not None:
                log = left_out(log, one)
        return log

    @cached_property
    def found(self) -> Estimate:
        """Estimate of the wheel now; turns that the readings contradict are unknowns in it. Raises Unstable."""
        trusted, log = self._believed[1], self._used
        if len(log) < 2:
            return trusted
        freed = [(one.interval, one.spoke) for one in self.outliers if isinstance(one, TurnedOtherwise)]
        moved = [one.interval for one in self.outliers if isinstance(one, GaugeAstray)]
        if self.pass_astray is not None and self.pass_astray.slip is None:
            moved.append(self.pass_astray.interval)
        if not freed and not moved and log is self._believed[0]:
            return trusted
        return estimate(self.job.wheel, log[-1].reading, self.job.errors, log[:-1], freed, moved)

    @cached_property
    def log(self) -> tuple[Visit, ...]:
        """Visits in the order of the work; the wheel as it is now is the last one."""
        return visits(self.job)

    @property
    def told_by(self) -> list[Reading]:
        """The readings that tell of the wheel: of all visits but the last without what the estimate leaves out."""
        return [one.reading for one in (*self._to_trust[:-1], *self.log[-1:])]

    @property
    def metered(self) -> frozenset[int]:
        """Spokes whose tension was read, and is used in the estimate; raises Unstable."""
        return frozenset(spoke for one in self._used for spoke in one.reading.spokes("tension"))

    @cached_property
    def read(self) -> dict[str, bool]:
        """Which limited quantities were measured, by name; see ``was_read``."""
        return was_read(self.job.wheel, self.told_by)

    @cached_property
    def unread(self) -> tuple[Quantity, ...]:
        """The limited quantities of which not enough was read."""
        return tuple(name for name in Quantity if not self.read.get(name, True))

    @property
    def read_before(self) -> tuple[Quantity, ...]:
        """The limited quantities that were read, but with none of their tools since the last pass."""
        if len(self.log) < 2 or self.unread_since:
            return ()
        last = self.log[-1].reading
        tools = {Quantity.GAP: last.gauge, Quantity.TRUE: last.lateral, Quantity.ROUND: last.radial}
        return tuple(name for name in Quantity if self.read.get(name) and not tools.get(name, last.tension))

    @cached_property
    def gauge(self) -> Gauge | None:
        """The latest reading of the gauge, or None."""
        return next((one.reading.gauge for one in reversed(self.log) if one.reading.gauge is not None), None)

    @cached_property
    def unread_since(self) -> tuple[int, ...]:
        """Numbers of the passes made after the last reading; with any, the state now is only predicted."""
        log = self.log
        return tuple(one.number for one in log[-2].passes) if len(log) > 1 and not log[-1].read else ()

    @cached_property
    def doubts(self) -> tuple[Doubt, ...]:
        """Readings and turns that are probably wrong, the worst first."""
        if not self.log:
            return ()
        now = [one for one in self.outliers if not isinstance(one, OneReading) or one.visit is None]
        found = (*suspects(self.job.wheel, self.log[-1].reading, self.found, now), *self._doubted_before)
        if self.gauge_far_off is not None:
            found = (self.gauge_far_off, *(one for one in found if not isinstance(one, GaugeUnexpected)))
        found = (*([self.contradicted] if self.contradicted else []), *self.dials_far_off, *large_turns(self.job),
                 *found)
        if self.gauge_before is not None:
            return (self.gauge_before, *found)
        if self.pass_astray is None:
            return found
        # What was expected of the gauge follows from the pass: first that is put right.
        return (self.pass_astray, *(one for one in found if not isinstance(one, GaugeUnexpected)))

    @property
    def _doubted_before(self) -> Iterator[DoubtedReading]:
        """The doubts of readings before the last visit, which the estimate leaves out."""
        for one in self.doubted:
            if one.visit is not None:
                reading, state, after_pass = self.visit_of(one)
                yield doubted(reading, one, state, after_pass)

    @cached_property
    def other_face(self) -> bool:
        """Whether the gauge, set on the other face, fits sides that don't balance: by far, and it wasn't read twice.

        Only of a gauge with nothing before it; else the turns and what was read before tell more.
        """
        if len(self.log) != 1 or not any(isinstance(one, Unbalanced) for one in self.doubts):
            return False
        reading = self.log[-1].reading
        if reading.gauge is None or reading.gauge_again:
            return False
        log, found = self._believed
        other = replace(log[-1].reading, gauge=reading.gauge.on_the_other_face)
        try:
            then = estimate(self.job.wheel, other, self.job.errors)
        except Unstable:
            return False
        return found.cost - then.cost > OTHER_FACE

    def with_work(self, work: Work) -> "Known":
        """The same wheel and readings with other work to do; results already computed are kept."""
        other = Known(replace(self.job, work=work))
        kept = ("as_logged", "_rewritten", "_without", "_believed", "_used", "outliers", "doubted", "stand_alone",
                "in_doubt", "read_first", "found", "doubts", "log", "read", "gauge")
        other.__dict__.update({name: self.__dict__[name] for name in kept if name in self.__dict__})
        return other


def known(subject: Wheel | Job | Known) -> Known:
    """``Known`` of a wheel or a job; a ``Known`` is returned as it is, with its results."""
    return subject if isinstance(subject, Known) else Known(subject)
