"""What a plan must keep and what it strives for, as numbers for one wheel in one state."""

from dataclasses import dataclass

from wheelsim.mechanics.loads import least_tension
from wheelsim.truing.view import View
from wheelsim.units import MM
from wheelsim.wheel.geometry import wheel_geometry
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
        """Bounds with ``margin`` standard deviations (dict by name) kept from each, never below a third."""
        out = {}
        for name in QUANTITIES:
            limit, keep = getattr(self, name), margin * sd.get(name, 0.0)
            out[name] = limit + keep if name == "min_tension" else max(limit - keep, limit / 3)
        return Bounds(**out)

    def tighter_of(self, other):
        """The stricter of two, name by name."""
        return Bounds(**{name: (max if name == "min_tension" else min)(getattr(self, name), getattr(other, name))
                         for name in QUANTITIES})


@dataclass(frozen=True)
class LowerLimit:
    """A lower tension limit taken from the load, and in words where it comes from. [N]"""

    tension: float
    words: str


def from_load(wheel):
    """The least tension at which no spoke goes slack under the wheel's radial load, where that can be met.

    Returns
    -------
    LowerLimit
        The typed minimum instead when the file states no load, or when the looser side can't have
        that much while the tighter keeps its highest.
    """
    if wheel.load is None or wheel.load.radial is None:
        return LowerLimit(TYPED_MINIMUM, f'min_tension_N is "from load" but [load] states no radial_N: '
                          f"{TYPED_MINIMUM:.0f} N is used")
    least = least_tension(wheel, wheel.load.radial)
    g = wheel_geometry(wheel)
    mean = [float(g.tension[wheel.on_side(side)].mean()) for side in SIDES]
    most = wheel.limits.max_tension * (min(mean) / max(mean) if max(mean) > 0 else 1.0)
    if least < most:
        return LowerLimit(least, f"lowest tension from the load: below {least:.0f} N a spoke can go slack under "
                          f"{wheel.load.radial:.0f} N on the wheel")
    return LowerLimit(TYPED_MINIMUM, f"{wheel.load.radial:.0f} N on the wheel would need {least:.0f} N in every spoke, "
                      f"but the looser side has {most:.0f} N when the tighter is at its limit: "
                      f"{TYPED_MINIMUM:.0f} N is used")


def resolved(wheel, *, aims=False):
    """The bounds that a wheel's limits, or aims, ask for."""
    asked: Limits = wheel.striving if aims else wheel.limits
    low = from_load(wheel).tension if asked.min_tension == "from load" else asked.min_tension
    return Bounds(asked.gap, asked.lateral_runout, asked.radial_runout, asked.side_spread, asked.max_tension, low)


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
