"""Exercises for a class on paper: which way, and a strip to read; each with its answer and the reason."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wheelsim.measures.bounds import Bounds, resolved, within
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import Stands, View, view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.planning.sides import quarters_of_sides
from wheelsim.practice.faults import DRAWS, Case, hidden_wheel, invented_wheel, seed_of
from wheelsim.practice.hints import Hint, hint_for
from wheelsim.practice.made import PracticeError
from wheelsim.practice.which_way import Exercise
from wheelsim.readings.gauge import GAP_AT, Gauge
from wheelsim.units import MM
from wheelsim.wheel.parts import OTHER, SIDES, USUAL_WITHIN, Side

PAPER_LEVEL = 9  # in the draws: other wheels than those of the levels on the screen
SHARES = {Stands.SLACK: (0.66, 0.78), Stands.ABOUT_RIGHT: (0.93, 1.05), Stands.TIGHT: (1.17, 1.24)}  # of the usual
USUAL = {False: 950.0, True: 1000.0}  # of the right side of a front and of a dished rear [N]
MAX_TENSION = 1300.0  # of the wheels drawn; own choice, with room for those that are tight [N]
LEAST_GAP, MOST_GAP = 1.2e-3, 4.5e-3  # gaps of the exercises; own choice [m]
CLEAR = 0.03  # least distance of the tension from where "about right" ends, as a fraction; own choice
READ_EACH = 4  # spokes read on each side; own choice


@dataclass(frozen=True, eq=False)
class WaySheet:
    """A rim off the middle, the tensions of a few spokes, and what to do about both.

    Attributes
    ----------
    shown : Exercise
        The wheel and what the gauge shows.
    tensions : dict of side to tuple of (int, float)
        Spoke number and tension to ten newtons, of a few. [N]
    stands : Stands
        How the tension stands against the usual.
    turns : dict of side to float
        The answer: of whole sides. [turn]
    after : View
    limits : Bounds
    """

    seed: int
    shown: Exercise
    tensions: dict[Side, tuple[tuple[int, float], ...]]
    stands: Stands
    turns: dict[Side, float]
    before: View
    after: View
    limits: Bounds


@dataclass(frozen=True, eq=False)
class StripSheet:
    """A wheel laid out flat with one nipple to be named, and the answer as a hint gives it."""

    seed: int
    case: Case
    seen: View
    hint: Hint
    spoke: int
    amount: float
    after: View


def way_sheet(seed: int) -> WaySheet:
    """The exercise of which way of a seed; the same seed is the same exercise.

    Raises
    ------
    PracticeError
        If it is no seed.
    """
    rng = np.random.default_rng([PAPER_LEVEL, seed_of(seed)])
    rear, stands = bool(rng.random() < 0.5), list(SHARES)[int(rng.integers(len(SHARES)))]
    for _ in range(DRAWS):
        found = _way(seed, rear, stands, rng)
        if found is not None:
            return found
    raise PracticeError(f"seed {seed}: no exercise was drawn; expected another seed")


def _way(seed: int, rear: bool, stands: Stands, rng: np.random.Generator) -> WaySheet | None:
    """One draw, or None where its answer would not be a plain one."""
    lies, set_on = (SIDES[int(rng.integers(2))] for _ in range(2))
    wheel = invented_wheel(32 if rear else 36, rear=rear, tension=USUAL[rear], max_tension=MAX_TENSION)
    turns = rng.normal(0, 0.02, wheel.n)
    turns[wheel.on_side(lies)] += rng.uniform(0.25, 0.7)
    turns[wheel.on_side(OTHER[lies])] -= rng.uniform(0.25, 0.7)
    seen = view(equilibrium(wheel, turns))
    # All nipples alike until the tension stands where it was drawn; the pull of each side counts by its mean.
    missing = (rng.uniform(*SHARES[stands]) - 1 - seen.stands_off) * sum(seen.usual.values())
    rise = seen.state.influence.tension.sum(axis=1)
    turns += missing / sum(float(rise[wheel.pulling(side)].mean()) for side in SIDES)
    state = equilibrium(wheel, turns)
    seen = view(state)
    gap = round(abs(seen.gap) / MM, 1) * MM
    limits = resolved(wheel)
    clear = abs(abs(seen.stands_off) - USUAL_WITHIN) > CLEAR
    if (seen.stands(USUAL_WITHIN) is not stands or not clear or not LEAST_GAP <= gap <= MOST_GAP
            or not within(Quantity.HIGHEST, seen.highest, limits.max_tension)):
        return None
    sides = quarters_of_sides(seen, resolved(wheel, aims=True).tighter_of(limits))
    whole = np.zeros(wheel.n)
    for side, amount in sides.items():
        whole[wheel.on_side(side)] = amount
    after = view(equilibrium(wheel, state.turns + whole, start=state))
    if abs(after.gap) > 0.6e-3 or not within(Quantity.HIGHEST, after.highest, limits.max_tension) or (
            after.stands(USUAL_WITHIN) is not Stands.ABOUT_RIGHT):
        return None
    gap_at = GAP_AT[0] if (set_on == "right") == (seen.dish < 0) else GAP_AT[1]
    return WaySheet(seed, Exercise(seed, state, Gauge(set_on, gap_at, gap, gap)), _few(state, rng), stands, sides,
                    seen, after, limits)


def _few(state: State, rng: np.random.Generator) -> dict[Side, tuple[tuple[int, float], ...]]:
    """Tensions of a few spokes a side, spread round the wheel."""
    out: dict[Side, tuple[tuple[int, float], ...]] = {}
    for side in SIDES:
        own = state.wheel.pulling(side)
        first = int(rng.integers(len(own) // READ_EACH))
        chosen = [int(own[(first + k * len(own) // READ_EACH) % len(own)]) for k in range(READ_EACH)]
        out[side] = tuple((i + 1, round(float(state.tension[i]), -1)) for i in sorted(chosen))
    return out


def strip_sheet(seed: int) -> StripSheet:
    """The exercise of reading a strip of a seed: the wheel of level one-spoke.

    Raises
    ------
    PracticeError
        If it is no seed, or its wheel has no plain answer.
    """
    case = hidden_wheel("one-spoke", seed)
    hint = hint_for(case.state, case.limits, case.stuck, plainly=True)
    named = [] if hint.turns is None else [int(i) for i in np.flatnonzero(hint.turns)]
    if hint.turns is None or len(named) != 1:
        raise PracticeError(f"seed {seed}: its wheel has no single nipple to name; expected another seed")
    after = equilibrium(case.wheel, case.state.turns + hint.turns, case.state.own_shape, start=case.state)
    return StripSheet(seed, case, view(case.state), hint, named[0] + 1, float(hint.turns[named[0]]), view(after))


def seeds_of(text: str, most: int = 24) -> Sequence[int]:
    """Seeds from ``1-6``, ``3`` or ``1,4,9-12``, in that order, each once.

    Raises
    ------
    PracticeError
        When the text is none of these, or names too many.
    """
    seeds: dict[int, None] = {}
    for part in text.split(","):
        first, dash, last = (word.strip() for word in part.partition("-"))
        ends = (first, last) if dash else (first, first)
        if not all(end.isascii() and end.isdigit() and len(end) < 10 for end in ends) or int(ends[0]) > int(ends[1]):
            raise PracticeError(f"{text!r}; expected numbers of exercises like 1-6, 3 or 1,4,9")
        if int(ends[1]) - int(ends[0]) + 1 + len(seeds) > most:
            raise PracticeError(f"{text!r}; expected at most {most} at once")
        seeds.update(dict.fromkeys(range(int(ends[0]), int(ends[1]) + 1)))
    return [seed_of(seed) for seed in seeds]
