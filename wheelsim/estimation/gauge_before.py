"""An earlier gauge that was probably set on the other face: what was turned and read since contradicts it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from wheelsim.estimation.estimate import Estimate
from wheelsim.estimation.slips import LOOK_FROM, NAMED_FROM, Rewritten, estimated, other_way_fits
from wheelsim.job.job import Job
from wheelsim.job.visits import Visit
from wheelsim.readings.gauge import Gauge

# By how much twice the logarithm of the posterior may rise if the gauge so set is left out. Own choice: three
# standard deviations.
FITS = 9.0


@dataclass(frozen=True)
class GaugeBefore:
    """An earlier gauge, taken as set on the other face.

    Attributes
    ----------
    after_pass : int
        Number of the pass that it was read after; 0 for as received.
    read : float
        What it shows as it is written: twice the offset, plus right. [m]
    """

    after_pass: int
    read: float


def on_the_other_face(job: Job, log: Sequence[Visit], as_logged: Estimate) -> Rewritten[GaugeBefore] | None:
    """The log with one earlier gauge set on the other face, if that is far likelier, two other gauges being read.

    A gauge that was read twice counts as two. Whether a comparison is worth while is asked first by a score test, as of
    passes. None too where passes turned the other way would explain it about as well: from a rim that ends in the
    middle the gauge alone can't tell the two apart.
    """
    gauged = [k for k, one in enumerate(log) if one.reading.gauge is not None]
    told = {k: 2 if log[k].reading.gauge_again else 1 for k in gauged}
    rows = [k for k, one in enumerate(as_logged.residual) if one[0] in ("gauge", "earlier gauge")]
    explains, misfit = as_logged.explains, np.array([one[2] for one in as_logged.residual])
    best: Rewritten[GaugeBefore] | None = None
    for k, row in zip(gauged, rows, strict=True):
        if k == len(log) - 1 or sum(told.values()) - told[k] < 2:
            continue
        absorbed = explains[row] @ np.linalg.solve(explains.T @ explains + np.eye(explains.shape[1]), explains[row])
        if abs(misfit[row]) < LOOK_FROM * np.sqrt(max(1 - float(absorbed), 1e-9)):
            continue
        gauge = log[k].reading.gauge
        assert gauge is not None
        other = _with(log, k, gauge.on_the_other_face)
        found = estimated(job, other, min(as_logged.cost - NAMED_FROM, best.found.cost if best else np.inf))
        if found is not None and not estimated(job, _with(log, k, None), found.cost - FITS):
            best = Rewritten(GaugeBefore(log[k].after_pass, 2 * gauge.dish), other, found, found.cost + NAMED_FROM)
    return None if best is None or other_way_fits(job, log, best.found.cost + NAMED_FROM / 2) else best


def _with(log: Sequence[Visit], k: int, gauge: Gauge | None) -> tuple[Visit, ...]:
    """The log with another gauge at one visit."""
    return (*log[:k], replace(log[k], reading=replace(log[k].reading, gauge=gauge)), *log[k + 1:])
