"""The least-squares problem of one set of readings: unknowns, their priors, and one row per reading.

Unknowns: turns of the two sides and of each nipple from the true, centred, nominal wheel; the rim's own shape as
Fourier components with two waves and more; each dial's zero; the meter's scale, common and per side; the error of each
flange's distance, which changes the ratio of the sides' tensions; what the tyre takes.
"""

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from wheelsim.arrays import Floats, Ints, Turns
from wheelsim.estimation.assumed import Assumed, Centred, OwnShapeOnly, TyreTakes, UsualMean
from wheelsim.mechanics.equilibrium import State, equilibrium
from wheelsim.mechanics.tyre import Squeeze, expected_loss, squeeze
from wheelsim.readings.errors import DIAL_SD, METER_FLOOR, ToolErrors, meter_sd
from wheelsim.readings.gauge import Gauge, feet_deviation
from wheelsim.readings.reading import BySpoke, Dial, Reading
from wheelsim.wheel.geometry import LAT, wheel_geometry
from wheelsim.wheel.parts import SIDES, Wheel

# Prior standard deviations: common practice, no source, unless it says own choice.
SIDE_SD = 12.0  # of a whole side; own choice: so wide that it hardly pulls against a gauge reading [turn]
NIPPLE_SD = 0.23  # of one nipple about its side's mean: some 8 per cent of tension [turn]
TAIL = 3.0  # degrees of freedom of the Student's t priors; own choice: a few nipples are far off, some rims are bent
LATERAL_SHAPE_SD = 0.20e-3  # of the rim's own lateral out-of-true at one spoke [m]
RADIAL_SHAPE_SD = 0.15e-3  # and radial [m]
ASSUMED_TENSION_SD = 0.15  # of a side's mean where the wheel file's is assumed, as a fraction
NEAR_SIDE = 1.4  # own choice: a spoke within this factor of its side's mean is normal; further off it is faulty
FEW = 3  # with fewer tensions read the side's mean of the wheel file is assumed as well; own choice
UNREAD_DISH_SD = 0.05e-3  # of the dish where no gauge was read; own choice: practically fixed at centred [m]
DIAL_ZERO_SD = 0.05  # of a dial's zero; own choice: so wide that it is practically free [m]
FEET_DRAWS = 40  # rim shapes drawn for the error from the gauge's feet; own choice, each is used at 36 places

Thing: TypeAlias = tuple[str, int | None]  # what a row belongs to: kind of reading, and spoke number if there is one
Rows: TypeAlias = tuple[Floats, Floats, Floats, list[Thing]]  # as ``Problem.rows`` returns them
Slopes: TypeAlias = tuple[Floats, Floats, Floats]  # lateral, radial [m] and tension [N], each (n, p)


