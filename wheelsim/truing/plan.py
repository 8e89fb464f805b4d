"""From a job to a turn plan, or to what stands in its way."""

import math
import time
from dataclasses import dataclass, replace

import numpy as np

from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.estimate import estimate
from wheelsim.truing.bounds import QUANTITIES, Bounds, broken, measured
from wheelsim.truing.passes import Pass, order_passes
from wheelsim.truing.predict import as_job
from wheelsim.truing.programme import Programme, Task
from wheelsim.truing.search import Scorer, first_answer, side_grid
from wheelsim.truing.verdict import Verdict, verdict_of
from wheelsim.truing.view import View, view
from wheelsim.truing.ways import Way, compare_ways

FEWEST = ("hand", "turns", "nipples", "passes")
MOST_ROUNDS = 6  # of linearising anew where the plan ends
LITERAL_SECONDS = 4.0  # for the literal fewest turns beside another plan


@dataclass(frozen=True, eq=False)
class Literal:
    """The literal fewest turns, shown beside the plan: what it is and what it leaves."""

    turns: np.ndarray
    after: View
    bound_turns: float
    proven: bool

    def as_dict(self):
        return {"turns": [float(t) for t in self.turns], "total_turns": total(self.turns),
                "nipples": int(np.count_nonzero(self.turns)), "bound_turns": self.bound_turns,
                "proven": self.proven, "after": self.after.as_dict()}


@dataclass(frozen=True, eq=False)
class Blocking:
    """A limit that stands in the way: what is allowed and the least that would do, in the bench's units."""

    name: str
    limit: float
    needed: float
    unit: str
    words: str

    def as_dict(self):
        return {"name": self.name, "limit": self.limit, "needed": self.needed, "unit": self.unit,
                "words": self.words}


@dataclass(frozen=True, eq=False)
class Plan:
    """What to do to a wheel.

    Attributes
    ----------
    status : str
        "proven", "best so far", "none", "not found" or "nothing to do".
    turns : (n,) ndarray or None
        Sum over the passes. [turn]
    bound_turns : float or None
        No plan within the same bounds takes fewer turns in all; rounded up to the step. [turn]
    unmet : tuple of str
        Aims, by name, that the plan leaves unmet; limits it always keeps.
    """

    wheel: str
    status: str
    verdict: Verdict
    ways: tuple[Way, ...]
    turns: np.ndarray | None
    bound_turns: float | None
    proven: bool
    passes: tuple[Pass, ...]
    before: View
    after: View | None
    literal: Literal | None
    blocking: tuple[Blocking, ...]
    unmet: tuple[str, ...]
    assumed: tuple[str, ...]
    advice: tuple[str, ...]
    step: float
    target_dish: float

    def as_dict(self):
        turns = None if self.turns is None else [float(t) for t in self.turns]
        return {
            "format": 1, "wheel": self.wheel, "status": self.status, "verdict": self.verdict.as_dict(),
            "ways": [way.as_dict() for way in self.ways],
            "turns": turns,
            "total_turns": None if turns is None else total(self.turns),
            "nipples": None if turns is None else int(np.count_nonzero(self.turns)),
            "bound_turns": self.bound_turns, "proven": self.proven,
            "passes": [one.as_dict() for one in self.passes],
            "before": self.before.as_dict(),
            "after": None if self.after is None else self.after.as_dict(),
            "fewest_turns": None if self.literal is None else total(self.literal.turns),
            "fewest": None if self.literal is None else self.literal.as_dict(),
            "blocking": [one.as_dict() for one in self.blocking],
            "unmet_aims": list(self.unmet), "assumed": list(self.assumed), "advice": list(self.advice),
        }


def total(turns):
    """All turns added up, either way. [turn]"""
    return round(float(np.abs(turns).sum()), 6)


