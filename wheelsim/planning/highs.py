"""The door to the mixed-integer solver: one model in, the best answer and its bound out; watched, and stopped at will.

highspy rather than scipy's ``milp``: it takes an answer to start from, tells of better ones as they come, and
gives what it has when it is stopped.
"""

import ctypes
import os
import sys
import time
from contextlib import contextmanager
from dataclasses import dataclass

import highspy
import numpy as np
from scipy.sparse import csc_array

LEAST_RELAXED = 20.0  # [s]
FEASIBLE = highspy.SolutionStatus.kSolutionStatusFeasible


class Watch:
    """The time a search may take, whether it was stopped, and who wants to know how it goes.

    Parameters
    ----------
    seconds : float
    report : callable, optional
        Called with (best price or None, bound, seconds gone) as the search goes on.
    began : float, optional
        When it began, by ``time.monotonic``; now by default.
    """

    def __init__(self, seconds, report=None, began=None):
        self.began = time.monotonic() if began is None else began
        self.seconds, self.report = seconds, report
        self._stop = [False]  # shared with every part of the watch

    @property
    def stopped(self):
        return self._stop[0]

    def gone(self):
        """Seconds since it began."""
        return time.monotonic() - self.began

    def left(self):
        """Seconds left, none after a stop."""
        return 0.0 if self.stopped else self.seconds - self.gone()

    def stop(self):
        """Ask for the best so far; safe to call from a signal handler."""
        self._stop[0] = True

    def part(self, seconds):
        """A watch for a part of so many seconds at most: stopped with this one, telling whom this one tells."""
        part = Watch(max(min(seconds, self.left()), 0.0))
        part.tell = self.tell
        part._stop = self._stop
        return part

    def tell(self, best, bound):
        if self.report is not None:
            self.report(best, bound, self.gone())


@dataclass(frozen=True, eq=False)
class Model:
    """Least ``price @ x`` with low <= matrix @ x <= high, lower <= x <= upper, some x whole."""

    price: np.ndarray
    lower: np.ndarray
    upper: np.ndarray
    whole: np.ndarray
    matrix: np.ndarray
    low: np.ndarray
    high: np.ndarray


@dataclass(frozen=True, eq=False)
class Solved:
    """``x`` is None where none was found; ``feasible`` is False only when proven so; ``bound`` on any x's price."""

    x: np.ndarray | None
    cost: float | None
    bound: float | None
    proven: bool
    feasible: bool


def solve(model, watch, *, seconds=None, relax=False, start=None, grain=0.0):
    """Solve a model.

    Parameters
    ----------
    model : Model
    watch : Watch
    seconds : float, optional
        Less than the watch has left.
    relax : bool
        Leave whole columns free.
    start : (size,) array_like, optional
        A feasible x to begin with.
    grain : float
        Prices of whole answers differ by this at least: one within less of the bound is the best.

    Returns
    -------
    Solved
    """
    with _quiet():
        solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    # A relaxation takes hundredths of a second, and half of one is worth nothing.
    solver.setOptionValue("time_limit", LEAST_RELAXED if relax else max(
        min(watch.left(), np.inf if seconds is None else seconds), 0.05))
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", max(grain * (1 - 1e-6), 1e-6))
    solver.passModel(_lp(model, relax))
    if start is not None and not relax:
        given = highspy.HighsSolution()
        given.col_value = [float(value) for value in start]
        solver.setSolution(given)
    if not relax:
        _listen(solver, watch)
    solver.run()
    status, info = solver.getModelStatus(), solver.getInfo()
    # No column's price falls without end, so what is unbounded or infeasible is infeasible.
    if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
        return Solved(None, None, None, True, False)
    bound = info.objective_function_value if relax else info.mip_dual_bound
    if info.primal_solution_status != FEASIBLE:
        return Solved(None, None, bound if np.isfinite(bound) else None, False, True)
    optimal = status == highspy.HighsModelStatus.kOptimal
    return Solved(np.array(solver.getSolution().col_value), float(info.objective_function_value), float(bound), optimal,
                  True)


@contextmanager
def _quiet():
    """Keep the solver's banner, printed by its C code before it can be told not to, from the program's own output."""
    sys.stdout.flush()
    try:
        kept = os.dup(1)
    except OSError:  # there is no standard output to keep
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


def _lp(model, relax):
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(model.price), len(model.low)
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = model.price, model.lower, model.upper
    lp.row_lower_, lp.row_upper_ = model.low, model.high
    columns = csc_array(model.matrix)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = columns.indptr, columns.indices, columns.data
    if not relax:
        lp.integrality_ = [highspy.HighsVarType.kInteger if whole else highspy.HighsVarType.kContinuous
                           for whole in model.whole]
    return lp


def _listen(solver, watch):
    kinds = highspy.cb.HighsCallbackType
    last = 0.0

    def heard(kind, message, out, into, data):
        nonlocal last
        if kind == kinds.kCallbackMipInterrupt and watch.stopped:
            into.user_interrupt = True
        now = time.monotonic()
        if now - last > 0.2:
            last = now
            watch.tell(out.mip_primal_bound if np.isfinite(out.mip_primal_bound) else None, out.mip_dual_bound)

    solver.setCallback(heard, None)
    solver.startCallback(kinds.kCallbackMipInterrupt)
