"""The state of a wheel that explains its readings best.

The unknowns are the turns each nipple stands away from the true, centred, nominal wheel, the rim's
own shape, and what a dial's zero and a meter's scale hide. Priors say how far each usually strays;
readings say what was seen. Least squares, relinearised on the nonlinear wheel until it settles; the
state returned is in equilibrium whatever was read.
"""

from dataclasses import dataclass

import numpy as np

from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.mechanics.tyre import Squeeze, expected_loss, squeeze

# How far things usually stray, common practice, no source.
SIDE_SD = 4.0  # a whole side, either way [turn]
NIPPLE_SD = 0.5  # one nipple about its side: some 15 per cent of tension [turn]
LATERAL_SHAPE_SD = 0.20e-3  # the rim's own out-of-true, at a station [m]
RADIAL_SHAPE_SD = 0.15e-3  # [m]
DIAL_SD = 0.05e-3  # [m]
METER_SCATTER = 0.05  # of the reading
METER_SCALE_SD = 0.03  # one error common to all readings of a meter
ASSUMED_TENSION_SD = 0.10  # of a side's mean taken from the wheel file
UNREAD_DISH_SD = 0.05e-3  # where no gauge was read the rim is taken as centred [m]
DIAL_ZERO_SD = 0.05  # free [m]


@dataclass(frozen=True, eq=False)
class Estimate:
    """A state with what had to be assumed for it.

    Attributes
    ----------
    state : State
    assumed : tuple of str
        Sentences, one for each thing not read but taken.
    """

    state: State
    assumed: tuple[str, ...]


