"""Do the estimate's intervals hold the truth? ``python -m tests.benchmarks.coverage [wheels]``

Random wheels whose truth is not drawn from the estimator's prior: hidden turns uniform, clustered on
neighbours, or one large; the rim 15 per cent stiffer or softer than the wheel file says; its own shape
in waves two to five; the state from the nonlinear wheel. Read with a gauge (0.1 mm, its feet at
one random place of the untrue rim), a dial all round
(0.05 mm) and a meter (5 per cent scatter, 5 per cent scale, 4 per cent more on each side by itself) on three to
eight spokes; each flange of the true hub 0.5 mm (a standard deviation) from where the wheel file has it.
"""

import sys
from dataclasses import dataclass, replace

import numpy as np

from tests.wheels import make_wheel
from wheelsim.estimation.certainty import drawn_quantities
from wheelsim.estimation.estimate import Estimate, estimate
from wheelsim.job.job import Job
from wheelsim.measures.quantities import Quantity
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.mechanics.structure import Unstable
from wheelsim.readings.errors import ToolErrors
from wheelsim.readings.gauge import Gauge, gauge_reading
from wheelsim.readings.reading import Reading
from wheelsim.stand.assess import assess
from wheelsim.wheel.parts import SIDES

FAULTY = 0.5  # a nipple this far from its side's usual place [turn]
LEVEL = 0.95
NAMES = {one.trade: (one, one.per_si) for one in Quantity if one is not Quantity.SPREAD}
NAMES |= {f"spread {side}": (side, Quantity.SPREAD.per_si) for side in ("right", "left")}


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
            truth = equilibrium(replace(wheel, rim=rim, hub=_as_made(rng, wheel.hub)), turns, shape)
        except Unstable:
            continue
        if truth.slack.any() or truth.tension.max() > 2000:
            continue
        return Case(wheel, truth, read_with_errors(rng, truth, read), fault)


def _as_made(rng, hub):
    """The hub as it is, where the file has what the calliper said."""
    return replace(hub, **{side: replace(getattr(hub, side), offset=getattr(hub, side).offset
                                         + rng.normal(0, ToolErrors().flange)) for side in ("left", "right")})


def _faults(rng, n):
    kind = rng.choice(["uniform", "clustered", "one"])
    fault = rng.uniform(-0.25, 0.25, n)
    if kind == "clustered":
        start = rng.integers(n)
        fault[(start + np.arange(rng.integers(3, 6))) % n] += rng.choice([-1, 1]) * rng.uniform(0.3, 0.8)
    elif kind == "one":
        fault[rng.integers(n)] += rng.choice([-1, 1]) * rng.uniform(0.8, 1.5)
    return fault


def read_with_errors(rng, truth, read):
    n = len(truth.tension)
    place = rng.uniform(0, np.pi)
    gap = gauge_reading(truth.wheel.rim.hole_angles, truth.lateral, place, place) + rng.normal(0, 0.1e-3)
    gauge = Gauge.showing(gap)
    lateral = tuple((i + 1, float(v)) for i, v in enumerate(truth.lateral + rng.normal(0, 0.05e-3, n)))
    radial = tuple((i + 1, float(v)) for i, v in enumerate(truth.radial + rng.normal(0, 0.05e-3, n)))
    common, right, left = rng.normal(0, [0.05, 0.04, 0.04])
    scale = np.exp(common + np.where(np.isin(np.arange(n), truth.wheel.on_side("right")), right, left))
    spokes = np.sort(rng.choice(n, rng.integers(3, 9) if read is None else min(read, n), replace=False))
    tension = tuple((int(i) + 1, float(truth.tension[i] * scale[i] * (1 + rng.normal(0, 0.05)))) for i in spokes)
    return Reading("", gauge, lateral, radial, tension)


