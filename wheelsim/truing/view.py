"""A state as the bench reads it: dish, gap, run-outs, side means and spreads."""

from dataclasses import dataclass

import numpy as np

from wheelsim.mechanics.equilibrium import State
from wheelsim.units import MM
from wheelsim.wheel.parts import SIDES

SLACK = 1.0  # a spoke that pulls less hangs loose in the hand [N]


def run_out(values):
    """Full indicator reading: highest less lowest over one revolution."""
    return float(np.ptp(values))


@dataclass(frozen=True, eq=False)
class View:
    """One state measured as the bench would, in SI units.

    ``mean`` and ``spread`` are by side; the spread is the largest departure from the side's mean,
    as a fraction of it.
    """

    state: State
    mean: dict
    spread: dict

    @property
    def dish(self):
        return self.state.dish

    @property
    def gap(self):
        """What the gauge would show, signed like the dish. [m]"""
        return 2 * self.state.dish

    @property
    def true(self):
        return run_out(self.state.lateral)

    @property
    def round(self):
        return run_out(self.state.radial)

    @property
    def tighter_side(self):
        return max(self.mean, key=self.mean.get)

    @property
    def highest(self):
        return float(self.state.tension.max())

    @property
    def lowest(self):
        """Lowest tension of the spokes that are there. [N]"""
        wheel = self.state.wheel
        return float(min(self.state.tension[wheel.pulling(side)].min() for side in SIDES))

    @property
    def slack(self):
        """Numbers of the spokes that are there and hang loose."""
        tension = self.state.tension
        return sorted(i + 1 for side in SIDES for i in self.state.wheel.pulling(side) if tension[i] < SLACK)

    def as_dict(self):
        state = self.state
        lateral = [rounded(v / MM, 6) for v in state.lateral]
        dish = sum(lateral) / len(lateral)
        return {
            "dish_mm": dish,
            "gauge_gap_mm": 2 * dish,
            "lateral_mm": lateral,
            "radial_mm": [rounded(v / MM, 6) for v in state.radial],
            "lateral_runout_mm": rounded(self.true / MM, 6),
            "radial_runout_mm": rounded(self.round / MM, 6),
            "tension_N": [rounded(v, 3) for v in state.tension],
            "slack": self.slack,
        }


def rounded(value, digits):
    """A plain float, rounded, never minus zero."""
    return round(float(value), digits) + 0.0


def view(state):
    """Measure a state."""
    mean, spread = {}, {}
    for side in SIDES:
        tension = state.tension[state.wheel.pulling(side)]
        mean[side] = float(tension.mean())
        spread[side] = float(np.abs(tension - mean[side]).max() / mean[side]) if mean[side] > 0 else 0.0
    return View(state, mean, spread)
