"""The least-squares problem behind an estimate: its unknowns, what they usually are, and the rows of the readings.

Unknowns: the turns of whole sides and of each nipple away from the true, centred, nominal wheel; the
rim's own shape in waves from two up; each dial's zero; the meter's scale, in common and on each side;
each flange's distance, which sets how a side's tension stands to the other's; what the tyre takes.
"""

from collections.abc import Callable
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

# How far things usually stray: common practice, no source.
SIDE_SD = 12.0  # a whole side, either way: so wide that this prior hardly weighs against a gauge reading [turn]
NIPPLE_SD = 0.23  # one nipple about its side: some 8 per cent of tension [turn]
TAIL = 3.0  # degrees of freedom of the Student's t priors: a few nipples are far off, some rims are bent; own choice
LATERAL_SHAPE_SD = 0.20e-3  # the rim's own out-of-true, at a station [m]
RADIAL_SHAPE_SD = 0.15e-3  # [m]
ASSUMED_TENSION_SD = 0.15  # of a side's mean taken from the wheel file
NEAR_SIDE = 1.4  # within this share of its side's mean a spoke is like the others; further off it is a fault
FEW = 3  # with fewer tensions read, a side's mean is taken from the wheel file; own choice
UNREAD_DISH_SD = 0.05e-3  # where no gauge was read the rim is taken as centred [m]
DIAL_ZERO_SD = 0.05  # of a dial's zero: as good as free [m]
FEET_DRAWS = 40  # rims that the readings allow, for what the gauge's feet may have met

Add: TypeAlias = Callable[..., None]  # row (p,), misfit, standard deviation, kind and spoke
Thing: TypeAlias = tuple[str, int | None]  # what a row was read of: its kind, and the spoke if it has one
Slopes: TypeAlias = tuple[Floats, Floats, Floats]  # lateral, radial [m] and tension [N], each (n, p)


