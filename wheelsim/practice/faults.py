"""Hidden wheels, each with the fault of its level; the same level and seed make the same wheel.

Every wheel here is invented: no real one was measured.
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds, broken, resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import view
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.practice.made import PracticeError
from wheelsim.wheel.kinds import KINDS
from wheelsim.wheel.parts import Flange, Hub, Limits, Rim, SideSpokes, Spokes, Wheel

DRAWS = 400  # wheels drawn at most until one has the fault of its level; own choice
SCATTER = 0.03  # standard deviation of the nipples of a well built wheel; own choice [turn]
LARGEST_SEED = 2**32 - 1


@dataclass(frozen=True)
class Level:
    """One kind of exercise: number, name as typed, what it teaches, what the customer says."""

    number: int
    name: str
    teaches: str
    complaint: str


LEVELS = (
    Level(1, "which-way", "which way the rim must go, and which spokes take it there",
          "Six rims that lie off the middle of their hubs."),
    Level(2, "near-side", "centring a rim when the tighter side has no room left",
          "A dished rear wheel: the tyre rubs on one side of the frame. It runs true."),
    Level(3, "one-spoke", "finding the one spoke that is far too loose or too tight",
          "A front wheel that was true until one nipple was tried in the dark."),
    Level(4, "true", "taking out a wobble with both flanges, without making the wheel tighter or looser",
          "A front wheel that wobbles from side to side."),
    Level(5, "round", "taking out a hop with pairs of spokes, without making a wobble",
          "A front wheel that hops."),
    Level(6, "tension", "a wheel that runs true on uneven tension",
          "A front wheel that runs well enough, but won't stay true: it was trued, not tensioned."),
    Level(7, "bent-rim", "telling a bent rim, which no nipple mends, from a wheel that is out of true",
          "A front wheel that met a kerb. The customer wants it straight, whatever it takes."),
    Level(8, "rebuild", "a rebuild gone wrong: off-centre, untrue, uneven, and one nipple that won't turn",
          "A dished rear wheel, half rebuilt by someone who lost count. Make of it what can be made."),
)


@dataclass(frozen=True, eq=False)
class Case:
    """A wheel whose state is hidden from the learner.

    ``stuck`` are spokes whose nipple can't be turned; ``mendable`` whether turning can mend it.
    """

    level: Level
    seed: int
    state: State
    stuck: frozenset[int] = frozenset()
    mendable: bool = True

    @property
    def wheel(self) -> Wheel:
        return self.state.wheel

    @property
    def limits(self) -> Bounds:
        bounds: Bounds = resolved(self.wheel)
        return bounds


def level_of(word: int | str) -> Level:
    """The level of a number or a name.

    Raises
    ------
    PracticeError
        If there is none; the message lists them.
    """
    for level in LEVELS:
        if str(word).strip().lower().replace(" ", "-") in (str(level.number), level.name):
            return level
    raise PracticeError(f"level {word!r}; expected 1 to {len(LEVELS)}, or " + ", ".join(one.name for one in LEVELS))


def seed_of(value: object) -> int:
    """A seed as a whole number.

    Raises
    ------
    PracticeError
        If it is none, or out of range.
    """
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= LARGEST_SEED:
        raise PracticeError(f"seed {value!r}; expected a whole number from 0 to {LARGEST_SEED}")
    return value


def hidden_wheel(level: Level | int | str, seed: int) -> Case:
    """The wheel of a level and a seed.

    Parameters
    ----------
    level : Level, int or str
    seed : int

    Returns
    -------
    Case

    Raises
    ------
    PracticeError
        If there is no such level, or for the first, which has exercises instead of a wheel.
    """
    level = level if isinstance(level, Level) else level_of(level)
    if level.number == 1:
        raise PracticeError("level which-way has exercises, not a wheel; expected 2 or above")
    return drawn_case(level, seed_of(seed))


@lru_cache(maxsize=64)
def drawn_case(level: Level, seed: int) -> Case:
    """The same, kept: a class, a reload of the page and the paper ask for the same few again; don't write to it."""
    rng = np.random.default_rng([level.number, seed])
    for _ in range(DRAWS):
        try:
            case = _MAKERS[level.name](level, seed, rng)
        except Unstable:
            continue
        if case is not None:
            return case
    raise RuntimeError(f"level {level.name}, seed {seed}: no wheel with that fault in {DRAWS} draws")


