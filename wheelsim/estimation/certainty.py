"""How surely the bounded quantities of a wheel are known."""

from collections.abc import Sequence

from wheelsim.arrays import Floats
from wheelsim.estimation.estimate import DRAWS, Estimate
from wheelsim.estimation.problem import FEW
from wheelsim.measures.quantities import Quantity, measure
from wheelsim.readings.reading import Reading, all_round
from wheelsim.wheel.parts import SIDES, Wheel


def was_read(wheel: Wheel, readings: Sequence[Reading]) -> dict[str, bool]:
    """Which bounded quantities readings (none: a nominal wheel) say something of directly, by name.

    Beside them "right", "left", the spreads of the sides: half of the side's spokes must have been read, or a few of
    them and the dial all round, which tells uneven tension too.
    """
    if not readings:
        return dict.fromkeys((*Quantity, *SIDES), True)
    spokes = {spoke - 1 for one in readings for spoke, _ in one.tension}
    tension = len(spokes) >= FEW
    # The dial all round or its two ends; a few places leave the rest of the rim unseen.
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


def drawn_quantities(wheel: Wheel, found: Estimate, target_dish: float = 0.0, count: int = DRAWS) -> dict[str, Floats]:
    """The bounded quantities of the wheels that a reading allows, by name, (count,) each.

    Beside them "right", "left", the spreads of the sides, and "right mean"; the gap is from the target.
    [m, N, fraction]
    """
    drawn = measure(wheel, *found.draw(count), target_dish=target_dish)
    out: dict[str, Floats] = {"right mean": drawn.mean["right"]}
    out.update((name, values) for name, values in (*drawn.limited.items(), *drawn.spread.items()))
    return out


def standard_deviations(wheel: Wheel, found: Estimate) -> dict[str, float]:
    """Standard deviations of the bounded quantities over the wheels that a reading allows, by name. [m, N, fraction]"""
    out = {name: float(values.std()) for name, values in drawn_quantities(wheel, found).items()}
    # That of the signed gap: near nought its size alone strays less.
    out["gap"] = 2 * found.dish_sd
    return out