def shape_waves(angle, sd):
    """Waves two and up of a rim's own shape at the stations: (n, m) basis, and each one's sd. [m]

    A rim's own shape falls off with the number of waves; the sd at a station adds up to ``sd``.
    """
    n = len(angle)
    waves = np.arange(2, max(3, (n - 1) // 2) + 1)
    basis = np.concatenate([np.cos(np.outer(angle, waves)), np.sin(np.outer(angle, waves))], axis=1)
    share = 1.0 / waves**2
    share *= sd / np.sqrt(np.sum(share**2))
    return basis, np.tile(share, 2)


def estimate(wheel, reading):
    """State of the wheel from one set of readings.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading or None
        None: the wheel is true and centred at its nominal tension.

    Returns
    -------
    Estimate

    Raises
    ------
    Unstable
        When no stable wheel explains the readings.
    """
    if reading is None:
        return Estimate(equilibrium(wheel), ("the wheel is true and centred at its nominal tension",))
    try:
        return _solve(_Problem(wheel, reading), wheel)
    except Unstable as error:
        raise Unstable(f"no stable wheel explains the readings ({error}); look at their units and at the wheel file"
                       ) from None


def _solve(problem, wheel):
    state = None
    unknowns = np.zeros(problem.size)
    for _ in range(12):
        state = equilibrium(wheel, problem.turns(unknowns), problem.shape(unknowns), start=state)
        change = problem.step(state, unknowns)
        unknowns = unknowns + change
        # A hundred-thousandth of a turn is some thousandths of a newton.
        if np.abs(problem.turns(change)).max() < 1e-5:
            break
    state = equilibrium(wheel, problem.turns(unknowns), problem.shape(unknowns), start=state)
    return Estimate(state, tuple(problem.assumed))


class _Problem:
    """The least-squares problem: unknowns (side offsets, nipples, shapes, zeros, scale) and rows."""

    def __init__(self, wheel, reading):
        n = wheel.n
        self.n, self.reading, self.assumed = n, reading, []
        self.named = np.isin(np.arange(n), wheel.on_side(wheel.tension_side))
        self.nominal = wheel.tension
        angle = np.asarray(wheel.rim.hole_angles)
        lateral, lateral_sd = shape_waves(angle, LATERAL_SHAPE_SD)
        _, radial_sd = shape_waves(angle, RADIAL_SHAPE_SD)
        self.waves = lateral
        right = np.isin(np.arange(n), wheel.on_side("right"))
        self.sides = np.stack([right, ~right], axis=1).astype(float)
        sd = [np.full(2, SIDE_SD), np.full(n, NIPPLE_SD), lateral_sd, radial_sd,
              np.full(2, DIAL_ZERO_SD), np.array([METER_SCALE_SD]), self._tyre(wheel)]
        ends = np.cumsum([len(part) for part in sd])
        self.of_side, self.of_nipple, self.of_lateral, self.of_radial, self.of_zero, self.of_scale, self.of_loss = (
            slice(end - len(part), end) for end, part in zip(ends, sd, strict=True))
        self.sd = np.concatenate(sd)
        self.size = len(self.sd)
        if reading.gauge is None:
            self.assumed.append("no gauge reading: the rim is taken as centred")
        if not reading.tension:
            self.assumed.append(f"no tension read: the mean of the {wheel.tension_side} side is taken from "
                                f"[tension], {wheel.tension:.0f} N, and the other side from lateral balance")
        for name, what in (("lateral", "true"), ("radial", "round")):
            if not getattr(reading, name):
                self.assumed.append(f"no {name} dial reading: the rim is taken as {what} but for what "
                                    "the other readings say")

    def _tyre(self, wheel):
        """Standard deviation of the mean tension that the tyre takes, if it was on; beside it what it likely is."""
        self.loss = 0.0
        if self.reading.tyre == "off":
            return np.zeros(0)
        share, sd = expected_loss(wheel)
        self.loss, self.squeeze = share * wheel.tension, squeeze(wheel)
        self.assumed.append(f"read with the tyre inflated: it takes some {100 * share:.0f} +- {100 * sd:.0f} % of the "
                            "tension; what is shown is the wheel without it")
        return np.array([max(sd * wheel.tension, 1.0)])

    def turns(self, unknowns):
        return self.sides @ unknowns[self.of_side] + unknowns[self.of_nipple]

    def shape(self, unknowns):
        return np.stack([self.waves @ unknowns[self.of_lateral], self.waves @ unknowns[self.of_radial]])

    def _as_read(self, state, unknowns):
        """Lateral, radial and tension as the bench has them: squeezed by the tyre, if it is on."""
        if self.reading.tyre == "off":
            return state
        loss = self.loss + float(unknowns[self.of_loss][0])
        return Squeeze(state.lateral + loss * self.squeeze.lateral, state.radial + loss * self.squeeze.radial,
                       state.tension + loss * self.squeeze.tension)

    def step(self, state, unknowns):
        """Change of the unknowns that the readings ask for, by Gauss and Newton."""
        rows, misfit, sd = [], [], []

        def add(row, short, spread):
            rows.append(row)
            misfit.append(short)
            sd.append(spread)

        def felt(influence, shape_slice=None):
            block = np.zeros((self.n, self.size))
            block[:, self.of_side] = influence @ self.sides
            block[:, self.of_nipple] = influence
            if shape_slice is not None:
                block[:, shape_slice] = self.waves
            return block

        influence = state.influence
        seen = self._as_read(state, unknowns)
        lateral = felt(influence.lateral, self.of_lateral)
        radial = felt(influence.radial, self.of_radial)
        tension = felt(influence.tension)
        if self.reading.tyre != "off":
            for block, name in ((lateral, "lateral"), (radial, "radial"), (tension, "tension")):
                block[:, self.of_loss.start] = getattr(self.squeeze, name)
        gauge = self.reading.gauge
        if gauge is None:
            add(lateral.mean(axis=0), -seen.lateral.mean(), UNREAD_DISH_SD)
        else:
            add(lateral.mean(axis=0), gauge.dish - seen.lateral.mean(), gauge.dish_sd)
        for which, (block, now, read) in enumerate(((lateral, seen.lateral, self.reading.lateral),
                                                    (radial, seen.radial, self.reading.radial))):
            zero = self.of_zero.start + which
            for spoke, value in read:
                row = block[spoke - 1].copy()
                row[zero] = 1.0
                add(row, value - now[spoke - 1] - unknowns[zero], DIAL_SD)
        scale = float(unknowns[self.of_scale][0])
        for spoke, value in self.reading.tension:
            row = tension[spoke - 1] * (1 + scale)
            row[self.of_scale] = seen.tension[spoke - 1]
            add(row, value - seen.tension[spoke - 1] * (1 + scale), METER_SCATTER * max(value, 100.0))
        if not self.reading.tension:
            add(tension[self.named].mean(axis=0), self.nominal - state.tension[self.named].mean(),
                max(ASSUMED_TENSION_SD * self.nominal, 10.0))
        spread = np.array(sd)
        rows = np.array(rows) * self.sd / spread[:, None]
        short = rows.T @ (np.array(misfit) / spread) - unknowns / self.sd
        return np.linalg.solve(rows.T @ rows + np.eye(self.size), short) * self.sd