def study(wheels=500, seed=1):
    """Coverage by group, as (group, count, share held, median width of the interval) rows, and the gain twice.

    The gain is the median width at unread neighbours of read spokes against the width there with no
    reading at all; then the same of the errors themselves (root mean square), which no width can flatter.
    """
    rng = np.random.default_rng(seed)
    held = {name: [] for name in ("gap", "highest tension", "sound spokes", "faulty spokes", "faulty, unread",
                                  "neighbours", "no reading", "gap, gauge alone")}
    width = {name: [] for name in held}
    near, blind = [], []
    for _ in range(wheels):
        case = random_case(rng)
        found = estimate(case.wheel, case.reading)
        z = 1.96
        lateral, _, tension = found.draw(2000)
        alone = estimate(case.wheel, replace(case.reading, lateral=(), radial=(), tension=())).draw(2000)[0]
        for name, drawn, truth in (("gap", 2 * lateral.mean(axis=0), 2 * case.truth.dish),
                                   ("gap, gauge alone", 2 * alone.mean(axis=0), 2 * case.truth.dish),
                                   ("highest tension", tension.max(axis=0), case.truth.tension.max())):
            low, high = np.quantile(drawn, [(1 - LEVEL) / 2, (1 + LEVEL) / 2])
            held[name].append(low <= truth <= high)
            width[name].append(high - low)
        off, sd = np.abs(found.state.tension - case.truth.tension), found.tension_sd
        read = np.isin(np.arange(case.wheel.n) + 1, [spoke for spoke, _ in case.reading.tension])
        faulty = np.abs(case.fault) > FAULTY
        for name, which in (("sound spokes", ~faulty), ("faulty spokes", faulty), ("faulty, unread", faulty & ~read)):
            held[name].extend(off[which] <= z * sd[which])
            width[name].extend(2 * z * sd[which])
        neighbour = ~read & (np.roll(read, 1) | np.roll(read, -1))
        unread = estimate(case.wheel, replace(case.reading, gauge=None, lateral=(), radial=(), tension=()))
        for name, one, wrong in (("neighbours", found, near), ("no reading", unread, blind)):
            off, sd = (one.state.tension - case.truth.tension)[neighbour], one.tension_sd[neighbour]
            held[name].extend(np.abs(off) <= z * sd)
            width[name].extend(2 * z * sd)
            wrong.extend(off)
    rows = [(name, len(held[name]), float(np.mean(held[name])), float(np.median(width[name]))) for name in held]
    by_width = np.median(width["neighbours"]) / np.median(width["no reading"])
    return rows, float(by_width), float(np.sqrt(np.mean(np.square(near)) / np.mean(np.square(blind))))


def claims(wheels=200, seed=3, spokes=None, dial=True, places=None):
    """What ``assess`` says within, outside or unknown, against the truth: {status: [right, said]}.

    With ``places`` both dials are read at about so many, and what is told is of the quantities read in part.
    """
    rng = np.random.default_rng(seed)
    said = {"within": [0, 0], "outside": [0, 0], "unknown": [0, 0]}
    for _ in range(wheels):
        case = random_case(rng, spokes)
        reading = case.reading if dial else replace(case.reading, lateral=(), radial=())
        if places:
            reading = replace(reading, lateral=reading.lateral[::case.wheel.n // places],
                              radial=reading.radial[::case.wheel.n // places])
        true = drawn_quantities(case.wheel, Estimate.certain(case.truth))
        for check in assess(Job(case.wheel, (reading,))).checks:
            if (check.some and not check.read if places else check.read) and check.name in NAMES:
                key, scale = NAMES[check.name]
                value = float(true[key][0]) * scale
                inside = value >= check.limit if key == "min_tension" else value <= check.limit
                said[check.status][0] += inside == (check.status == "within")
                said[check.status][1] += 1
    return said


def sharper(wheels=60, seed=2):
    """Raw scatter of a meter on all spokes against the estimate's error, each side's scale apart."""
    rng = np.random.default_rng(seed)
    raw, ours = [], []
    for _ in range(wheels):
        case = random_case(rng, read=99)
        found = estimate(case.wheel, case.reading)
        meter = np.array([value for _, value in case.reading.tension])
        for values, into in ((meter, raw), (found.state.tension, ours)):
            for side in SIDES:
                ratio = (values / case.truth.tension)[case.wheel.on_side(side)]
                into.extend(ratio / ratio.mean() - 1)
    return float(np.std(raw)), float(np.std(ours))


def main():
    wheels = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    rows, gain, errors = study(wheels)
    print(f"{wheels} wheels, {LEVEL:.0%} intervals")
    print(f"{'':18}{'count':>8}{'held':>8}{'width':>12}")
    for name, count, share, width in rows:
        unit = f"{width * 1e3:.2f} mm" if name.startswith("gap") else f"{width:.0f} N"
        print(f"{name:18}{count:8d}{share:8.1%}{unit:>12}")
    print(f"width at unread neighbours of read spokes against no reading at all: {gain:.2f}; "
          f"their errors: {errors:.2f}")
    for words, dial, places in (("dial all round", True, None), ("no dial", False, None),
                                ("dial at some seven places, of what was read in part", True, 7)):
        said = claims(dial=dial, places=places)
        print(f"assess, three to eight spokes, {words}: " + ", ".join(
            f"{status} said {count} times" + ("" if status == "unknown" else f", right {right / max(count, 1):.1%}")
            for status, (right, count) in said.items()))
    raw, ours = sharper()
    print(f"all spokes read: meter scatter {raw:.1%}, estimate {ours:.1%}, {raw / ours:.2f} times sharper")


if __name__ == "__main__":
    main()
