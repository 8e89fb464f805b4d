"""Do the estimate's intervals hold the truth? ``python -m tests.benchmarks.coverage [wheels]``

Random wheels whose truth is not drawn from the estimator's prior: hidden turns uniform, clustered on
neighbours, or one large; the rim 15 per cent stiffer or softer than the wheel file says; its own shape
in waves two to five; the state from the nonlinear wheel. Read with a gauge (0.1 mm, its feet at
one random place of the untrue rim), a dial all round
(0.05 mm) and a meter (5 per cent scatter, 3 per cent scale) on three to eight spokes.
"""

import sys
from dataclasses import dataclass, replace

import numpy as np

from tests.wheels import make_wheel
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.estimate import estimate
from wheelsim.readings.gauge import Gauge, gauge_reading
from wheelsim.readings.reading import Reading

FAULTY = 0.5  # a nipple this far from its side's usual place [turn]
LEVEL = 0.95


@dataclass(frozen=True, eq=False)
class Case:
    """One random wheel as its file describes it, its true state, what was read, and each nipple's fault. [turn]"""

    wheel: object
    truth: object
    reading: Reading
    fault: np.ndarray


def random_case(rng, read=None):
    """A random wheel and its readings; ``read`` spokes by the meter, three to eight by default."""
    while True:
        n = int(rng.choice([20, 24, 28, 32, 36]))
        dished = rng.random() < 0.5
        near = rng.uniform(0.018, 0.024) if dished else 0.034
        wheel = make_wheel(n, cross=2 if n < 28 else 3, right=near, left=0.036 if dished else 0.034,
                           tension=rng.uniform(800, 1100))
        off = 1 + 0.15 * rng.choice([-1, 1])
        rim = replace(wheel.rim, **{k: getattr(wheel.rim, k) * off
                                    for k in ("radial_bending", "lateral_bending", "torsion")})
        fault = _faults(rng, n)
        turns = fault + np.where(np.arange(n) % 2 == 0, rng.uniform(-0.4, 0.4), rng.uniform(-0.4, 0.4))
        angle = np.asarray(wheel.rim.hole_angles)
        shape = np.zeros((2, n))
        for waves in (2, 3, 4, 5):
            shape[0] += rng.normal(0, 0.12e-3) / (waves - 1) * np.cos(waves * angle + rng.uniform(0, 6.3))
            shape[1] += rng.normal(0, 0.08e-3) / (waves - 1) * np.cos(waves * angle + rng.uniform(0, 6.3))
        try:
            truth = equilibrium(replace(wheel, rim=rim), turns, shape)
        except Unstable:
            continue
        if truth.slack.any() or truth.tension.max() > 2000:
            continue
        return Case(wheel, truth, _read(rng, truth, read), fault)


def _faults(rng, n):
    kind = rng.choice(["uniform", "clustered", "one"])
    fault = rng.uniform(-0.25, 0.25, n)
    if kind == "clustered":
        start = rng.integers(n)
        fault[(start + np.arange(rng.integers(3, 6))) % n] += rng.choice([-1, 1]) * rng.uniform(0.3, 0.8)
    elif kind == "one":
        fault[rng.integers(n)] += rng.choice([-1, 1]) * rng.uniform(0.8, 1.5)
    return fault


def _read(rng, truth, read):
    n = len(truth.tension)
    place = rng.uniform(0, np.pi)
    gap = gauge_reading(truth.wheel.rim.hole_angles, truth.lateral, place, place) + rng.normal(0, 0.1e-3)
    gauge = Gauge("left" if gap > 0 else "right", "hub", abs(gap), abs(gap))
    lateral = tuple((i + 1, float(v)) for i, v in enumerate(truth.lateral + rng.normal(0, 0.05e-3, n)))
    radial = tuple((i + 1, float(v)) for i, v in enumerate(truth.radial + rng.normal(0, 0.05e-3, n)))
    scale = 1 + rng.normal(0, 0.03)
    spokes = np.sort(rng.choice(n, rng.integers(3, 9) if read is None else min(read, n), replace=False))
    tension = tuple((int(i) + 1, float(truth.tension[i] * scale * (1 + rng.normal(0, 0.05)))) for i in spokes)
    return Reading("", gauge, lateral, radial, tension)


def study(wheels=500, seed=1):
    """Coverage by group, as (group, count, share held, median width of the interval) rows, and the gain.

    The gain is the median width at unread neighbours of read spokes against the width with no
    reading at all.
    """
    rng = np.random.default_rng(seed)
    held = {name: [] for name in ("gap", "highest tension", "sound spokes", "faulty spokes", "faulty, unread")}
    width = {name: [] for name in held}
    near, blind = [], []
    for _ in range(wheels):
        case = random_case(rng)
        found = estimate(case.wheel, case.reading)
        z = 1.96
        held["gap"].append(abs(found.state.dish - case.truth.dish) <= z * found.dish_sd)
        width["gap"].append(4 * z * found.dish_sd)
        highest = found.draw()[2].max(axis=0)
        low, high = np.quantile(highest, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
        held["highest tension"].append(low <= case.truth.tension.max() <= high)
        width["highest tension"].append(high - low)
        off, sd = np.abs(found.state.tension - case.truth.tension), found.tension_sd
        read = np.isin(np.arange(case.wheel.n) + 1, [spoke for spoke, _ in case.reading.tension])
        faulty = np.abs(case.fault) > FAULTY
        for name, which in (("sound spokes", ~faulty), ("faulty spokes", faulty), ("faulty, unread", faulty & ~read)):
            held[name].extend(off[which] <= z * sd[which])
            width[name].extend(2 * z * sd[which])
        neighbour = ~read & (np.roll(read, 1) | np.roll(read, -1))
        near.extend(sd[neighbour])
        unread = replace(case.reading, gauge=None, lateral=(), radial=(), tension=())
        blind.extend(estimate(case.wheel, unread).tension_sd[neighbour])
    rows = [(name, len(held[name]), float(np.mean(held[name])), float(np.median(width[name]))) for name in held]
    return rows, float(np.median(near) / np.median(blind))


def sharper(wheels=60, seed=2):
    """Raw scatter of a meter on all spokes against the estimate's error, scale error apart."""
    rng = np.random.default_rng(seed)
    raw, ours = [], []
    for _ in range(wheels):
        case = random_case(rng, read=99)
        found = estimate(case.wheel, case.reading)
        meter = np.array([value for _, value in case.reading.tension])
        for values, into in ((meter, raw), (found.state.tension, ours)):
            ratio = values / case.truth.tension
            into.extend(ratio / ratio.mean() - 1)
    return float(np.std(raw)), float(np.std(ours))


def main():
    wheels = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    rows, gain = study(wheels)
    print(f"{wheels} wheels, {LEVEL:.0%} intervals")
    print(f"{'':18}{'count':>8}{'held':>8}{'width':>12}")
    for name, count, share, width in rows:
        unit = f"{width * 1e3:.2f} mm" if name == "gap" else f"{width:.0f} N"
        print(f"{name:18}{count:8d}{share:8.1%}{unit:>12}")
    print(f"width at unread neighbours of read spokes against no reading at all: {gain:.2f}")
    raw, ours = sharper()
    print(f"all spokes read: meter scatter {raw:.1%}, estimate {ours:.1%}, {raw / ours:.2f} times sharper")


if __name__ == "__main__":
    main()
