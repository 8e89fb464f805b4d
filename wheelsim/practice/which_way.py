"""The first exercises: which way must the rim go, and which spokes take it there?

For one who knows no mechanics: the first three come with the gauge's rule beside them, the last three without, and
with the tension the wheel has: a slack one is tightened, a tight one loosened (common practice, no source).
"""

from dataclasses import dataclass

import numpy as np

from wheelsim.measures.view import Stands
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.practice.faults import LEVELS, invented_wheel, seed_of
from wheelsim.practice.made import PracticeError
from wheelsim.readings.gauge import GAP_AT, Gauge
from wheelsim.units import MM, QUARTER
from wheelsim.wheel.parts import OTHER, SIDES, Side

LEVEL = LEVELS[0]
GUIDED, ALONE = 3, 3  # exercises with the rule beside them, and without; own choice
USUAL = 1000.0  # what the invented wheel usually carries [N]
# Mean tension before one side was tightened, for each way a wheel can stand. [N]
SHARES = {Stands.SLACK: (420.0, 500.0), Stands.TIGHT: (1080.0, 1150.0), Stands.ABOUT_RIGHT: (820.0, 880.0)}
ACTIONS = ("tighten", "loosen")

INTRODUCTION = (
    "Right is the rider's right. A rim hangs between the two sides of its hub, right and left, and spokes pull it to "
    "each. Spokes only pull, "
    "never push: the right spokes pull the rim right, the left spokes pull it left, and it stays where both balance. "
    "To tighten a spoke is to make it pull more; to loosen it, less.",
    "",
    "The rim should stay midway. The dish gauge tells. Lay the wheel flat: the gauge's two feet stand on the rim, and "
    "its tip is set to touch the face of the hub that looks up. Then flip the wheel over and put the same gauge on "
    "the other side, its setting untouched. It shows one of these:",
    "",
    "      it fits           a gap at the hub         the feet lift",
    "   _____________         _____________         _____________",
    "  |      |      |       |      |      |       |      |      |",
    "  |      V      |       |      V      |       |      V      |",
    "  |    [hub]    |       |             |       |    [hub]    |",
    "  |    [   ]    |       |    [hub]    |            [   ]",
    " rim   [   ]   rim     rim   [   ]   rim     rim   [   ]   rim",
    "",
    "It fits: the rim is midway. A gap between the tip and the hub: the face rises less above the rim than the other "
    "did, so the rim lies too near the face you now read. The feet lift off the rim: the face rises more and meets the "
    "tip first, so the rim lies too far from the face you now read.",
)
RULE = ("(A gap at the hub: the rim lies toward the face you now read. The feet lift: it lies away from that face, "
        "toward the one the gauge was set on.)")


@dataclass(frozen=True, eq=False)
class Exercise:
    """One rim off the middle, as the gauge shows it; ``state`` is the wheel itself."""

    number: int
    state: State
    gauge: Gauge
    stands: Stands | None = None

    @property
    def tension(self) -> str | None:
        """What the meter says of the wheel, in one sentence; None where it is not asked about."""
        if self.stands is None:
            return None
        mean = {side: float(self.state.tension[self.state.wheel.on_side(side)].mean()) for side in SIDES}
        return (f"The meter reads {mean['right']:.0f} N on the right and {mean['left']:.0f} N on the left, on average; "
                f"{USUAL:.0f} N is usual on this wheel.")

    @property
    def action(self) -> str | None:
        """What its tension asks for: "tighten" a slack wheel, "loosen" a tight one; None where either will do."""
        return {Stands.SLACK: "tighten", Stands.TIGHT: "loosen"}.get(self.stands) if self.stands else None

    @property
    def best(self) -> tuple[Side, str]:
        """An answer that is right: the side, and tighten or loosen."""
        return (self.lies, "loosen") if self.action == "loosen" else (self.go, "tighten")

    @property
    def guided(self) -> bool:
        return self.number <= GUIDED

    @property
    def lies(self) -> Side:
        return "right" if self.gauge.gap > 0 else "left"

    @property
    def go(self) -> Side:
        return OTHER[self.lies]

    @property
    def why(self) -> str:
        """Where the rim lies, by what shows, in one sentence."""
        read = "left" if self.gauge.set_on == "right" else "right"
        if self.gauge.gap_at == "hub":
            return (f"The {read} face does not reach the tip: the rim lies too near that face, {read}, and must go "
                    f"{self.go}.")
        return (f"The {read} face lifts the gauge off the rim: the rim lies too far from that face, {self.lies}, and "
                f"must go {self.go}.")

    def gap_after(self, side: Side, action: str) -> float:
        """Twice the rim's offset after a quarter turn of all of a side, signed like the dish. [m]"""
        wheel, turns = self.state.wheel, np.zeros(self.state.wheel.n)
        turns[wheel.on_side(side)] = QUARTER if action == "tighten" else -QUARTER
        return 2 * float(equilibrium(wheel, self.state.turns + turns, start=self.state).dish)


@dataclass(frozen=True)
class Told:
    """Whether an answer was right, and why, in words."""

    right: bool
    words: str


