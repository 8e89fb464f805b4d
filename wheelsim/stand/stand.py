"""One wheel on the stand, asked as often as one likes: its readings are explained once."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from wheelsim.estimation.known import Known
from wheelsim.job.job import Job
from wheelsim.stand.assess import Assessment, assess
from wheelsim.stand.predict import Prediction, predict
from wheelsim.wheel.parts import Wheel

if TYPE_CHECKING:  # brings in the solver, which predictions do without
    from wheelsim.planning.highs import Watch
    from wheelsim.planning.plan_result import Plan


class Stand:
    """Predict, assess and plan one job without estimating its wheel anew for each question.

    Parameters
    ----------
    subject : Wheel or Job
        A wheel alone is true and centred at its nominal tension; a job is its last reading.

    Notes
    -----
    The answers are those of ``wheelsim.predict``, ``assess`` and ``plan``. Parts are frozen, so a changed job is
    another Stand.
    """

    def __init__(self, subject: Wheel | Job) -> None:
        self._known = Known(subject)

    @property
    def job(self) -> Job:
        return self._known.job

    def predict(self, *, right: float | str = 0.0, left: float | str = 0.0,
                spokes: Mapping[int, float | str] | None = None) -> Prediction:
        """As ``wheelsim.predict``; turns are numbers or words such as "1/4"."""
        return predict(self._known, right=right, left=left, spokes=spokes)

    def assess(self) -> Assessment:
        """As ``wheelsim.assess``."""
        return assess(self._known)

    def plan(self, *, fewest: str | None = None, to: str = "aims", step: float | None = None,
             margin: float | None = None, seconds: float | None = None, effort: float | None = None,
             watch: "Watch | None" = None) -> "Plan":
        """As ``wheelsim.plan``, with its wishes."""
        from wheelsim.planning.plan import plan  # brings in the solver, which predictions do without

        return plan(self._known, fewest=fewest, to=to, step=step, margin=margin, seconds=seconds, effort=effort,
                    watch=watch)