def plan(subject, *, fewest=None, to="aims", step=None, margin=None, seconds=None):
    """Plan the turns that bring a wheel within its limits, toward its aims.

    Parameters
    ----------
    subject : Wheel or Job
    fewest : "turns", "nipples" or "passes", optional
        That optimum literally; without it, what a hand would do.
    to : "aims" or "limits"
    step : float, optional
        Whole turns of this; default the job's. [turn]
    margin : float, optional
        Standard deviations of the gap's reading kept from its limit; default the job's.
    seconds : float, optional
        Longest time; default the job's. [s]

    Returns
    -------
    Plan

    Raises
    ------
    Unstable
        When the wheel as read has no stable equilibrium.
    ValueError
        For an unknown word.
    """
    if fewest not in (None, *FEWEST):
        raise ValueError(f"fewest: {fewest!r}; expected turns, nipples or passes")
    if to not in ("aims", "limits"):
        raise ValueError(f"to: {to!r}; expected aims or limits")
    job = as_job(subject)
    changes = {"step": step, "margin": margin, "time": seconds}
    work = replace(job.work, **{k: v for k, v in changes.items() if v is not None})
    return _Planner(replace(job, work=work), fewest or "hand", to).run()


class _Planner:
    def __init__(self, job, fewest, to):
        self.started = time.monotonic()
        self.job, self.fewest, self.to = job, fewest, to
        self.wheel, self.work = job.wheel, job.work
        found = estimate(job.wheel, job.last)
        self.state, self.assumed = found.state, found.assumed
        self.before = view(self.state)
        self._bounds()
        self.task = Task(self.state, np.zeros(self.wheel.n), self._free(), self.work.step, self.aims, self.hard,
                         self.work.target_dish, self.work.max_turns, self.work.direction == "loosen")

    def _left(self):
        return self.work.time - (time.monotonic() - self.started)

    def _free(self):
        spokes = self.wheel.spokes
        free = np.ones(self.wheel.n, dtype=bool)
        free[[i - 1 for i in self.work.untouched | spokes.missing]] = False
        if self.work.sides != "both":
            other = "left" if self.work.sides == "right" else "right"
            free[self.wheel.on_side(other)] = False
        return free

    def _bounds(self):
        """Limits, aims, and the hard bounds between: never worse than aim or as received."""
        typed = 300.0 if self.wheel.limits.min_tension == "from load" else self.wheel.limits.min_tension
        self.limits = Bounds.of(self.wheel.limits, typed)
        reading = self.job.last
        sd = {"gap": 2 * reading.gauge.dish_sd} if reading is not None and reading.gauge is not None else {}
        keep = self.limits.tightened(sd, self.work.margin)
        if self.to == "limits":
            self.aims = self.hard = keep
            return
        striving = self.wheel.striving
        aims = Bounds.of(striving, typed if striving.min_tension == "from load" else striving.min_tension)
        self.aims = aims.tightened(sd, self.work.margin).tighter_of(keep)
        now = measured(self.before, self.work.target_dish)
        received = {k: max(getattr(self.aims, k), now[k]) for k in ("lateral_runout", "radial_runout", "side_spread")}
        self.hard = keep.tighter_of(replace(keep, **received))

    # -- the answer ------------------------------------------------------------------------------

    def run(self):
        values = measured(self.before, self.work.target_dish)
        self.ways = compare_ways(self.state, self.task, self.limits)
        if not broken(values, self.aims):
            return self._nothing()
        relaxed = Programme(self.task, "turns").solve(max(self._left(), 1.0), relax=True, strive=True)
        if not relaxed.feasible:
            return self._none()
        answer = self._whole_sides() if self.fewest == "hand" else None
        if answer is None:
            answer = self._settle(self.task, self.fewest, self._left(), relaxed.turns)
        if answer is None:
            return self._not_found(relaxed)
        turns, after, proven, *found_bound = answer
        if self.fewest == "turns":
            literal = self._literal_of(turns, after, proven, *found_bound)
        else:
            literal = self._literal(after, relaxed.turns)
        passes, sound = order_passes(self.state, turns, self.limits)
        advice = [] if sound else ["no order of quarter passes keeps every spoke within its limits on the way; "
                                   "go in eighths and watch the highest spokes"]
        bound = literal.bound_turns if literal else self._round_up(relaxed.bound)
        # The last pass ends where the plan does; what it leaves is read off the wheel that was followed.
        after = passes[-1].after if passes else after
        unmet = tuple(broken(measured(after, self.work.target_dish), self._plain_aims()))
        return self._result("proven" if proven else "best so far", turns=turns, after=after, passes=passes,
                            proven=proven, bound=bound, literal=literal, unmet=unmet, advice=advice)

    def _plain_aims(self):
        """Aims before any margin: what is said to be met or not."""
        if self.to == "limits":
            return self.limits
        striving = self.wheel.striving
        low = striving.min_tension if striving.min_tension != "from load" else self.limits.min_tension
        return Bounds.of(striving, low)

    def _result(self, status, *, turns=None, after=None, passes=(), proven=False, bound=None, literal=None,
                unmet=(), advice=(), blocking=()):
        verdict = verdict_of(status, self.before, after, turns, self.ways, self.limits, blocking)
        return Plan(self.wheel.name, status, verdict, self.ways, turns, bound, proven, tuple(passes), self.before,
                    after, literal, tuple(blocking), tuple(unmet), self.assumed, tuple(advice), self.work.step, self.work.target_dish)

    def _nothing(self):
        return self._result("nothing to do", turns=np.zeros(self.wheel.n), after=self.before, proven=True, bound=0.0)

    def _exact(self, turns):
        """The nonlinear wheel after turns, or None where it has no stable answer."""
        try:
            return equilibrium(self.wheel, self.state.turns + turns, self.state.own_shape, start=self.state)
        except Unstable:
            return None

    def _keeps(self, state, bounds):
        return state is not None and not broken(measured(view(state), self.work.target_dish), bounds)

    def _round_up(self, turns):
        step = self.work.step
        return math.ceil(max(turns, 0.0) / step - 1e-6) * step

    def _whole_sides(self):
        """Whole-side passes, if the dish is all that is wrong: (turns, after, proven) or None.

        A hand centres a true, even wheel by whole sides, and accepts the gap that whole steps leave
        rather than spoil the true. To miss the aim, and again each aim's width of missing it, costs
        like one more step of a side; between equals the wheel that keeps its tension is better.
        """
        values = measured(self.before, self.work.target_dish)
        if not set(broken(values, self.aims)) <= {"gap", "max_tension", "min_tension"}:
            return None
        scorer = Scorer(self.task, "hand")
        grid, _ = side_grid(scorer)
        measure = scorer.measure(scorer.felt(grid))
        price = scorer.price(grid)
        mean = self.state.tension.mean()
        drift = np.abs(scorer.felt(grid)[2].mean(axis=0) - mean) / max(mean, 1.0)
        side_step = self.work.step * self.wheel.n / 2
        near = scorer.excess(measure, self.task.hard) < 0.3

        def rank(over, k):
            return price[k] + side_step * ((over > 1e-6) + over + 2 * drift[k])

        over = scorer.excess(measure, self._plain_aims())
        near = np.flatnonzero(near)
        order = near[np.argsort(rank(over[near], near), kind="stable")]
        best = None
        for k in order[:16]:
            state = self._exact(grid[:, k])
            if self._keeps(state, self.hard):
                seen = view(state)
                exact = scorer.excess({n: np.array([v]) for n, v in measured(seen, self.work.target_dish).items()},
                                      self._plain_aims())[0]
                if best is None or rank(exact, k) < best[0]:
                    best = (rank(exact, k), grid[:, k], seen)
        return None if best is None else (best[1], best[2], True)

    def _settle(self, task, fewest, seconds, relaxed):
        """The best whole-step turns found and whether they are proven: (turns, after, proven, bound) or None.

        First the quick search, linearised anew where its answer takes the wheel until that stands;
        then the programme, which finds something cheaper or proves that there is nothing.
        """
        deadline = time.monotonic() + seconds
        best, task = self._quick(task, fewest, relaxed, deadline)
        bound, proven = 0.0, False
        for _ in range(MOST_ROUNDS):
            left = deadline - time.monotonic()
            if left <= 0.05:
                break
            answer, bound = self._exactly(task, fewest, left, best)
            if answer.turns is None:
                proven = best is not None and not answer.feasible
                break
            state = self._exact(answer.turns)
            if state is None:
                break
            score = self._score(answer.turns, state, task, fewest)
            if self._keeps(state, task.hard) and (best is None or score < best[2] - 1e-6):
                best = (answer.turns, state, score)
            elif np.allclose(task.turned, answer.turns):
                break
            task = replace(task, state=state, turned=answer.turns)
        if best is None:
            return None
        if proven:
            bound = max(bound, best[2] if fewest == "turns" else 0.0)
        return best[0], view(best[1]), proven, bound

    def _quick(self, task, fewest, start, deadline):
        """Search and linearise anew: the best found, (turns, state, score) or None, and the task there."""
        best = None
        for _ in range(MOST_ROUNDS):
            turns, _ = first_answer(Scorer(task, fewest), start, min(1.0, deadline - time.monotonic()),
                                    time.monotonic)
            state = self._exact(turns)
            if state is None:
                break
            score = self._score(turns, state, task, fewest)
            if self._keeps(state, task.hard) and (best is None or score < best[2] - 1e-6):
                best = (turns, state, score)
            if np.allclose(task.turned, turns) or time.monotonic() > deadline:
                break
            task = replace(task, state=state, turned=turns)
            start = turns
        if best is not None:
            task = replace(task, state=best[1], turned=best[0])
        return best, task

    def _exactly(self, task, fewest, seconds, best):
        """The programme's answer better than ``best``, and its bound on the price of any."""
        programme = Programme(task, fewest)
        relaxed = programme.solve(seconds, relax=True, strive=True)
        if not relaxed.feasible:
            return relaxed, math.inf
        if best is None:
            answer = programme.solve(seconds, strive=True)
        else:
            met = self._keeps(best[1], task.aims)
            # Cheaper by the least that whole steps and names can differ, or not at all.
            grain = min(task.step, 0.25) if met and fewest in ("hand", "turns") else 2e-3
            answer = programme.solve(seconds, strive=not met, ceiling=best[2] - 0.5 * grain)
        bounds = [b for b in (relaxed.cost, answer.bound) if b is not None and math.isfinite(b)]
        return answer, max(bounds, default=0.0)

    def _score(self, turns, state, task, fewest):
        return float(Scorer(replace(task, state=state, turned=turns), fewest).score(turns[:, None])[0])

    def _literal(self, after, relaxed):
        """Literal fewest turns that leave the wheel as good as the plan does, in what time is left for it."""
        seconds = min(LITERAL_SECONDS, max(self._left(), 0.5))
        values = measured(after, self.work.target_dish)
        reached = {name: (min if name == "min_tension" else max)(getattr(self.aims, name), value)
                   for name, value in values.items()}
        aims = self.hard.tighter_of(Bounds(**reached))
        answer = self._settle(replace(self.task, aims=aims), "turns", seconds, relaxed)
        return None if answer is None else self._literal_of(*answer)

    def _literal_of(self, turns, after, proven, bound):
        bound = total(turns) if proven else self._round_up(min(bound, total(turns)))
        return Literal(turns, after, bound, proven)

    # -- no answer -------------------------------------------------------------------------------

    def _not_found(self, relaxed):
        return self._result("not found", bound=self._round_up(relaxed.bound), advice=(
            f"a plan in fractions of a step exists, but none in whole steps of {self.work.step:g} turn was found; "
            f"try a finer step",))

    def _none(self):
        task = replace(self.task, aims=self.hard)
        least = Programme(task, "turns").solve(max(self._left(), 5.0), relax=True, without_limits=True)
        blocking = []
        for name, over in least.excess.items():
            words, unit, scale = QUANTITIES[name]
            limit = getattr(self.hard, name)
            if over > 1e-6 * max(abs(limit), 1e-9):
                needed = limit - over if name == "min_tension" else limit + over
                blocking.append(Blocking(name, round(limit * scale, 4), round(needed * scale, 4), unit,
                                         f"{words} would have to be {needed * scale:.3g} {unit} instead of "
                                         f"{limit * scale:.3g} {unit}" if unit != "N" else
                                         f"{words} would have to be {needed:.0f} N instead of {limit:.0f} N"))
        return self._result("none", blocking=blocking)