class WhichWay:
    """Six exercises, each answered in two steps.

    Parameters
    ----------
    seed : int

    Attributes
    ----------
    exercises : tuple of Exercise
    results : list of bool
        One for each exercise answered: both answers right.
    """

    def __init__(self, seed: int = 0) -> None:
        rng = np.random.default_rng([LEVEL.number, seed_of(seed)])
        cases = [(side, gap_at) for side in SIDES for gap_at in GAP_AT[:2]]
        # The first two differ in where the gap shows only; then every case comes at least once.
        first = SIDES[int(rng.choice(len(SIDES)))]
        order = [(first, "hub"), (first, "feet"), (OTHER[first], "hub")]
        stands = [tuple(SHARES)[k] for k in rng.permutation(len(SHARES))]
        order += [cases[k] for k in rng.permutation(4)][:ALONE]
        if (OTHER[first], "feet") not in order:
            order[-1] = (OTHER[first], "feet")
        asked = [None] * GUIDED + stands
        self.exercises = tuple(self._make(k + 1, *case, rng, asked[k]) for k, case in enumerate(order))
        self.results: list[bool] = []
        self.way: Side | None = None
        self.again_at: int | None = None  # the exercise being tried again, from 0
        self.tried_again = 0
        self.right_last = True

    @staticmethod
    def _make(number: int, set_on: Side, gap_at: str, rng: np.random.Generator, stands: Stands | None) -> Exercise:
        lies = OTHER[set_on] if gap_at == "hub" else set_on
        low, high = (700.0, 850.0) if stands is None else SHARES[stands]
        wheel, turns = invented_wheel(tension=rng.uniform(low, high)), np.zeros(36)
        turns[wheel.on_side(lies)] = rng.uniform(0.4, 0.8)
        state = equilibrium(wheel, turns)
        return Exercise(number, state, Gauge.showing(round(2 * state.dish / MM, 1) * MM, set_on), stands)

    @property
    def exercise(self) -> Exercise | None:
        """The one to answer now, or None when all are."""
        at = len(self.results) if self.again_at is None else self.again_at
        return self.exercises[at] if at < len(self.exercises) else None

    def answer_way(self, way: Side) -> Told:
        """Which way must the rim go: "right" or "left"."""
        if way not in SIDES:
            raise PracticeError(f"{way!r}; expected right or left")
        if self.exercise is None or self.way is not None:
            raise PracticeError("no exercise asks which way now")
        self.way = way
        one = self.exercise
        return Told(way == one.go, ("Yes. " if way == one.go else f"No, {one.go}. ") + one.why)

    def answer_side(self, side: Side, action: str) -> Told:
        """Which side's spokes, and tighten or loosen: the exercise is then done."""
        if side not in SIDES or action not in ACTIONS:
            raise PracticeError(f"{side!r} {action!r}; expected right or left, and tighten or loosen")
        if self.exercise is None or self.way is None:
            raise PracticeError("say first which way the rim must go")
        one = self.exercise
        moves = (side == one.go) == (action == "tighten")
        right = moves and one.action in (None, action)
        other = (OTHER[side], ACTIONS[1 - ACTIONS.index(action)])
        gap, then = (abs(g) / MM for g in (one.gauge.gap, one.gap_after(side, action)))
        pull = (f"{'more' if action == 'tighten' else 'less'} pull from the {side} spokes, so the rim goes "
                f"{one.go if moves else one.lies}")
        words = (f"{'Yes' if right else 'No'}: {pull}. A quarter turn of each of them takes the gap from {gap:.1f} to "
                 f"{then:.1f} mm.")
        if one.action is not None and moves:
            words += (f" The wheel is {'slack' if one.action == 'tighten' else 'tight'}: {one.action} it, the "
                      f"{one.best[0]} side" + (" as you did." if right else ", and the rim goes the same way."))
        elif right:
            words += f" To {other[1]} the {other[0]} spokes would do it too, " + (
                "with less tension." if other[1] == "loosen" else "with more tension.")
        else:
            words += (f" It must go {one.go}: tighten the {one.go} spokes, which pull it there, or loosen the "
                      f"{one.lies} ones, which hold it back.")
        self.right_last = right and self.way == one.go
        if self.again_at is None:
            self.results.append(self.right_last)
        self.way = self.again_at = None
        return Told(right, words)

    def again(self) -> None:
        """Ask the last exercise that was answered once more; its first answers count.

        Raises
        ------
        PracticeError
            When none was answered yet.
        """
        if not self.results:
            raise PracticeError("again: expected an exercise answered before it")
        if self.way is not None and self.again_at is None:
            raise PracticeError("again: expected this exercise answered first")
        self.again_at, self.way = len(self.results) - 1, None
        self.tried_again += 1

    @property
    def answered(self) -> bool:
        """Whether every exercise was answered once."""
        return len(self.results) == len(self.exercises)

    @property
    def success(self) -> bool:
        """All of those without help right."""
        return self.answered and all(self.results[GUIDED:])

    def as_dict(self) -> dict[str, object]:
        return {"level": LEVEL.name, "outcome": "done" if self.answered else "left", "success": self.success,
                "right": sum(self.results), "right_alone": sum(self.results[GUIDED:]), "alone": ALONE,
                "of": len(self.exercises), "tried_again": self.tried_again}