def invented_wheel(n: int = 36, *, rear: bool = False, tension: float = 950.0, name: str | None = None,
                   max_tension: float = 1200.0) -> Wheel:
    """An invented wheel: a symmetric front, or a dished rear with the right flange near."""
    flanges = (Flange(0.036, 0.047), Flange(0.019, 0.047)) if rear else (Flange(0.035, 0.047), Flange(0.035, 0.047))
    kind = KINDS["box alloy"]
    angles = tuple(2 * np.pi * (np.arange(n) + 0.5) / n)
    laced = SideSpokes(3, ((2.0e-3, 1.0),))
    return Wheel(name or f"invented {'dished rear' if rear else 'front'} wheel, {n} spokes",
                 Hub(0.135 if rear else 0.100, *flanges),
                 Rim(angles, 0.3015, 0.3055, kind.radial_bending, kind.lateral_bending, kind.torsion, kind.stretch),
                 Spokes("RL" * (n // 2), laced, laced), "right", tension,
                 Limits(max_tension=max_tension, min_tension=400.0 if not rear else 300.0))


def _angle(wheel: Wheel) -> Floats:
    return np.asarray(wheel.rim.hole_angles)


def _side(wheel: Wheel) -> Floats:
    """+1 for right spokes, -1 for left, (n,)."""
    return np.where(np.isin(np.arange(wheel.n), wheel.on_side("right")), 1.0, -1.0)


def _shape(rng: np.random.Generator, wheel: Wheel, lateral: float = 0.10e-3, radial: float = 0.08e-3) -> Floats:
    """The rim's own out-of-true, run-outs in waves two to four, (2, n). [m]"""
    angle, shape = _angle(wheel), np.zeros((2, wheel.n))
    for row, run_out in enumerate((lateral, radial)):
        waves = sum(rng.normal() / k**2 * np.cos(k * angle + rng.uniform(0, 2 * np.pi)) for k in (2, 3, 4))
        shape[row] = run_out * waves / np.ptp(waves)
    return shape


def _case(level: Level, seed: int, wheel: Wheel, turns: Turns, shape: Floats, wrong: Collection[str], *,
          room: float = 20.0) -> Case | None:
    """The case if exactly these limits are broken and the highest tension is not within ``room`` [N] of its limit."""
    state = equilibrium(wheel, turns, shape)
    values = view(state).values
    tight = abs(values[Quantity.HIGHEST] - wheel.limits.max_tension) < room
    if set(broken(values, resolved(wheel))) != set(wrong) or tight:
        return None
    return Case(level, seed, state)


def _near_side(level: Level, seed: int, rng: np.random.Generator) -> Case | None:
    wheel = invented_wheel(32, rear=True, tension=rng.uniform(1040, 1090))
    turns = rng.normal(0, SCATTER, wheel.n)
    turns[wheel.on_side("left")] += rng.uniform(0.45, 0.75)
    case = _case(level, seed, wheel, turns, _shape(rng, wheel), {"gap"})
    # No room: a quarter turn of the near side must take it past its limit.
    mean = None if case is None else view(case.state).mean["right"]
    return case if mean and 1100 < mean < 1180 else None


def _one_spoke(level: Level, seed: int, rng: np.random.Generator) -> Case | None:
    wheel = invented_wheel(tension=rng.uniform(850, 950))
    turns = rng.normal(0, SCATTER, wheel.n)
    spoke = int(rng.integers(wheel.n))
    loose = bool(rng.random() < 0.5)
    turns[spoke] += -rng.uniform(1.5, 2.0) if loose else rng.uniform(1.25, 1.75)
    state = equilibrium(wheel, turns, shape := _shape(rng, wheel))
    wrong = set(broken(view(state).values, resolved(wheel)))
    if not {"lateral_runout", "side_spread"} <= wrong or "gap" in wrong:
        return None
    worst = int(np.argmax(np.abs(state.tension - state.tension.mean())))
    return _case(level, seed, wheel, turns, shape, wrong) if worst == spoke else None


def _true(level: Level, seed: int, rng: np.random.Generator) -> Case | None:
    wheel = invented_wheel(tension=rng.uniform(850, 950))
    angle = _angle(wheel)
    wave = sum(rng.uniform(0.5, 1) * np.cos(k * angle + rng.uniform(0, 2 * np.pi)) for k in (2, 3))
    turns = rng.normal(0, SCATTER, wheel.n) + rng.uniform(0.3, 0.45) * _side(wheel) * wave / np.abs(wave).max()
    state = equilibrium(wheel, turns, shape := _shape(rng, wheel))
    wrong = set(broken(view(state).values, resolved(wheel)))
    if not 1.0e-3 < view(state).values[Quantity.TRUE] < 3e-3 or wrong - {"lateral_runout", "side_spread"}:
        return None
    return _case(level, seed, wheel, turns, shape, wrong)


def _round(level: Level, seed: int, rng: np.random.Generator) -> Case | None:
    wheel = invented_wheel(tension=rng.uniform(800, 880))
    angle = _angle(wheel)
    wave = sum(rng.uniform(0.5, 1) * np.cos(k * angle + rng.uniform(0, 2 * np.pi)) for k in (2, 3))
    turns = rng.normal(0, SCATTER, wheel.n) + rng.uniform(0.7, 1.2) * wave / np.abs(wave).max()
    state = equilibrium(wheel, turns, shape := _shape(rng, wheel))
    values = view(state).values
    wrong = set(broken(values, resolved(wheel)))
    if not 0.65e-3 < values[Quantity.ROUND] < 1.5e-3 or wrong - {"radial_runout", "side_spread"}:
        return None
    return _case(level, seed, wheel, turns, shape, wrong)


def _tension(level: Level, seed: int, rng: np.random.Generator) -> Case | None:
    """Neighbours of one flange turned against each other: the rim hardly feels it."""
    wheel = invented_wheel(tension=rng.uniform(850, 920))
    turns = rng.normal(0, SCATTER, wheel.n)
    for word in rng.permutation(["right", "left"])[:1 + int(rng.random() < 0.5)]:
        own = wheel.on_side("right" if word == "right" else "left")
        start, pairs = int(rng.integers(len(own))), int(rng.integers(3, 6))
        for k in range(pairs):
            amount = rng.uniform(0.4, 0.6)
            turns[own[(start + 2 * k) % len(own)]] += amount
            turns[own[(start + 2 * k + 1) % len(own)]] -= amount
    return _case(level, seed, wheel, turns, _shape(rng, wheel), {"side_spread"})


def _bent_rim(level: Level, seed: int, rng: np.random.Generator) -> Case | None:
    wheel = invented_wheel(tension=rng.uniform(880, 950))
    shape = _shape(rng, wheel)
    stations = np.arange(wheel.n)
    place = int(rng.integers(wheel.n))
    off = (stations - place + wheel.n / 2) % wheel.n - wheel.n / 2
    shape[0] += rng.choice([-1, 1]) * rng.uniform(4.5e-3, 5.5e-3) * np.exp(-(off / 1.6) ** 2)
    shape[1] -= rng.uniform(1.8e-3, 2.4e-3) * np.exp(-(off / 1.6) ** 2)
    state = equilibrium(wheel, rng.normal(0, SCATTER, wheel.n), shape)
    if not {"lateral_runout", "radial_runout"} <= set(broken(view(state).values, resolved(wheel))):
        return None
    return Case(level, seed, state, mendable=False)


def _rebuild(level: Level, seed: int, rng: np.random.Generator) -> Case | None:
    wheel = invented_wheel(32, rear=True, tension=rng.uniform(950, 1050))
    turns = rng.normal(0, 0.35, wheel.n)
    turns[wheel.on_side("left")] += rng.choice([-1, 1]) * rng.uniform(0.5, 0.9)
    state = equilibrium(wheel, turns, _shape(rng, wheel, 0.3e-3, 0.2e-3))
    seen = view(state)
    wrong = set(broken(seen.values, resolved(wheel)))
    bad = {"gap", "lateral_runout", "side_spread"} <= wrong
    if not bad or seen.lowest < 100 or seen.highest > 1400 or max(seen.mean.values()) > 1150:
        return None
    # The stuck spoke is one near its side's mean: the wheel can be mended without turning it.
    share = [abs(state.tension[i] / seen.mean["right" if i in wheel.on_side("right") else "left"] - 1)
             for i in range(wheel.n)]
    fine = np.flatnonzero(np.array(share) < 0.10)
    return Case(level, seed, state, frozenset({int(rng.choice(fine)) + 1})) if len(fine) else None


_MAKERS: dict[str, Callable[[Level, int, np.random.Generator], Case | None]] = {
    "near-side": _near_side, "one-spoke": _one_spoke, "true": _true, "round": _round,
    "tension": _tension, "bent-rim": _bent_rim, "rebuild": _rebuild}
