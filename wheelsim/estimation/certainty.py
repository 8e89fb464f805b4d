"""How well the limited quantities of a wheel are known."""

from collections.abc import Sequence

from wheelsim.arrays import Floats
from wheelsim.estimation.estimate import DRAWS, Estimate
from wheelsim.estimation.problem import FEW
from wheelsim.measures.quantities import Quantity, measure
from wheelsim.readings.reading import Reading, all_round
from wheelsim.wheel.parts import SIDES, Wheel


def was_read(wheel: Wheel, readings: Sequence[Reading]) -> dict[str, bool]:
    """Which limited quantities were measured.

    Parameters
    ----------
    wheel : Wheel
    readings : sequence of Reading
        None at all: the wheel is nominal, and everything counts as known.

    Returns
    -------
    dict of str to bool
        By name of the quantity; "right" and "left" stand for the spreads of the sides.

    Notes
    -----
    Which readings suffice is our own choice. True and round: the dial at half of the spokes, or its two extremes.
    Highest and lowest tension: ``FEW`` spokes. A side's spread: half of its spokes; or ``FEW`` of them and the lateral
    dial all round, since uneven tension shows as out-of-true.
    """
    if not readings:
        return dict.fromkeys((*Quantity, *SIDES), True)
    spokes = {spoke - 1 for one in readings for spoke, _ in one.tension}
    tension = len(spokes) >= FEW
    dialled = {name: any(name in one.extremes or all_round(getattr(one, name), wheel.n) for one in readings)
               for name in ("lateral", "radial")}
    told = any(all_round(one.lateral, wheel.n) for one in readings)
    sides: dict[str, bool] = {}
    for side in SIDES:
        mine = wheel.pulling(side)
        count = len(spokes.intersection(mine))
        sides[side] = count >= (FEW if told else max(len(mine) / 2, FEW))
    return {"gap": any(one.gauge is not None for one in readings), "lateral_runout": dialled["lateral"],
            "radial_runout": dialled["radial"], "side_spread": all(sides.values()), "max_tension": tension,
            "min_tension": tension, **sides}


def some_read(wheel: Wheel, readings: Sequence[Reading]) -> dict[str, bool]:
    """Which limited quantities were measured at all, though perhaps not well enough for ``was_read``; keys as there.

    Notes
    -----
    A run-out is at least that of the places read, so two of them may show that it is too large. The same holds of the
    highest and the lowest tension, and of a side's spread, by what was read of the side.
    """
    if not readings:
        return was_read(wheel, readings)
    places = {name: {spoke for one in readings for spoke, _ in getattr(one, name)} for name in ("lateral", "radial")}
    spokes = {spoke - 1 for one in readings for spoke, _ in one.tension}
    sides: dict[str, bool] = {side: bool(spokes.intersection(wheel.pulling(side))) for side in SIDES}
    return {"gap": any(one.gauge is not None for one in readings), "lateral_runout": len(places["lateral"]) > 1,
            "radial_runout": len(places["radial"]) > 1, "side_spread": any(sides.values()),
            "max_tension": bool(spokes), "min_tension": bool(spokes), **sides}


def drawn_quantities(wheel: Wheel, found: Estimate, target_dish: float = 0.0, count: int = DRAWS) -> dict[str, Floats]:
    """The limited quantities of wheels drawn from the posterior.

    Returns
    -------
    dict of str to (count,) ndarray
        By name of the quantity; also "right" and "left", the spreads of the sides, and "right mean". The gap is the
        absolute one from its target. [m, N, fraction]
    """
    drawn = measure(wheel, *found.draw(count), target_dish=target_dish)
    out: dict[str, Floats] = {"right mean": drawn.mean["right"]}
    out.update((name, values) for name, values in (*drawn.limited.items(), *drawn.spread.items()))
    return out


def standard_deviations(wheel: Wheel, found: Estimate) -> dict[str, float]:
    """Standard deviations of what ``drawn_quantities`` returns, by name. [m, N, fraction]"""
    out = {name: float(values.std()) for name, values in drawn_quantities(wheel, found).items()}
    # Of the signed gap: near zero the absolute value varies less and would look better known than it is.
    out["gap"] = 2 * found.dish_sd
    return out
