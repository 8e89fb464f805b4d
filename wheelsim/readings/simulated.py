"""Simulated readings of a known state, and simulated turns of its nipples, with the usual errors of tools and hand."""

from dataclasses import dataclass
from typing import Literal, Self

import numpy as np

from wheelsim.arrays import Floats, Turns
from wheelsim.measures.quantities import SLACK
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.windup import wind_up
from wheelsim.readings.errors import DIAL_SD, GAUGE_SD, LEFT_WOUND, METER_SCATTER, MISTURN_SD, ToolErrors
from wheelsim.readings.gauge import Gauge, gauge_reading
from wheelsim.readings.reading import Reading

VALVE, QUARTER_ROUND = 0.0, np.pi / 2  # where the gauge's feet stand [rad]


@dataclass
class Tools:
    """The dish gauge, the dial and the tension meter.

    Parameters
    ----------
    errors : numpy Generator or None
        Where the errors of the readings come from; None reads without any.
    meter_scale : (float, float)
        What this meter shows of a newton on the right and on the left side's spokes.
    """

    errors: np.random.Generator | None = None
    meter_scale: tuple[float, float] = (1.0, 1.0)

    @classmethod
    def with_errors(cls, errors: np.random.Generator) -> Self:
        """Tools of one bench; the meter's scale on each side's spokes is drawn here and the same in every reading."""
        usual = ToolErrors()
        common, *sides = errors.standard_normal(3)
        right, left = (float(np.exp(usual.meter * common + usual.sides * side)) for side in sides)
        return cls(errors, (right, left))

    def _noise(self, size: int) -> Floats:
        return np.zeros(size) if self.errors is None else self.errors.standard_normal(size)

    def gauge(self, state: State, place: float | None = None) -> float:
        """Twice the rim's offset as the gauge shows it, plus right. [m]

        ``place`` is where one foot stands, both times [rad]; None means the valve and a quarter round, averaged.
        Without errors the rim's own out-of-true does not come in.
        """
        if self.errors is None:
            return 2 * state.dish
        angle = np.asarray(state.wheel.rim.hole_angles)
        places = (VALVE, QUARTER_ROUND) if place is None else (place,)
        return float(np.mean([gauge_reading(angle, state.edge, at, at) for at in places])
                     + GAUGE_SD * self.errors.standard_normal())

    def dial(self, state: State, which: Literal["lateral", "radial"] = "lateral") -> Floats:
        """The dial at every spoke from a zero at the mean of its own readings, (n,). [m]"""
        values: Floats = state.edge if which == "lateral" else state.radial
        read = values + DIAL_SD * self._noise(len(values))
        shown: Floats = read - read.mean()
        return shown

    def meter(self, state: State) -> Floats:
        """The meter at every spoke, (n,); a spoke that hangs loose shows nothing. [N]"""
        right, left = self.meter_scale
        scale = np.where(np.isin(np.arange(len(state.tension)), state.wheel.on_side("right")), right, left)
        read = scale * state.tension * (1 + METER_SCATTER * self._noise(len(state.tension)))
        return np.where(state.tension < SLACK, 0.0, np.maximum(read, 0.0))

    def everything(self, state: State, place: float | None = None, after_pass: int | None = None) -> Reading:
        """Gauge, both dials and the meter at every spoke, as a reading; ``place`` as for the gauge."""
        def numbered(values: Floats) -> tuple[tuple[int, float], ...]:
            return tuple((i + 1, float(value)) for i, value in enumerate(values))

        return Reading("", Gauge.showing(self.gauge(state, place)), numbered(self.dial(state)),
                       numbered(self.dial(state, "radial")), numbered(self.meter(state)), after_pass=after_pass)


LEAST_GAIN = 0.85  # of its thread's pitch a turn gives at least, by bedding: common practice, no source


@dataclass
class Hand:
    """A hand at the spanner of one wheel.

    Parameters
    ----------
    errors : numpy Generator
        Where its errors come from.
    gain : float
        What a turn gives of the thread's pitch.
    rubs : (n,) ndarray
        Friction of each thread, as a share of the usual.
    """

    errors: np.random.Generator
    gain: float
    rubs: Floats

    @classmethod
    def of(cls, errors: np.random.Generator, n: int) -> Self:
        """A hand at a wheel of n spokes; what a turn gives and the friction of each thread are drawn at random."""
        return cls(errors, float(errors.uniform(LEAST_GAIN, 1.0)), errors.normal(1.0, LEFT_WOUND, n))

    def turn(self, state: State, turns: Turns) -> State:
        """The wheel after turns (n,) [turn], each taken past and back by the usual twist; raises Unstable.

        Where a thread has more or less friction than usual, the difference in wind-up changes what the turn gives.
        """
        wheel, asked = state.wheel, np.asarray(turns, dtype=float)
        twist = np.where(asked > 0, wind_up(wheel, state.tension),
                         -wind_up(wheel, state.tension, tighten=False))
        strays = MISTURN_SD * self.errors.standard_normal(len(asked)) + twist * (1 - self.rubs)
        real = self.gain * asked + (asked != 0) * strays
        return equilibrium(wheel, state.turns + real, state.own_shape, start=state)
