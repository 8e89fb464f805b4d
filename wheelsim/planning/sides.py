"""Whole sides in quarter turns, by a linear estimate: which to tighten and which to loosen."""

from collections.abc import Mapping
from typing import Literal, TypeAlias

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.quantities import Quantity, measure
from wheelsim.measures.view import View
from wheelsim.units import QUARTER
from wheelsim.wheel.parts import SIDES, USUAL_WITHIN, Side, Wheel

Verb: TypeAlias = Literal["loosen", "tighten"]

SIGNS: tuple[tuple[Verb, float], ...] = (("loosen", -1.0), ("tighten", 1.0))
MOST_QUARTERS = 8  # of a side, either way
NEARER_USUAL = 2.0  # steps of a side that a departure of the whole usual tension costs: it decides between equals
BOTH_SIDES = 2.0  # steps: one of each side
OFF_USUAL_STEPS = 8.0  # steps of a side worth 15 per cent of usual tension, which some four steps bring; own choice

CORRECTION = 0.2  # of all turns: a side that takes no more is corrected, not moved; own choice


def main_sides(wheel: Wheel, turns: Turns) -> dict[Side, float]:
    """Net turns of the sides that turns (n,) move: those that only get a correction are left out. [turn]"""
    net = {side: float(turns[wheel.on_side(side)].sum()) for side in SIDES}
    whole = float(np.abs(turns).sum())
    return {side: value for side, value in net.items() if abs(value) > CORRECTION * whole}


def price_of_missing(excess: Floats, off_usual: Floats, aims: Bounds) -> Floats:
    """What a whole-side plan pays for what it leaves, in steps of a side, beside its own steps.

    Parameters
    ----------
    excess : (k,) array_like
        Widths of aims by which it lies outside them.
    off_usual : (k,) array_like
        Departure from the usual tension, a fraction.
    aims : Bounds

    Notes
    -----
    To miss an aim, and again each aim's width of missing it, costs like one more step; of plans that cost about the
    same the one that ends nearest the usual tension is better. A wheel outside its aim at the usual tension is brought
    inside it though it takes a step of both sides. Own choice.
    """
    outside = np.maximum(off_usual - aims.off_usual, 0.0)  # none where the usual is not asked for
    return ((excess > 1e-6) + excess + NEARER_USUAL * off_usual + BOTH_SIDES * (outside > 1e-6)
            + OFF_USUAL_STEPS * outside / USUAL_WITHIN)


def quarters_of_sides(seen: View, aims: Bounds,
                      room: Mapping[Side, tuple[float, float]] | None = None) -> dict[Side, float]:
    """Turns of each side that a plan by whole sides would take about: linear, in quarters, by side. [turn]

    Parameters
    ----------
    seen : View
    aims : Bounds
        Gap, highest and lowest tension and the usual tension count; true, round and spread whole sides leave alone.
    room : dict of str to (float, float), optional
        What each side may be turned to, down and up. [turn]
    """
    wheel, state = seen.wheel, seen.state
    steps = np.arange(-MOST_QUARTERS, MOST_QUARTERS + 1) * QUARTER
    pair = np.stack(np.meshgrid(steps, steps, indexing="ij"), axis=-1).reshape(-1, 2)
    if room is not None:
        pair = np.stack([np.clip(pair[:, k], *room[side]) for k, side in enumerate(SIDES)], axis=-1)
    turns = np.zeros((wheel.n, len(pair)))
    for k, side in enumerate(SIDES):
        turns[wheel.pulling(side)] = pair[:, k]
    lateral, radial, tension = (now[:, None] + influence @ turns for now, influence in (
        (state.edge, state.influence.edge), (state.radial, state.influence.radial),
        (state.tension, state.influence.tension)))
    values = measure(wheel, lateral, radial, tension, seen.target_dish).limited
    excess = np.zeros(len(pair))
    for name in (Quantity.GAP, Quantity.HIGHEST, Quantity.LOWEST):
        over = np.maximum(name.sign * (values[name] - aims.of(name)), 0.0)
        # A tension limit is kept, an aim at the gap is weighed.
        excess += over / max(aims.of(name), 1e-9) * (100.0 if name.is_tension else 1.0)
    price = np.abs(pair).sum(axis=1) / QUARTER + price_of_missing(excess, values[Quantity.OFF_USUAL], aims)
    best = pair[int(price.argmin())]
    return {side: float(best[k]) for k, side in enumerate(SIDES)}
