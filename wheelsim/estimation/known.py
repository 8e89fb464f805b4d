"""What is known of one job's wheel: its estimate and the readings in doubt, each worked out once."""

from dataclasses import replace
from functools import cached_property

from wheelsim.estimation.estimate import Estimate, estimate
from wheelsim.estimation.suspects import suspects
from wheelsim.job.job import Job, Work, as_job
from wheelsim.wheel.parts import Wheel


class Known:
    """A job and what its last reading tells of the wheel.

    Parameters
    ----------
    subject : Wheel or Job
        A wheel alone is true and centred at its nominal tension.
    """

    def __init__(self, subject: Wheel | Job) -> None:
        self.job: Job = as_job(subject)

    @cached_property
    def found(self) -> Estimate:
        """The estimate from the last reading; raises Unstable where no stable wheel explains it."""
        return estimate(self.job.wheel, self.job.last, self.job.errors)

    @cached_property
    def doubts(self) -> tuple[str, ...]:
        """Readings that can't well be true."""
        return () if self.job.last is None else suspects(self.job.wheel, self.job.last, self.found)

    def with_work(self, work: Work) -> "Known":
        """The same wheel and readings with other work to do; what was worked out is kept."""
        other = Known(replace(self.job, work=work))
        other.__dict__.update({name: self.__dict__[name] for name in ("found", "doubts") if name in self.__dict__})
        return other


def known(subject: Wheel | Job | Known) -> Known:
    """What is known of a wheel or a job; of something known already, itself."""
    return subject if isinstance(subject, Known) else Known(subject)