def shape_waves(angle: Floats, sd: float) -> tuple[Floats, Floats]:
    """Fourier basis of a rim's own shape, from two waves round the rim on.

    Parameters
    ----------
    angle : (n,) ndarray
        Of the spokes. [rad]
    sd : float
        Standard deviation of the whole shape at one spoke. [m]

    Returns
    -------
    basis : (n, m) ndarray
        Cosines, then sines.
    sds : (m,) ndarray
        Prior standard deviation of each amplitude: proportional to 1 / waves^2 (own choice: a rim is smooth). [m]

    Notes
    -----
    No and one wave are left out: they are shift, tilt and size of the whole rim, which the spokes determine.
    """
    waves = np.arange(2, max(3, (len(angle) - 1) // 2) + 1)
    basis: Floats = np.concatenate([np.cos(np.outer(angle, waves)), np.sin(np.outer(angle, waves))], axis=1)
    share = 1.0 / waves**2
    return basis, np.tile(share * sd / np.sqrt(np.sum(share**2)), 2)


def kinked(angle: Floats) -> Floats:
    """Amplitudes (m, n) in the basis of ``shape_waves`` of a rim with a kink at each spoke, of height 1 there.

    An inextensible ring bent at one point has a Fourier series with amplitudes proportional to 1 / (m^2 - 1), m the
    number of waves.
    """
    waves = np.arange(2, max(3, (len(angle) - 1) // 2) + 1)
    share = 1 / (waves**2 - 1)
    share = share / share.sum()
    out: Floats = np.concatenate([share[:, None] * np.cos(np.outer(waves, angle)),
                                  share[:, None] * np.sin(np.outer(waves, angle))])
    return out


def _stacked(parts: Sequence[Rows], size: int) -> Rows:
    """Equations in ``size`` unknowns, one part below the other; there may be none."""
    rows, misfit, spread = (np.concatenate([one[k] for one in parts]) if parts else np.zeros((0, size) if k == 0 else 0)
                            for k in range(3))
    return rows, misfit, spread, [thing for one in parts for thing in one[3]]


class Problem:
    """Unknowns, priors and rows of one set of readings.

    Parameters
    ----------
    wheel : Wheel
    reading : Reading
    errors : ToolErrors, optional
    read_before : frozenset of str
        Tools read at other visits ("gauge", "lateral", "radial", "tension"): nothing is assumed in their place.

    Attributes
    ----------
    sd : (p,) ndarray
        Prior standard deviation of each unknown; all prior means are 0. ``of_side``, ``of_nipple`` ... are the slices
        of each kind of unknown.
    tailed : ndarray of int
        Indices of the unknowns with a Student's t prior.
    sides : (n, 2) ndarray
        1 where a spoke is on the right (first column) or left side.
    assumed : list of Assumed
    """

    def __init__(self, wheel: Wheel, reading: Reading, errors: ToolErrors | None = None, *,
                 read_before: frozenset[str] = frozenset()) -> None:
        n, reading = wheel.n, reading.in_newtons(wheel)
        self.wheel, self.n, self.reading = wheel, n, reading
        self.assumed: list[Assumed] = []
        errors = errors or ToolErrors()
        angle = np.asarray(wheel.rim.hole_angles)
        self.waves, lateral_sd = shape_waves(angle, LATERAL_SHAPE_SD)
        _, radial_sd = shape_waves(angle, RADIAL_SHAPE_SD)
        right = np.isin(np.arange(n), wheel.on_side("right"))
        self._sloped: tuple[State, Slopes] | None = None  # cached: needed three times per iteration
        self.sides: Floats = np.stack([right, ~right], axis=1).astype(float)
        level = errors.tone if reading.by_tone else errors.meter
        sd = [np.full(2, SIDE_SD), np.full(n, NIPPLE_SD), lateral_sd, radial_sd,
              np.full(2, DIAL_ZERO_SD), np.array([level, errors.sides, errors.sides]),
              self._flanges(wheel, errors.flange), self._tyre(wheel)]
        ends = np.cumsum([len(part) for part in sd])
        (self.of_side, self.of_nipple, self.of_lateral, self.of_radial, self.of_zero, self.of_scale, self.of_flange,
         self.of_loss) = (slice(end - len(part), end) for end, part in zip(ends, sd, strict=True))
        self.sd: Floats = np.concatenate(sd)
        self.tailed: Ints = np.r_[self.of_nipple, self.of_lateral, self.of_radial]
        self.size = len(self.sd)
        self.centred = reading.gauge is None and "gauge" not in read_before
        self.few = len(reading.tension) < FEW and "tension" not in read_before
        if self.centred:
            self.assumed.append(Centred())
        # With spokes missing the others carry more than the wheel file states.
        named = wheel.pulling(wheel.tension_side)
        self.usual_tension = float(equilibrium(wheel).tension[named].mean()) if wheel.spokes.missing else wheel.tension
        if self.few:
            self.assumed.append(UsualMean(len(reading.tension), wheel.tension_side, wheel.tension, ASSUMED_TENSION_SD))
        places = np.linspace(0, np.pi, 36, endpoint=False)
        self.under_feet: Floats = np.stack([feet_deviation(angle, one, places) for one in np.eye(n)], axis=1)
        dials: dict[Dial, BySpoke] = {"lateral": reading.lateral, "radial": reading.radial}
        self.assumed += [OwnShapeOnly(dial) for dial, read in dials.items() if not read and dial not in read_before]

    def _flanges(self, wheel: Wheel, sd: float) -> Floats:
        """Relative standard deviation (2,) of each side's tension from an error ``sd`` [m] of its flange's distance.

        The sides' lateral forces balance, so a side's tension is inversely proportional to its spokes' lateral slope.
        """
        g = wheel_geometry(wheel)
        reach = np.abs(g.axis[:, LAT]) * g.length
        return np.array([sd / max(float(reach[side].mean()), 2 * sd, 1e-6) if side.any() else sd
                         for side in self.sides.T.astype(bool)])

    def _tyre(self, wheel: Wheel) -> Floats:
        """Prior standard deviation (1,) of the mean tension that the tyre takes; empty if it was off. [N]

        Sets the expected loss ``self.loss`` [N] and its pattern ``self.squeeze``.
        """
        self.loss = 0.0
        if self.reading.tyre == "off":
            return np.zeros(0)
        share, sd = expected_loss(wheel)
        mean = float(wheel_geometry(wheel).tension.mean())
        self.loss, self.squeeze = share * mean, squeeze(wheel)
        self.assumed.append(TyreTakes(share, sd))
        return np.array([max(sd * mean, 1.0)])

    def turns(self, unknowns: Floats) -> Turns:
        """Turns (n,) from the true, centred, nominal wheel. [turn]"""
        turns: Turns = self.sides @ unknowns[self.of_side] + unknowns[self.of_nipple]
        return turns

    def shape(self, unknowns: Floats) -> Floats:
        """The rim's own shape at the spokes, lateral and radial, (2, n). [m]"""
        return np.stack([self.waves @ unknowns[self.of_lateral], self.waves @ unknowns[self.of_radial]])

    def slopes(self, state: State) -> Slopes:
        """Derivative of the state by each unknown, no tyre on: lateral, radial [m] and tension [N], (n, p) each."""
        if self._sloped is None or self._sloped[0] is not state:
            self._sloped = (state, self._slopes(state))
        lateral, radial, tension = self._sloped[1]
        return lateral.copy(), radial.copy(), tension.copy()

    def _slopes(self, state: State) -> Slopes:
        out: list[Floats] = []
        influence = state.influence
        bent = state.shape_influence(self.waves)
        for felt, shapes in zip((influence.edge, influence.radial, influence.tension), bent, strict=True):
            block = np.zeros((self.n, self.size))
            block[:, self.of_side] = felt @ self.sides
            block[:, self.of_nipple] = felt
            block[:, self.of_lateral], block[:, self.of_radial] = np.split(shapes, 2, axis=1)
            out.append(block)
        lateral, radial, tension = out
        tension[:, self.of_flange] = state.tension[:, None] * self.sides
        return lateral, radial, tension

    def weigh(self, state: State, unknowns: Floats) -> None:
        """Update the standard deviations that depend on the state: those of the meter, and the tensions it scales.

        They are held fixed during a step; otherwise the fit could lower its cost by making the rim untrue, because that
        inflates the gauge's error.
        """
        seen = self.as_read(state, unknowns)
        self.scaled = self._as_their_side(seen.tension)
        self.meter_sd = meter_sd(self.scaled)
        # So large that the gauge has no weight until ``weigh_feet`` has found what the other readings tell of the rim
        # under its feet.
        self.feet_sd = DIAL_ZERO_SD

    def weigh_feet(self, state: State, unknowns: Floats, doubt: Floats) -> None:
        """Update the gauge's error from an untrue rim under its feet, whose places are unknown.

        ``doubt`` (p, k) is a root of the posterior covariance of ``feet_deviation`` at k places, without the gauge.
        """
        feet = self.under_feet @ self.as_read(state, unknowns).lateral
        self.feet_sd = float(np.sqrt(np.mean(feet**2) + np.mean(np.sum(doubt**2, axis=0))))
        drawn = np.random.default_rng(0).standard_normal((len(doubt), FEET_DRAWS))
        self.feet = (feet[:, None] + doubt.T @ drawn).ravel()

    def _as_their_side(self, tension: Floats) -> Floats:
        """Tensions (n,) to which the meter's relative errors apply: the side's mean for spokes near it. [N]

        With each spoke's own tension the estimate is biased low by some two per cent, for two reasons: a meter scale
        above one reduces the spread of the spokes, which their prior favours, and spokes that happen to be read low
        would get a smaller standard deviation and so more weight.
        """
        mean = self.sides @ np.array([tension[self.wheel.pulling(side)].mean() for side in SIDES])
        share = tension / np.maximum(mean, METER_FLOOR)
        weighed: Floats = mean * share / np.clip(share, 1 / NEAR_SIDE, NEAR_SIDE)
        return weighed

    def as_read(self, state: State, unknowns: Floats) -> Squeeze:
        """Edge, radial position [m] and tension [N] as read, (n,) each: with the tyre's effect if it was on."""
        if self.reading.tyre == "off":
            return Squeeze(state.edge, state.radial, state.tension)
        loss = self.loss + float(unknowns[self.of_loss][0])
        return Squeeze(state.edge + loss * self.squeeze.lateral, state.radial + loss * self.squeeze.radial,
                       state.tension + loss * self.squeeze.tension)

    def rows(self, state: State, unknowns: Floats, *,
             misfits_only: bool = False) -> Rows:
        """Linearised equations of the m readings about a state; with ``misfits_only`` the rows are left zero.

        Returns rows (m, p), the derivatives of the predicted readings by the unknowns; misfits (m,), reading less
        prediction [m, N]; standard deviations of the readings (m,) [m, N]; and kind and spoke of each.
        """
        parts: list[Rows] = []

        def add(rows: Floats, short: Floats, sd: float | Floats, kind: str, spokes: Sequence[int | None]) -> None:
            parts.append((rows, short, np.broadcast_to(sd, len(short)), [(kind, spoke) for spoke in spokes]))

        none = np.zeros((self.n, self.size))
        lateral, radial, tension = (none, none, none) if misfits_only else self.slopes(state)
        seen, reading = self.as_read(state, unknowns), self.reading
        if reading.tyre != "off" and not misfits_only:
            for block, name in ((lateral, "lateral"), (radial, "radial"), (tension, "tension")):
                block[:, self.of_loss.start] = getattr(self.squeeze, name)
        dish, mean = float(seen.lateral.mean()), lateral.mean(axis=0)[None]
        if self.centred:
            add(mean, np.array([-dish]), UNREAD_DISH_SD, "centred", [None])
        elif reading.gauge is not None:
            # The places of the feet aren't known, so the out-of-true under them adds to the gauge's error.
            add(mean, np.array([reading.gauge.dish - dish]), self.gauge_sd(), "gauge", [None])
        # A dial that touches outside or inside the edge shows more or less of the section's twist.
        rim = self.wheel.rim
        out = 0.0 if reading.dial_radius is None else reading.dial_radius - rim.section_radius - rim.edge_out
        twist = np.zeros_like(lateral)
        if out and not misfits_only:
            twist[:, self.of_side], twist[:, self.of_nipple] = state.influence.twist @ self.sides, state.influence.twist
        for name, block, now, zero in (
                ("lateral", lateral + out * twist, seen.lateral + out * state.twist, self.of_zero.start),
                ("radial", radial, seen.radial, self.of_zero.start + 1)):
            read: dict[int, float] = dict(getattr(reading, name))
            if not read:
                continue
            at = np.array(list(read)) - 1
            with_zero = block.copy()
            with_zero[:, zero] = 1.0
            now = now + unknowns[zero]
            add(with_zero[at], np.array(list(read.values())) - now[at], DIAL_SD, name, list(read))
            if name in reading.extremes:
                middle, half = sum(read.values()) / 2, (max(read.values()) - min(read.values())) / 2
                between = np.setdiff1d(np.arange(self.n), at)
                # Only known to lie between the extremes: a reading of their middle with the standard deviation of a
                # uniform distribution.
                add(with_zero[between], middle - now[between], np.hypot(half / np.sqrt(3), DIAL_SD), f"between {name}",
                    [int(i) + 1 for i in between])
        if reading.tension:
            add(*self._tension_rows(unknowns, seen.tension, tension), "tension", [one for one, _ in reading.tension])
        if self.few:
            # With fewer than FEW tensions read, the usual mean of the wheel file counts as one more reading.
            named = self.wheel.pulling(self.wheel.tension_side)
            row = tension[named].mean(axis=0)
            row[self.of_loss] = row[self.of_flange] = 0.0
            add(row[None], np.array([self.usual_tension - state.tension[named].mean()]),
                max(ASSUMED_TENSION_SD * self.usual_tension, 10.0), "assumed", [None])
        return _stacked(parts, self.size)

    def gauge_sd(self) -> float:
        """Standard deviation of the gauge's reading of the dish, its feet's error included. [m]"""
        return float(np.hypot(0.0 if self.reading.gauge is None else self.reading.gauge.dish_sd, self.feet_sd))

    def _tension_rows(self, unknowns: Floats, seen: Floats, tension: Floats) -> tuple[Floats, Floats, Floats]:
        """Rows, misfits and standard deviations of the tensions read.

        ``seen`` (n,) are the tensions of ``as_read``, ``tension`` (n, p) their derivatives.
        """
        at = np.array([spoke for spoke, _ in self.reading.tension]) - 1
        grown = self._grown(unknowns)
        rows = tension[at]
        rows[:, self.of_scale] = grown[at, None] * np.hstack([np.ones((len(at), 1)), self.sides[at]])
        rows[:, self.of_flange] = grown[at, None] * self.sides[at]
        shown = seen + grown - self.scaled
        # What was read twice scatters less, as a mean of two does.
        again = self.reading.stands_at("tension")
        twice = np.sqrt([2.0 if spoke in again else 1.0 for spoke, _ in self.reading.tension])
        return rows, np.array([value for _, value in self.reading.tension]) - shown[at], self.meter_sd[at] / twice

    def _grown(self, unknowns: Floats) -> Floats:
        """``scaled`` (n,) as the meter would show it: times its scales and the effect of the flanges' errors. [N]"""
        common, *sides = unknowns[self.of_scale]
        grown: Floats = self.scaled * np.exp(common + self.sides @ (np.array(sides) + unknowns[self.of_flange]))
        return grown

    def shown_slopes(self, state: State, unknowns: Floats) -> Floats:
        """Derivative by each unknown of what the meter would show, no tyre on, (n, p). [N]"""
        grown = self._grown(unknowns)
        out: Floats = self.slopes(state)[2]
        out[:, self.of_scale] = grown[:, None] * np.hstack([np.ones((self.n, 1)), self.sides])
        out[:, self.of_flange] = grown[:, None] * self.sides
        return out

    def feet_shares(self, gauge: Gauge) -> Floats:
        """Errors of the gauge by its feet's places, evenly round the drawn rims, over its standard deviation: (k,)."""
        shares: Floats = (self.feet - self.feet.mean()) / np.hypot(gauge.dish_sd, self.feet_sd)
        return shares

    def prior_sd(self, unknowns: Floats) -> Floats:
        """As ``Course.prior_sd``, for one visit."""
        sd = self.sd.copy()
        sd[self.tailed] *= np.sqrt((TAIL + (unknowns[self.tailed] / self.sd[self.tailed]) ** 2) / (TAIL + 1))
        return sd
