"""One job, estimated once and then used for any number of predictions, assessments and plans."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from wheelsim.estimation.known import Known
from wheelsim.job.job import Job
from wheelsim.stand.assess import Assessment, assess
from wheelsim.stand.predict import Prediction, predict
from wheelsim.wheel.parts import Wheel

if TYPE_CHECKING:  # not imported at run time: it would load the solver
    from wheelsim.planning.highs import Watch
    from wheelsim.planning.plan_result import Plan


class Stand:
    """Predict, assess and plan one job without estimating its wheel again each time.

    Parameters
    ----------
    subject : Wheel or Job
        A wheel alone is true and centred at its nominal tension; a job is estimated from its readings.

    Notes
    -----
    Results are the same as those of ``wheelsim.predict``, ``assess`` and ``plan``. A job can't be changed; make another
    Stand for a changed one.
    """

    def __init__(self, subject: Wheel | Job) -> None:
        self._known = Known(subject)

    @property
    def job(self) -> Job:
        """The job, with the wheel and all its readings."""
        return self._known.job

    def predict(self, *, right: float | str = 0.0, left: float | str = 0.0,
                spokes: Mapping[int, float | str] | None = None) -> Prediction:
        """As ``wheelsim.predict``; turns are numbers or text such as "1/4"."""
        return predict(self._known, right=right, left=left, spokes=spokes)

    def assess(self) -> Assessment:
        """As ``wheelsim.assess``."""
        return assess(self._known)

    def plan(self, *, fewest: str | None = None, to: str = "aims", step: float | None = None,
             margin: float | None = None, seconds: float | None = None, effort: float | None = None,
             watch: "Watch | None" = None) -> "Plan":
        """As ``wheelsim.plan``, with the same options."""
        from wheelsim.planning.plan import plan  # imported late: it loads the solver, which predictions don't need

        return plan(self._known, fewest=fewest, to=to, step=step, margin=margin, seconds=seconds, effort=effort,
                    watch=watch)
