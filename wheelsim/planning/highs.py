"""Interface to the mixed-integer solver: one model in, the best answer and its bound out; watched, and stopped at will.

highspy rather than scipy's ``milp``: it takes an answer to start from, tells of better ones as they come, and
gives what it has when it is stopped.
"""

import ctypes
import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import highspy
import numpy as np
import numpy.typing as npt
from scipy.sparse import csc_array

from wheelsim.arrays import Floats

Report = Callable[[float | None, float, float], None]
LEAST_RELAXED = 20.0  # [s]
# No column's price falls without end, so what is unbounded or infeasible is infeasible.
INFEASIBLE = (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible)
FEASIBLE = highspy.SolutionStatus.kSolutionStatusFeasible
# Effort is work that was counted, in what would take about a second on the machine where the rates were measured.
ENTRIES_A_UNIT = 3.0e7  # numbers (nipples times candidates) that the heuristic search weighs
# Times the solver asks in branch and bound whether to go on. It asks at the same points of every run, also before the
# first node is branched, and several times a node; it tells no count of its simplex iterations on the way.
# So many are a unit on a model of ``COEFFICIENTS``, that of 32 spokes. On a larger one each counts by the square of its
# coefficients; on a smaller one in proportion, for most of the work is at the root, where it seldom asks (measured).
CHECKS_A_UNIT = 700
COEFFICIENTS = 17_800
ITERATIONS_A_UNIT = 2.4e4  # of the simplex method on a relaxation kept in the solver
# Of the time allowed. On the machines where it was measured a unit takes 0.35 to 0.85 s: where it takes two thirds of
# a second or less the search ends by the effort, and the same job has the same plan; elsewhere the clock ends it.
EFFORT_A_SECOND = 1.5


_one_at_a_time = threading.Lock()


class Watch:
    """What a search may spend: effort, which is counted work, and the clock as a safety net; progress and stopping.

    While the clock doesn't run out, all decisions hang on effort: the same job gives the same plan on any machine.

    Parameters
    ----------
    seconds : float
        Longest time by the clock. [s]
    report : callable, optional
        Called with (best price or None, bound, seconds gone) as the search goes on.
    began : float, optional
        When it began, by ``time.monotonic``; now by default.
    effort : float, optional
        Most effort; by default ``EFFORT_A_SECOND`` of the time.
    """

    def __init__(self, seconds: float, report: Report | None = None, began: float | None = None,
                 effort: float | None = None) -> None:
        self.began = time.monotonic() if began is None else began
        self.seconds, self.report = seconds, report
        self.effort = EFFORT_A_SECOND * seconds if effort is None else effort
        self.spent = 0.0
        self._whole: Watch | None = None  # of which this one is a part
        self._stop = [False]  # shared with every part of the watch

    @property
    def stopped(self) -> bool:
        return self._stop[0]

    def gone(self) -> float:
        """Seconds since it began."""
        return time.monotonic() - self.began

    def seconds_left(self) -> float:
        """Seconds left by the clock, none after a stop."""
        return 0.0 if self.stopped else max(self.seconds - self.gone(), 0.0)

    def left(self) -> float:
        """Effort left; none after a stop or when the clock has run out."""
        return max(self.effort - self.spent, 0.0) if self.seconds_left() else 0.0

    def spend(self, effort: float) -> None:
        """Count effort as spent, here and in what this is a part of."""
        self.spent += effort
        if self._whole is not None:
            self._whole.spend(effort)

    def stop(self) -> None:
        """Ask for the best so far; safe to call from a signal handler."""
        self._stop[0] = True

    def part(self, effort: float) -> "Watch":
        """A watch for a part of so much effort at most: stopped with this one, telling whom this one tells."""
        part = Watch(self.seconds, self.report, self.began, min(effort, self.left()))
        part._whole, part._stop = self, self._stop
        return part

    def apart(self, effort: float, report: Report | None) -> "Watch":
        """A part for a thread of its own, whose effort is counted here only when it has ended: ``spend`` it then."""
        apart = self.part(effort)
        apart._whole, apart.report = None, report
        return apart

    def tell(self, best: float | None, bound: float) -> None:
        """Report the best price so far and the bound on it."""
        if self.report is not None:
            self.report(best, bound, self.gone())


@dataclass(frozen=True, eq=False)
class Model:
    """Least ``price @ x`` with low <= matrix @ x <= high, lower <= x <= upper, some x whole.

    Passed to the solver as arrays: with highspy's variables and expressions a model of 330 rows and 160 columns takes
    90 to 200 ms to build instead of 3 to 16, and a plan builds up to ten of them.
    """

    price: Floats
    lower: Floats
    upper: Floats
    whole: npt.NDArray[np.generic]
    matrix: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, eq=False)
class Solved:
    """``x`` is None where none was found; ``feasible`` is False only when proven so; ``bound`` on any x's price."""

    x: Floats | None
    cost: float | None
    bound: float | None
    proven: bool
    feasible: bool


