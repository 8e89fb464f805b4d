"""The joint least-squares problem of all visits to a wheel.

Each visit is a ``Problem`` of its own for the wheel as it was then. The joint unknowns are those of the wheel as
received, what a turn gives, the hand's error at each nipple in each interval, and factors on the rim's stiffness. The
state at a later visit follows from them and the turns logged by then.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.encoded import Encoded
from wheelsim.estimation.assumed import Assumed
from wheelsim.estimation.hand import misturn_sd
from wheelsim.estimation.problem import FEW, TAIL, Problem, Rows, Slopes, Thing, kinked
from wheelsim.job.visits import Visit
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.readings.errors import ToolErrors
from wheelsim.readings.reading import all_round
from wheelsim.wheel.geometry import wheel_geometry
from wheelsim.wheel.parts import SIDES, Rim, Wheel

# Prior standard deviations: common practice, no source, unless it says own choice.
GAIN_SD = 0.08  # of gain - 1, below 0 (gain: movement per turn over the thread's pitch); bedding and wind-up take some
GAINS = (0.5, 1.1)  # what is believed of it, six standard deviations: beyond, a reading is wrong, not the thread
MORE_SD = 0.01  # the same above 0. Own choice: nothing adds to a turn, so the prior is practically one-sided
SOFT_SD = 0.25  # of the logarithm of a rim's stiffness over that of its kind
FREED_SD = 0.5  # of a nipple's movement where its logged turn was found wrong; own choice: wide [turn]
MOVED_SD = 2.0  # of a whole side's movement where the gauge contradicts the log; own choice: wide [turn]
SMALL = 1e-3  # finite-difference step in the logarithm of a stiffness; own choice: it errs by half as much

States: TypeAlias = tuple[State, ...]  # the wheel at each visit; the last one is now


@dataclass(frozen=True)
class Learnt(Encoded):
    """A property of this rim, thread or meter, learnt from readings before and after passes."""

    name: str
    prior: float  # expected value before anything was learnt; 1, since values are shares of the usual one
    value: float  # estimate, as a share of the usual value
    sd: float  # its standard deviation


@dataclass(frozen=True, eq=False)
class Moves:
    """The turns in one interval between visits, and how an error in them would show in the m readings.

    Attributes
    ----------
    passes : tuple of int
        Numbers of the passes in the interval.
    logged : (n,) ndarray
        Sum of their turns. [turn]
    compared : frozenset of int
        Spokes whose turn can be tested: read before and after, by the meter there or by the dial all round.
    felt : (m, n) ndarray
        Change of each reading, in its standard deviations, per turn of each nipple. [1/turn]
    bent : two of (m, n) ndarray
        The same per height of a kink at each spoke, lateral and radial, that the rim got in the interval; empty except
        for the last interval. [1/m]
    """

    passes: tuple[int, ...]
    logged: Turns
    compared: frozenset[int]
    felt: Floats
    bent: tuple[Floats, ...] = ()


class Course:
    """Unknowns and rows of the joint problem of all visits; with one visit it is that ``Problem``.

    Parameters
    ----------
    wheel : Wheel
    seen : sequence of Visit
        In time order.
    errors : ToolErrors, optional
    freed : collection of (int, int)
        (interval between visits from 0, spoke number): there the nipple's movement is unknown, not as logged.
    moved : collection of int
        Intervals in which the movement of both whole sides is unknown, not as logged.

    Attributes
    ----------
    sd : (p,) ndarray
        Prior standard deviation of each unknown; all prior means are 0.
    """

    def __init__(self, wheel: Wheel, seen: Sequence[Visit], errors: ToolErrors | None = None,
                 freed: Collection[tuple[int, int]] = (), moved: Collection[int] = ()) -> None:
        self.wheel, self.visits = wheel, tuple(seen)
        everything = frozenset(("gauge", "lateral", "radial", "tension"))
        earlier = [one.reading for one in self.visits[:-1]]
        before = {name for name in ("gauge", "lateral", "radial") if any(getattr(one, name) for one in earlier)}
        if len({spoke for one in earlier for spoke, _ in one.tension}) >= FEW:
            before.add("tension")
        self.problems: list[Problem] = [*(Problem(wheel, one, errors, read_before=everything) for one in earlier),
                         Problem(wheel, self.visits[-1].reading, errors, read_before=frozenset(before))]
        now = self.now = self.problems[-1]
        # One unknown scale for all visits. If some tensions came from tones, it gets their larger standard deviation:
        # that may understate what the meter tells, but never overstates it.
        errors = errors or ToolErrors()
        if any(one.by_tone for one in (visit.reading for visit in self.visits)):
            now.sd[now.of_scale.start] = errors.tone
        self.tailed, n = now.tailed, wheel.n
        self.assumed: list[Assumed] = now.assumed
        self.turned = [one.turned(n) for one in self.visits[:-1]]
        sd = [now.sd]
        end = now.size

        def more(some: Floats) -> slice:
            """Append unknowns with these standard deviations; their place among all."""
            nonlocal end
            sd.append(some)
            end += len(some)
            return slice(end - len(some), end)

        turned = any(turns.any() for turns in self.turned)
        taught = any(turns.any() and later.read for turns, later in zip(self.turned, self.visits[1:], strict=True))
        self.of_gain = more(np.full(int(turned), GAIN_SD))
        self.of_soft = more(np.full(2 if taught else 0, SOFT_SD))
        own = [(more(one.sd[one.of_zero]), more(one.sd[one.of_loss])) for one in self.problems[:-1]]
        strays = misturn_sd(wheel, wheel_geometry(wheel).tension)
        self.misturned = [more(np.where([(k, i + 1) in freed for i in range(n)], FREED_SD,
                                        strays * np.sqrt(one.times(n)) + 1e-9))
                          for k, one in enumerate(self.visits[:-1])]
        self.sides_moved = [more(np.full(2 if k in moved else 0, MOVED_SD)) for k in range(len(self.visits) - 1)]
        self.sd: Floats = np.concatenate(sd)
        self.size = end
        self.into = [self._into(k, own, self.misturned) for k in range(len(self.problems))]
        self._softer: tuple[States, list[States]] | None = None
        self._weighed: tuple[States, Floats, Rows] | None = None  # the rows about where it was weighed

    def _into(self, k: int, own: list[tuple[slice, slice]], misturned: list[slice]) -> Floats:
        """Matrix (q, p) from the joint unknowns to those of visit ``k``; logged turns are added in ``own``."""
        one, now = self.problems[k], self.now
        out = np.zeros((one.size, self.size))
        pairs = [(one.of_side, now.of_side), (one.of_nipple, now.of_nipple), (one.of_lateral, now.of_lateral),
                 (one.of_radial, now.of_radial), (one.of_scale, now.of_scale), (one.of_flange, now.of_flange)]
        pairs += [(one.of_zero, now.of_zero), (one.of_loss, now.of_loss)] if one is now else \
            [(one.of_zero, own[k][0]), (one.of_loss, own[k][1])]
        for mine, theirs in pairs:
            out[mine, theirs] = np.eye(mine.stop - mine.start)
        out[one.of_nipple, self.of_gain] = self._by_then(k)[:, None] if self.of_gain.stop > self.of_gain.start else 0.0
        for interval, sides in zip(misturned[:k], self.sides_moved[:k], strict=True):
            out[one.of_nipple, interval] = np.eye(self.wheel.n)
            out[one.of_nipple, sides] = now.sides[:, :sides.stop - sides.start]
        return out

    def _by_then(self, k: int) -> Floats:
        """Sum of the turns logged before visit ``k``, (n,). [turn]"""
        return np.sum(self.turned[:k], axis=0) if k else np.zeros(self.wheel.n)

    def own(self, k: int, unknowns: Floats) -> Floats:
        """The unknowns (q,) of visit ``k`` that follow from the joint unknowns (p,)."""
        out: Floats = self.into[k] @ unknowns
        out[self.problems[k].of_nipple] += self._by_then(k)
        return out

    def softened(self, unknowns: Floats) -> Wheel:
        """The wheel with the rim stiffness of these unknowns; the wheel itself where stiffness is not an unknown."""
        soft = unknowns[self.of_soft]
        return replace(self.wheel, rim=self._softened_rim(soft)) if len(soft) else self.wheel

    def _softened_rim(self, soft: Floats) -> Rim:
        """The rim with its stiffness times the exponential of ``soft`` (2,), lateral and radial."""
        lateral, radial = np.exp(soft)
        rim = self.wheel.rim
        return replace(rim, lateral_bending=rim.lateral_bending * lateral, torsion=rim.torsion * lateral,
                       radial_bending=rim.radial_bending * radial)

    def states(self, unknowns: Floats, starts: States | None, push: bool) -> States:
        """Equilibrium of the wheel at each visit; raises Unstable."""
        wheel = self.softened(unknowns)
        out = []
        for k, one in enumerate(self.problems):
            mine = self.own(k, unknowns)
            out.append(equilibrium(wheel, one.turns(mine), one.shape(mine), push=push,
                                   start=None if starts is None else starts[k]))
        return tuple(out)

    def weigh(self, states: States, unknowns: Floats) -> None:
        """Update the standard deviations that depend on the state: those of the meter and of the gauge's feet.

        The feet's needs the posterior of the rim's shape from all other readings: ``root`` is the Cholesky factor of
        its inverse covariance.
        """
        self._weighed = None
        for k, (one, state) in enumerate(zip(self.problems, states, strict=True)):
            one.weigh(state, self.own(k, unknowns))
        gauged = [k for k, one in enumerate(self.problems) if one.reading.gauge is not None]
        if not gauged:
            return
        rows, misfit, spread, what = self.rows(states, unknowns)
        prior = self.prior_sd(unknowns)
        whitened = rows * prior / spread[:, None]
        root = np.linalg.cholesky(whitened.T @ whitened + np.eye(self.size))
        spread = spread.copy()
        of_gauges = (row for row, (kind, _) in enumerate(what) if kind in ("gauge", "earlier gauge"))
        for k, row in zip(gauged, of_gauges, strict=True):
            one = self.problems[k]
            felt = one.under_feet @ one.slopes(states[k])[0] @ self.into[k]
            one.weigh_feet(states[k], self.own(k, unknowns), np.linalg.solve(root, (felt * prior).T))
            spread[row] = one.gauge_sd()
        self._weighed = states, unknowns, (rows, misfit, spread, what)

    def rows(self, states: States, unknowns: Floats, *, misfits_only: bool = False) -> Rows:
        """As ``Problem.rows``, for all visits; the kind of readings of earlier visits begins with "earlier "."""
        if self._weighed is not None and self._weighed[0] is states and self._weighed[1] is unknowns:
            return self._weighed[2]
        rows: list[Floats] = []
        misfits: list[Floats] = []
        spreads: list[Floats] = []
        what: list[Thing] = []
        softer = [] if misfits_only else self._softened_states(states, unknowns)
        for k, (one, state) in enumerate(zip(self.problems, states, strict=True)):
            mine = self.own(k, unknowns)
            row, misfit, spread, things = one.rows(state, mine, misfits_only=misfits_only)
            if not len(misfit):
                continue
            row = row @ self.into[k]
            for j, other in enumerate(softer):
                row[:, self.of_soft.start + j] = (misfit - one.rows(other[k], mine, misfits_only=True)[1]) / SMALL
            rows.append(row)
            misfits.append(misfit)
            spreads.append(spread)
            what += things if one is self.now else [(f"earlier {kind}", spoke) for kind, spoke in things]
        return np.concatenate(rows), np.concatenate(misfits), np.concatenate(spreads), what

    def _softened_states(self, states: States, unknowns: Floats) -> list[States]:
        """The states with each unknown rim stiffness increased by a step, for its derivatives."""
        if self._softer is None or self._softer[0] is not states:
            soft = unknowns[self.of_soft]
            rims = [self._softened_rim(soft + SMALL * one) for one in np.eye(len(soft))]
            self._softer = (states, [tuple(one.with_rim(rim) for one in states) for rim in rims])
        return self._softer[1]

    def slopes(self, states: States, unknowns: Floats) -> Slopes:
        """Derivative of the state now by each unknown, no tyre on: lateral, radial [m] and tension [N], (n, p) each."""
        state = states[-1]
        lateral, radial, tension = (block @ self.into[-1] for block in self.now.slopes(state))
        for j, other in enumerate(self._softened_states(states, unknowns)):
            column = self.of_soft.start + j
            lateral[:, column] = (other[-1].edge - state.edge) / SMALL
            radial[:, column] = (other[-1].radial - state.radial) / SMALL
            tension[:, column] = (other[-1].tension - state.tension) / SMALL
        return lateral, radial, tension

    def shown_slopes(self, states: States, unknowns: Floats) -> Floats:
        """Derivative by each unknown of what the meter would show now, no tyre on, (n, p). [N]"""
        shown: Floats = self.now.shown_slopes(states[-1], self.own(len(self.problems) - 1, unknowns)) @ self.into[-1]
        return shown

    def turns(self, change: Floats) -> Floats:
        """Turns (n,) of the wheel now that correspond to a change (p,) of the unknowns. [turn]"""
        return self.now.turns(self.into[-1] @ change)

    def cost(self, states: States, unknowns: Floats) -> float:
        """Cost that is minimised: minus twice the log of the posterior, up to a constant.

        Normal errors and priors, Student's t for the unknowns in ``tailed``.
        """
        _, misfit, spread, _ = self.rows(states, unknowns, misfits_only=True)
        usual = (unknowns / self._one_sided(unknowns)) ** 2
        far = usual[self.tailed]
        tail = (TAIL + 1) * np.log1p(far / TAIL)
        return float(np.sum((misfit / spread) ** 2) + np.sum(usual) - np.sum(far) + np.sum(tail))

    def prior_sd(self, unknowns: Floats, *, settled: bool = False) -> Floats:
        """Prior standard deviations (p,) for the next step, larger for unknowns far out in the tail of Student's t.

        Iteratively reweighted least squares: with these a normal prior has the t prior's slope at these unknowns. With
        ``settled`` they are those for the covariance: a gain that settled at the pitch's edge is as unsure below it as
        any other, though none may lie above.
        """
        sd = self.sd.copy() if settled else self._one_sided(unknowns)
        sd[self.tailed] *= np.sqrt((TAIL + (unknowns[self.tailed] / self.sd[self.tailed]) ** 2) / (TAIL + 1))
        return sd

    def _one_sided(self, unknowns: Floats) -> Floats:
        """Prior standard deviations (p,); that of the gain is ``GAIN_SD`` below the pitch and ``MORE_SD`` above."""
        sd = self.sd.copy()
        if (unknowns[self.of_gain] > 0).any():
            sd[self.of_gain] = MORE_SD
        return sd

    def gain(self, unknowns: Floats) -> float:
        """Movement of the nipple per turn, as a share of the thread's pitch, within ``GAINS``."""
        return float(np.clip(1.0 + unknowns[self.of_gain].sum(), *GAINS))

    def moves(self, states: States, unknowns: Floats, explains: Floats, prior: Floats) -> tuple[Moves, ...]:
        """The intervals between visits, from rows ``explains`` (m, p) per prior standard deviation ``prior`` (p,)."""
        out = [Moves(tuple(done.number for done in one.passes), turned, self._compared(k),
                     explains[:, mine] / prior[mine])
               for k, (one, turned, mine) in enumerate(zip(self.visits[:-1], self.turned, self.misturned, strict=True))]
        if out:
            # A kink that the rim got in the last interval affects only the rows of the last visit.
            rows, _, spread, _ = self.now.rows(states[-1], self.own(len(self.problems) - 1, unknowns))
            kinks = kinked(np.asarray(self.wheel.rim.hole_angles))
            bent = []
            for name, mine in (("lateral", self.now.of_lateral), ("radial", self.now.of_radial)):
                felt = np.zeros((len(explains), self.wheel.n))
                earlier = {spoke for one in self.visits[:-1] for spoke, _ in getattr(one.reading, name)}
                # Only at spokes where that dial was read before and now: elsewhere a kink can't be told from the shape.
                twice = [spoke - 1 for spoke, _ in getattr(self.visits[-1].reading, name) if spoke in earlier]
                felt[len(explains) - len(rows):, twice] = (rows[:, mine] @ kinks / spread[:, None])[:, twice]
                bent.append(felt)
            out[-1] = replace(out[-1], bent=tuple(bent))
        return tuple(out)

    def _compared(self, k: int) -> frozenset[int]:
        """Spokes measured both up to visit ``k`` and after it: by the meter, or by the lateral dial all round."""
        def told(some: Sequence[Visit]) -> set[int]:
            if any(all_round(one.reading.lateral, self.wheel.n) for one in some):
                return set(range(1, self.wheel.n + 1))
            return {spoke for one in some for spoke, _ in one.reading.tension}

        return frozenset(told(self.visits[:k + 1]) & told(self.visits[k + 1:]))

    def learnt(self, unknowns: Floats, root: Floats) -> tuple[tuple[Learnt, ...], Floats]:
        """Properties learnt from passes, and a root (j, k) of the covariance of their logarithms, row by row.

        ``root`` (p, k) times its transpose is the covariance of the unknowns.
        """
        if not len(unknowns[self.of_soft]):
            return (), root[:0]
        # Scale of the meter on a side: common part plus the side's own; their errors are correlated.
        common, *own = unknowns[self.now.of_scale]
        of_scale, gain = root[self.now.of_scale], self.gain(unknowns)
        told = [(name, float(np.exp(one)), row) for name, one, row in zip(
            ("lateral_stiffness", "radial_stiffness"), unknowns[self.of_soft], root[self.of_soft], strict=True)]
        told += [("gain_per_turn", gain, root[self.of_gain][0] / gain)]
        told += [(f"meter_{side}", float(np.exp(common + one)), of_scale[0] + row)
                 for side, one, row in zip(SIDES, own, of_scale[1:], strict=True)]
        return (tuple(Learnt(name, 1.0, value, value * float(np.linalg.norm(row))) for name, value, row in told),
                np.array([row for _, _, row in told]))