def shape_waves(angle: Floats, sd: float) -> tuple[Floats, Floats]:
    """Waves two and up of a rim's own shape at the stations: (n, m) basis, and each one's sd. [m]

    A rim's own shape falls off with the square of the number of waves; at a station the sds add up to ``sd``.
    """
    waves = np.arange(2, max(3, (len(angle) - 1) // 2) + 1)
    basis: Floats = np.concatenate([np.cos(np.outer(angle, waves)), np.sin(np.outer(angle, waves))], axis=1)
    share = 1.0 / waves**2
    return basis, np.tile(share * sd / np.sqrt(np.sum(share**2)), 2)


def kinked(angle: Floats) -> Floats:
    """Waves (m, n) of ``shape_waves`` in a rim with a kink at each station, one high there.

    A ring that keeps its length and is bent at one place takes up the bend with waves that fall off with m^2 - 1.
    """
    waves = np.arange(2, max(3, (len(angle) - 1) // 2) + 1)
    share = 1 / (waves**2 - 1)
    share = share / share.sum()
    out: Floats = np.concatenate([share[:, None] * np.cos(np.outer(waves, angle)),
                                  share[:, None] * np.sin(np.outer(waves, angle))])
    return out


class Problem:
    """Unknowns and rows of one set of readings of one wheel.

    Attributes
    ----------
    sd : (p,) ndarray
        Prior standard deviation of each unknown; all have mean nought.
    assumed : list of Assumed
        What is not read but taken.

    ``read_before`` names what earlier readings tell of ("gauge", "lateral", "radial", "tension"): that is not taken.
    """

    def __init__(self, wheel: Wheel, reading: Reading, errors: ToolErrors | None = None, *,
                 read_before: frozenset[str] = frozenset()) -> None:
        n = wheel.n
        self.wheel, self.n, self.reading = wheel, n, reading
        self.assumed: list[Assumed] = []
        errors = errors or ToolErrors()
        angle = np.asarray(wheel.rim.hole_angles)
        self.waves, lateral_sd = shape_waves(angle, LATERAL_SHAPE_SD)
        _, radial_sd = shape_waves(angle, RADIAL_SHAPE_SD)
        right = np.isin(np.arange(n), wheel.on_side("right"))
        self._sloped: tuple[State, Slopes] | None = None  # a round asks for the slopes at one state three times
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
        # The usual mean of a wheel with missing spokes: those that are left carry more than the wheel file says.
        named = wheel.pulling(wheel.tension_side)
        self.usual_tension = float(equilibrium(wheel).tension[named].mean()) if wheel.spokes.missing else wheel.tension
        if self.few:
            self.assumed.append(UsualMean(len(reading.tension), wheel.tension_side, wheel.tension, ASSUMED_TENSION_SD))
        places = np.linspace(0, np.pi, 36, endpoint=False)
        self.under_feet: Floats = np.stack([feet_deviation(angle, one, places) for one in np.eye(n)], axis=1)
        dials: dict[Dial, BySpoke] = {"lateral": reading.lateral, "radial": reading.radial}
        self.assumed += [OwnShapeOnly(dial) for dial, read in dials.items() if not read and dial not in read_before]

    def _flanges(self, wheel: Wheel, sd: float) -> Floats:
        """What an error of each flange's distance makes of its side's tension, as a share of it: (2,).

        The sides' lateral pulls balance, so a side's tension goes as one over the spokes' lateral slope.
        """
        g = wheel_geometry(wheel)
        reach = np.abs(g.axis[:, LAT]) * g.length
        return np.array([sd / max(float(reach[side].mean()), 2 * sd, 1e-6) if side.any() else sd
                         for side in self.sides.T.astype(bool)])

    def _tyre(self, wheel: Wheel) -> Floats:
        """Standard deviation of the mean tension that the tyre takes, if it was on; beside it what it likely is."""
        self.loss = 0.0
        if self.reading.tyre == "off":
            return np.zeros(0)
        share, sd = expected_loss(wheel)
        mean = float(wheel_geometry(wheel).tension.mean())
        self.loss, self.squeeze = share * mean, squeeze(wheel)
        self.assumed.append(TyreTakes(share, sd))
        return np.array([max(sd * mean, 1.0)])

    def turns(self, unknowns: Floats) -> Turns:
        """Turns of each nipple away from the true, centred, nominal wheel, (n,)."""
        turns: Turns = self.sides @ unknowns[self.of_side] + unknowns[self.of_nipple]
        return turns

    def shape(self, unknowns: Floats) -> Floats:
        """The rim's own shape at the stations, lateral and radial, (2, n). [m]"""
        return np.stack([self.waves @ unknowns[self.of_lateral], self.waves @ unknowns[self.of_radial]])

    def slopes(self, state: State) -> Slopes:
        """Change of lateral, radial [m] and tension [N] per unknown, without the tyre: three of (n, p)."""
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
        """Set what hangs on what the wheel is: the meter's deviations, and what its scale acts on.

        They are held fixed during a step; otherwise the fit could lower its cost by an untrue rim, which makes the
        gauge's error larger.
        """
        seen = self.as_read(state, unknowns)
        self.scaled = self._as_their_side(seen.tension)
        self.meter_sd = meter_sd(self.scaled)
        # How the rim stands under the feet is known as far as all but the gauge tells it: that comes after.
        self.feet_sd = DIAL_ZERO_SD

    def weigh_feet(self, state: State, unknowns: Floats, doubt: Floats) -> None:
        """Set what the rim under the gauge's feet may have done: ``doubt`` (p, k) are roots of what is unsure there."""
        feet = self.under_feet @ self.as_read(state, unknowns).lateral
        self.feet_sd = float(np.sqrt(np.mean(feet**2) + np.mean(np.sum(doubt**2, axis=0))))
        drawn = np.random.default_rng(0).standard_normal((len(doubt), FEET_DRAWS))
        self.feet = (feet[:, None] + doubt.T @ drawn).ravel()

    def _as_their_side(self, tension: Floats) -> Floats:
        """Tensions (n,) that the meter's errors are shares of: the side's mean for all that are near it. [N]

        Were it each spoke's own tension, a meter that reads high would make the spokes more alike, which their prior
        rewards, and spokes that happen to be read low would count as the surer ones: the wheel would come out looser
        than it is, by some two per cent.
        """
        mean = self.sides @ np.array([tension[self.wheel.pulling(side)].mean() for side in SIDES])
        share = tension / np.maximum(mean, METER_FLOOR)
        weighed: Floats = mean * share / np.clip(share, 1 / NEAR_SIDE, NEAR_SIDE)
        return weighed

    def as_read(self, state: State, unknowns: Floats) -> Squeeze:
        """Lateral at the rim's edge, radial and tension as the bench has them: squeezed by the tyre, if it is on."""
        if self.reading.tyre == "off":
            return Squeeze(state.edge, state.radial, state.tension)
        loss = self.loss + float(unknowns[self.of_loss][0])
        return Squeeze(state.edge + loss * self.squeeze.lateral, state.radial + loss * self.squeeze.radial,
                       state.tension + loss * self.squeeze.tension)

    def rows(self, state: State, unknowns: Floats, *,
             misfits_only: bool = False) -> tuple[Floats, Floats, Floats, list[Thing]]:
        """Rows (m, p), misfits (m,) and standard deviations (m,) of all that was read, and what each is.

        ``what`` is a list of (kind, spoke); the rows are left nought where misfits alone are asked for.
        """
        rows: list[Floats] = []
        misfit: list[float] = []
        spread: list[float] = []
        what: list[Thing] = []

        def add(row: Floats, short: float, sd: float, *kind: *Thing) -> None:
            rows.append(row)
            misfit.append(short)
            spread.append(sd)
            what.append(kind)

        none = np.zeros((self.n, self.size))
        lateral, radial, tension = (none, none, none) if misfits_only else self.slopes(state)
        seen, reading = self.as_read(state, unknowns), self.reading
        if reading.tyre != "off" and not misfits_only:
            for block, name in ((lateral, "lateral"), (radial, "radial"), (tension, "tension")):
                block[:, self.of_loss.start] = getattr(self.squeeze, name)
        if self.centred:
            add(lateral.mean(axis=0), -seen.lateral.mean(), UNREAD_DISH_SD, "centred", None)
        elif reading.gauge is not None:
            # Where the feet stood isn't known: what the rim's out-of-true makes of that is part of the error.
            sd = np.hypot(reading.gauge.dish_sd, self.feet_sd)
            add(lateral.mean(axis=0), reading.gauge.dish - seen.lateral.mean(), sd, "gauge", None)
        # A dial further out or in than the edge sees more or less of the section's twist.
        rim = self.wheel.rim
        out = 0.0 if reading.dial_radius is None else reading.dial_radius - rim.section_radius - rim.edge_out
        twist = np.zeros_like(lateral)
        if out and not misfits_only:
            twist[:, self.of_side], twist[:, self.of_nipple] = state.influence.twist @ self.sides, state.influence.twist
        for name, block, now, zero in (
                ("lateral", lateral + out * twist, seen.lateral + out * state.twist, self.of_zero.start),
                ("radial", radial, seen.radial, self.of_zero.start + 1)):
            for spoke, value in getattr(reading, name):
                row = block[spoke - 1].copy()
                row[zero] = 1.0
                add(row, value - now[spoke - 1] - unknowns[zero], DIAL_SD, name, spoke)
            if name in reading.extremes:
                ends = dict(getattr(reading, name))
                middle, half = sum(ends.values()) / 2, (max(ends.values()) - min(ends.values())) / 2
                for i in {k for k in range(self.n) if k + 1 not in ends}:
                    row = block[i].copy()
                    row[zero] = 1.0
                    # Between the ends, wherever: as if read with the sd of an even spread between them.
                    add(row, middle - now[i] - unknowns[zero], np.hypot(half / np.sqrt(3), DIAL_SD), "between", i + 1)
        self._tension_rows(state, unknowns, seen.tension, tension, add)
        return np.array(rows).reshape(len(rows), self.size), np.array(misfit), np.array(spread), what

    def _tension_rows(self, state: State, unknowns: Floats, seen: Floats, tension: Floats, add: Add) -> None:
        """Rows of the meter: ``seen`` (n,) are the tensions as the bench has them, ``tension`` (n, p) their slopes."""
        grown = self._grown(unknowns)
        shown = seen + grown - self.scaled
        for spoke, value in self.reading.tension:
            i = spoke - 1
            row = tension[i].copy()
            row[self.of_scale] = grown[i] * np.array([1.0, *self.sides[i]])
            row[self.of_flange] = grown[i] * self.sides[i]
            add(row, value - shown[i], self.meter_sd[i], "tension", spoke)
        if self.few:
            # With fewer than FEW tensions read, the named side's usual mean counts as one more reading.
            named = self.wheel.pulling(self.wheel.tension_side)
            row = tension[named].mean(axis=0)
            row[self.of_loss] = row[self.of_flange] = 0.0
            sd = max(ASSUMED_TENSION_SD * self.usual_tension, 10.0)
            add(row, self.usual_tension - state.tension[named].mean(), sd, "assumed", None)

    def _grown(self, unknowns: Floats) -> Floats:
        """What the meter makes of ``scaled``, (n,): its scales and the flanges' errors between. [N]"""
        common, *sides = unknowns[self.of_scale]
        grown: Floats = self.scaled * np.exp(common + self.sides @ (np.array(sides) + unknowns[self.of_flange]))
        return grown

    def shown_slopes(self, state: State, unknowns: Floats) -> Floats:
        """Change of what the meter would show without a tyre per unknown, (n, p). [N]"""
        grown = self._grown(unknowns)
        out: Floats = self.slopes(state)[2]
        out[:, self.of_scale] = grown[:, None] * np.hstack([np.ones((self.n, 1)), self.sides])
        out[:, self.of_flange] = grown[:, None] * self.sides
        return out

    def feet_shares(self, gauge: Gauge) -> Floats:
        """What the feet's places, even round the rim, make of the gauge's error, in shares of its deviation: (k,)."""
        shares: Floats = (self.feet - self.feet.mean()) / np.hypot(gauge.dish_sd, self.feet_sd)
        return shares

    def prior_sd(self, unknowns: Floats) -> Floats:
        """Prior standard deviations about these unknowns: one far off is one of the tail's."""
        sd = self.sd.copy()
        sd[self.tailed] *= np.sqrt((TAIL + (unknowns[self.tailed] / self.sd[self.tailed]) ** 2) / (TAIL + 1))
        return sd