def solve(model: Model, watch: Watch, *, relax: bool = False, grain: float = 0.0, best: float | None = None,
          first: bool = False) -> Solved:
    """Solve a model.

    Parameters
    ----------
    model : Model
    watch : Watch
    relax : bool
        Leave whole columns free.
    grain : float
        Prices of whole answers differ by this at least: one within less of the bound is the best.
    best : float, optional
        What the best answer known elsewhere costs, to be told until a better one is found.
    first : bool
        Stop at the first answer.

    Returns
    -------
    Solved
    """
    solver = _new_solver()
    # These models are small and dense: presolve finds little, and the tree that follows it is larger (measured).
    if not relax:
        solver.setOptionValue("presolve", "off")
    # This heuristic of the solver (seen in 1.16) may run on without end, heeding neither time limit nor interrupt.
    solver.setOptionValue("mip_heuristic_run_feasibility_jump", False)
    # A relaxation takes hundredths of a second, and one that was cut short gives no bound: it gets a limit of its own.
    solver.setOptionValue("time_limit", LEAST_RELAXED if relax else max(watch.seconds_left(), 0.05))
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", max(grain * (1 - 1e-6), 1e-6))
    solver.passModel(_lp(model, relax))
    if not relax:
        size = np.count_nonzero(model.matrix) / COEFFICIENTS
        _listen(solver, watch, best, first, max(size, size**2) / CHECKS_A_UNIT)
    solver.run()
    status, info = solver.getModelStatus(), solver.getInfo()
    if relax:
        watch.spend(max(info.simplex_iteration_count, 1) / ITERATIONS_A_UNIT)
    if status in INFEASIBLE:
        return Solved(None, None, None, True, False)
    optimal = status == highspy.HighsModelStatus.kOptimal
    # The price of a relaxation that wasn't solved to its end bounds nothing from below.
    bound = info.mip_dual_bound if not relax else info.objective_function_value if optimal else -np.inf
    if info.primal_solution_status != FEASIBLE:
        return Solved(None, None, bound if np.isfinite(bound) else None, False, True)
    return Solved(np.array(solver.getSolution().col_value), float(info.objective_function_value), float(bound), optimal,
                  True)


class Relaxation:
    """A model with its whole columns left free, kept in the solver: solved again from the last basis after a change.

    Parameters
    ----------
    model : Model
    watch : Watch
        What its simplex iterations are counted to.
    """

    def __init__(self, model: Model, watch: Watch) -> None:
        self._watch, self._solver = watch, _new_solver()
        self.infeasible = False  # whether the last solve proved that there is no x
        self._solver.setOptionValue("presolve", "off")
        self._solver.passModel(_lp(model, relax=True))

    def bound(self, column: int, low: float, high: float) -> None:
        """Change what a column may be."""
        self._solver.changeColBounds(column, float(low), float(high))

    def price(self, column: int, price: float) -> None:
        """Change what a column costs."""
        self._solver.changeColCost(column, float(price))

    def solve(self) -> Floats | None:
        """The cheapest x (size,), or None: where there is none, or the solver could not tell; see ``infeasible``."""
        self.infeasible = False
        for _ in range(2):
            self._solver.run()
            self._watch.spend(max(self._solver.getInfo().simplex_iteration_count, 1) / ITERATIONS_A_UNIT)
            status = self._solver.getModelStatus()
            if status == highspy.HighsModelStatus.kOptimal:
                return np.array(self._solver.getSolution().col_value)
            if status in INFEASIBLE:
                self.infeasible = True
                return None
            self._solver.clearSolver()  # warm starts may end in numerical trouble: once more from scratch
        return None


def _new_solver() -> highspy.Highs:
    with _one_at_a_time, _quiet():  # standard output is the whole process's
        solver = highspy.Highs()  # type: ignore[no-untyped-call]  # its own method carries no types
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("random_seed", 0)
    return solver


@contextmanager
def _quiet() -> Iterator[None]:
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


def _lp(model: Model, relax: bool) -> highspy.HighsLp:
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


def _listen(solver: highspy.Highs, watch: Watch, best: float | None, first: bool, check: float) -> None:
    """Have the solver tell how it goes, and stop it when asked or when the effort, ``check`` a time, is spent."""
    kinds = highspy.cb.HighsCallbackType
    last = 0.0

    def heard(kind: object, message: str, out: "highspy.cb.HighsCallbackOutput", into: "highspy.cb.HighsCallbackInput",
              data: object) -> None:
        nonlocal last
        watch.spend(check)
        if kind == kinds.kCallbackMipInterrupt and (not watch.left() or (first and np.isfinite(out.mip_primal_bound))):
            into.user_interrupt = True
        now = time.monotonic()
        if now - last > 0.2:
            last = now
            watch.tell(out.mip_primal_bound if np.isfinite(out.mip_primal_bound) else best, out.mip_dual_bound)

    solver.setCallback(heard, None)
    solver.startCallback(kinds.kCallbackMipInterrupt)
