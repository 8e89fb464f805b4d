"""What a plan must keep and what it strives for, as numbers for one wheel in one state."""

from dataclasses import dataclass

from wheelsim.truing.view import View
from wheelsim.units import MM
from wheelsim.wheel.parts import SIDES, Limits

# name, words, unit, units per SI
QUANTITIES = {
    "gap": ("gap", "mm", 1 / MM),
    "lateral_runout": ("true", "mm", 1 / MM),
    "radial_runout": ("round", "mm", 1 / MM),
    "side_spread": ("spread within a side", "%", 100.0),
    "max_tension": ("highest tension", "N", 1.0),
    "min_tension": ("lowest tension", "N", 1.0),
}
TYPED_MINIMUM = Limits.min_tension  # where "from load" can't be met [N]
SLIGHT = {"gap": 1e-7, "lateral_runout": 1e-7, "radial_runout": 1e-7, "side_spread": 1e-5,
          "max_tension": 1e-3, "min_tension": 1e-3}  # rounding, far below what a bench can read


@dataclass(frozen=True)
class Bounds:
    """Largest gap, run-outs and spread, highest and lowest tension; all SI, spread a fraction."""

    gap: float
    lateral_runout: float
    radial_runout: float
    side_spread: float
    max_tension: float
    min_tension: float

    def tightened(self, sd, margin):
        """Bounds with ``margin`` standard deviations (dict by name) kept from each, never below a tenth."""
        out = {}
        for name in QUANTITIES:
            limit, keep = getattr(self, name), margin * sd.get(name, 0.0)
            out[name] = limit + keep if name == "min_tension" else max(limit - keep, 0.1 * limit)
        return Bounds(**out)

    def tighter_of(self, other):
        """The stricter of two, name by name."""
        return Bounds(**{name: (max if name == "min_tension" else min)(getattr(self, name), getattr(other, name))
                         for name in QUANTITIES})


def resolved(limits: Limits):
    """The bounds that limits or aims ask for."""
    low = TYPED_MINIMUM if limits.min_tension == "from load" else limits.min_tension
    return Bounds(limits.gap, limits.lateral_runout, limits.radial_runout, limits.side_spread, limits.max_tension, low)


def measured(seen: View, target_dish=0.0):
    """The bounded quantities of a state, by name."""
    return {
        "gap": abs(2 * (seen.dish - target_dish)),
        "lateral_runout": seen.true,
        "radial_runout": seen.round,
        "side_spread": max(seen.spread[side] for side in SIDES),
        "max_tension": seen.highest,
        "min_tension": seen.lowest,
    }


def broken(values, bounds):
    """Names of the quantities outside bounds."""
    out = []
    for name, value in values.items():
        over = value - getattr(bounds, name)
        if (-over if name == "min_tension" else over) > SLIGHT[name]:
            out.append(name)
    return out
