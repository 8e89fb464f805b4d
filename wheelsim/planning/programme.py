"""The fewest turns as a mixed-integer programme on the wheel's influence.

Each nipple's turns are whole steps, ``side pass + tighten - loosen``; dish, run-outs, spread and
tensions are linear in them about the state where the influence was taken. All rows are scaled to a
largest coefficient of one.

References
----------
H. P. Williams, Model Building in Mathematical Programming, 5th ed., 2013 (price of a used choice,
band of a range by two free columns).
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.quantities import Quantity, usual_tension
from wheelsim.planning.highs import Model, Watch, solve
from wheelsim.planning.task import Cut, Task
from wheelsim.units import MM
from wheelsim.wheel.parts import SIDES

NAMED_PRICE = 0.25  # turns that naming one nipple separately costs; own choice: the usual single turn [turn]
# Turns that missing an aim by as much as the aim itself costs. Own choice: a tenth of an aim then costs 40 turns, more
# than a whole plan, so that aims come before turns.
EXCESS_PRICE = 400.0
MOST_AT_ONCE = 0.5  # of one nipple among others, between two looks at the dial [turn]
MOST_SIDE_TURNS = 6.0  # of a whole side; own choice: a wheel further off is built anew [turn]
MOST_NIPPLE_TURNS = 4.0  # of one nipple where the job says nothing; own choice [turn]


@dataclass(frozen=True, eq=False)
class ProgrammeAnswer:
    """Turns (n,), what they cost, the proven least cost, and whether that closes the gap.

    ``turns`` is None when none was found; ``feasible`` is False only when proven so.
    """

    turns: Turns | None
    cost: float | None
    bound: float | None
    proven: bool
    feasible: bool
    excess: dict[str, float] = field(default_factory=dict)


def grain(fewest: str, step: float) -> float:
    """By how much prices of whole answers differ at least. [turn, or nipples or passes]"""
    if fewest in ("nipples", "passes"):
        return 0.75  # one more or less, whatever the tie-break by turns says
    return min(step, NAMED_PRICE) if fewest == "hand" else step


class Programme:
    """Columns and rows of one task; ``solve`` it for one kind of fewest.

    Parameters
    ----------
    task : Task
    fewest : "hand", "turns", "nipples" or "passes"
    cuts : sequence of Cut
        Rows beside the task's own: what turns that the nonlinear wheel refused showed.
    within : pair of (size,) ndarray, optional
        Narrower bounds of the columns, as from ``narrow.narrowed``.
    """

    def __init__(self, task: Task, fewest: str, cuts: Sequence[Cut] = (),
                 within: tuple[Floats, Floats] | None = None) -> None:
        self.task, self.fewest, self.cuts = task, fewest, tuple(cuts)
        wheel = task.state.wheel
        self.n = wheel.n
        self.sides = [np.array(wheel.on_side(side)) for side in SIDES]
        self._columns()
        if within is not None:
            self.lower, self.upper = within
        self._rows()

    def _columns(self) -> None:
        n, task = self.n, self.task
        whole_sides = self.fewest == "hand"
        named = self.fewest in ("hand", "nipples")
        rounds = self.fewest == "passes"
        up, down = (np.floor(most / task.step + 1e-9) for most in (task.highest, -task.lowest))
        side_steps = np.floor(MOST_SIDE_TURNS / task.step) if whole_sides else 0.0
        steps = max(up.max(), down.max())
        if whole_sides:
            up, down = np.where(task.named, up, 0.0), np.where(task.named, down, 0.0)
        blocks = [
            ("tighten", n, up, 1),
            ("loosen", n, down, 1),
            ("side_up", 2, np.full(2, side_steps if task.highest.max() > 0 else 0.0), 1),
            ("side_down", 2, np.full(2, side_steps if task.lowest.min() < 0 else 0.0), 1),
            ("named", n if named else 0, 1, 1),
            ("rounds", 4 if rounds else 0, steps, 1),
            ("lateral_band", 2, np.inf, 0),
            ("radial_band", 2, np.inf, 0),
            ("excess", len(Quantity), np.inf, 0),
        ]
        self.at, lower, upper, whole = {}, [], [], []
        start = 0
        for name, count, top, integer in blocks:
            self.at[name] = slice(start, start + count)
            lower.append(np.full(count, -np.inf if name.endswith("band") else 0.0))
            upper.append(np.broadcast_to(np.asarray(top, dtype=float), count).copy())
            whole.append(np.full(count, integer))
            start += count
        self.size = start
        self.lower, self.upper, self.whole = (np.concatenate(part) for part in (lower, upper, whole))
        # turns = to_turns @ columns
        self.to_turns = np.zeros((n, start))
        eye = np.arange(n)
        self.to_turns[eye, eye] = task.step
        self.to_turns[eye, n + eye] = -task.step
        for k, spokes in enumerate(self.sides):
            free = spokes[task.free[spokes]]
            self.to_turns[free, self.at["side_up"].start + k] = task.step
            self.to_turns[free, self.at["side_down"].start + k] = -task.step

    def _rows(self) -> None:
        task, state = self.task, self.task.state
        self._matrix: list[Floats] = []
        self._high: list[Floats] = []
        influence = state.influence
        turned = task.turned
        lateral = influence.edge @ self.to_turns
        radial = influence.radial @ self.to_turns
        tension = influence.tension @ self.to_turns
        lateral_now = state.edge - influence.edge @ turned
        radial_now = state.radial - influence.radial @ turned
        tension_now = state.tension - influence.tension @ turned
        aims = task.aims
        at_most = self._at_most
        middle = lateral.mean(axis=0)
        off = lateral_now.mean() - task.target_dish
        at_most(2 * middle, aims.gap - 2 * off, "gap")
        at_most(-2 * middle, aims.gap + 2 * off, "gap")
        for name, block, now in (("lateral", lateral, lateral_now), ("radial", radial, radial_now)):
            low, high = range(self.at[f"{name}_band"].start, self.at[f"{name}_band"].stop)
            over, under = block.copy(), -block
            over[:, high] = -MM  # the band's edges in millimetres: coefficients of one size
            under[:, low] = MM
            at_most(over, -now)
            at_most(under, now)
            width = np.zeros(self.size)
            width[high], width[low] = MM, -MM
            at_most(width, getattr(aims, f"{name}_runout"), f"{name}_runout")
        self._tension_rows(tension, tension_now)
        if self.fewest == "hand":
            # A side's pass and the nipples' own turns stay together within what each may be turned.
            near = np.flatnonzero(task.free & (np.maximum(task.highest, -task.lowest) < MOST_SIDE_TURNS))
            at_most(self.to_turns[near], task.highest[near])
            at_most(-self.to_turns[near], -task.lowest[near])
        for cut in self.cuts:
            at_most(cut.row @ self.to_turns, cut.most)
        self._price_rows()

    def _tension_rows(self, tension: Floats, tension_now: Floats) -> None:
        task, state, aims, at_most = self.task, self.task.state, self.task.aims, self._at_most
        for side in SIDES:
            spokes = state.wheel.pulling(side)
            at_most(tension[spokes], aims.max_tension - tension_now[spokes], "max_tension")
            at_most(-tension[spokes], tension_now[spokes] - aims.min_tension, "min_tension")
            mean, mean_now = tension[spokes].mean(axis=0), tension_now[spokes].mean()
            usual = usual_tension(state.wheel)[side]
            if np.isfinite(aims.off_usual) and usual > 0:
                at_most(mean, (1 + aims.off_usual) * usual - mean_now, Quantity.OFF_USUAL, usual)
                at_most(-mean, mean_now - (1 - aims.off_usual) * usual, Quantity.OFF_USUAL, usual)
            # Excess of spread is taken of the mean as it is: it only weighs; the hard rows judge.
            share = max(float(state.tension[spokes].mean()), 1.0)
            spreads: list[tuple[float, str | None]] = [(aims.side_spread, "side_spread")]
            if task.hard.side_spread > aims.side_spread:
                spreads.append((task.hard.side_spread, None))
            mine, mine_now = tension[spokes], tension_now[spokes]
            for spread, weighed in spreads:
                at_most(mine - (1 + spread) * mean, (1 + spread) * mean_now - mine_now, weighed, share)
                at_most((1 - spread) * mean - mine, mine_now - (1 - spread) * mean_now, weighed, share)

    def _price_rows(self) -> None:
        n, at_most = self.n, self._at_most
        eye = np.arange(n)
        if self.fewest in ("hand", "nipples"):
            top = np.maximum(self.upper[self.at["tighten"]], self.upper[self.at["loosen"]])
            rows = np.zeros((n, self.size))
            rows[eye, eye] = rows[eye, n + eye] = 1.0
            rows[eye, self.at["named"].start + eye] = -np.maximum(top, 1.0)
            at_most(rows, 0.0)
        if self.fewest == "passes":
            for k, spokes in enumerate(self.sides):
                for direction in (0, 1):
                    rows = np.zeros((len(spokes), self.size))
                    rows[np.arange(len(spokes)), direction * n + spokes] = 1.0
                    rows[:, self.at["rounds"].start + 2 * k + direction] = -MOST_AT_ONCE / self.task.step
                    at_most(rows, 0.0)

    def _at_most(self, rows: Floats, limits: float | Floats, name: str | None = None, shares: float = 1.0) -> None:
        """Rows (size,) or (k, size), scaled to one; ``name``: the aim whose excess loosens them, by ``shares``."""
        rows = np.atleast_2d(rows).copy()
        if not len(rows):
            return
        if name:
            rows[:, self.at["excess"].start + list(Quantity).index(Quantity(name))] -= shares
        scale = np.abs(rows).max(axis=1)
        scale = np.where(scale > 0, scale, 1.0)
        self._matrix.append(rows / scale[:, None])
        self._high.append(np.broadcast_to(limits, len(rows)) / scale)

    def cost(self) -> Floats:
        """Price of each column: (size,)."""
        step = self.task.step
        price = np.zeros(self.size)
        # Beside the literal optimum of nipples or passes, fewer turns break the tie.
        weight = {"nipples": 1e-3, "passes": 1e-3}.get(self.fewest, 1.0)
        price[self.at["tighten"]] = price[self.at["loosen"]] = weight * step
        free = [self.task.free[spokes].sum() for spokes in self.sides]
        price[self.at["side_up"]] = price[self.at["side_down"]] = step * np.array(free)
        price[self.at["named"]] = NAMED_PRICE if self.fewest == "hand" else 1.0
        price[self.at["rounds"]] = 1.0
        return price

    def grain(self) -> float:
        """By how much prices of whole answers differ at least."""
        return grain(self.fewest, self.task.step)

    def opposites(self) -> list[tuple[int, int]]:
        """Pairs of columns that turn the same thing one way and the other: a nipple by itself, or a side."""
        pairs = (("tighten", "loosen"), ("side_up", "side_down"))
        return [both for plus, minus in pairs
                for both in zip(range(self.at[plus].start, self.at[plus].stop),
                                range(self.at[minus].start, self.at[minus].stop), strict=True)]

    def model(self, *, strive: bool = False, ceiling: float | None = None,
              excess: Collection[str] | None = None) -> Model:
        """The whole model; see ``solve``."""
        task, price, upper = self.task, self.cost(), self.upper.copy()
        first = self.at["excess"].start
        for k, name in enumerate(Quantity):
            aim, hard = getattr(task.aims, name), getattr(task.hard, name)
            room = np.inf if name == "side_spread" and hard > aim else abs(hard - aim) if np.isfinite(aim) else 0.0
            upper[first + k] = (np.inf if name in excess else 0.0) if excess is not None else room if strive else 0.0
            price[first + k] = EXCESS_PRICE / max(abs(aim), 1e-9)
        matrix, high = np.vstack(self._matrix), np.concatenate(self._high)
        if ceiling is not None:
            paid = np.where(upper > 0, price, 0.0) / self.grain()
            matrix, high = np.vstack([matrix, paid]), np.append(high, ceiling / self.grain())
        return Model(price, self.lower, upper, self.whole, matrix, np.full(len(high), -np.inf), high)

    def solve(self, watch: Watch, *, strive: bool = False, relax: bool = False,
              ceiling: float | None = None, excess: Collection[str] | None = None,
              best: float | None = None, first: bool = False) -> ProgrammeAnswer:
        """Solve it.

        Parameters
        ----------
        watch : Watch
        strive : bool
            Aims may be exceeded, at a price, as far as the hard bounds; else they are kept.
        relax : bool
            Fractions of a step allowed: the relaxation.
        ceiling : float, optional
            Only answers that cost no more.
        excess : set of str, optional
            These aims, and no other, may be exceeded without end, at a price: what stands in the way.
        best : float, optional
            Price of the best plan known, to be told until a better one is found.
        first : bool
            Stop at the first answer.

        Returns
        -------
        ProgrammeAnswer
        """
        model = self.model(strive=strive, ceiling=ceiling, excess=excess)
        found = solve(model, watch, relax=relax, grain=0.0 if strive else self.grain(),
                      best=best, first=first)
        if found.x is None:
            return ProgrammeAnswer(None, None, found.bound, found.proven, found.feasible)
        x = found.x if relax else np.where(self.whole, np.round(found.x), found.x)
        over: dict[str, float] = {name: float(x[self.at["excess"].start + k]) for k, name in enumerate(Quantity)}
        return ProgrammeAnswer(self.to_turns @ x + 0.0, found.cost, found.bound, found.proven, True, over)
