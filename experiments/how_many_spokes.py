"""How many spokes must be read with the meter to know the wheel?

Question
    Dish gauge and dial have been read all round. How many tensions have to be read as well, and do they tell those of
    the unread spokes?
Expect
    The rim connects the spokes, so a few tensions and the dial should give the rest.
Found
    Ten random wheels whose spokes stray 114 N from their mean. With eight read the mean tension is known to 50 N, with
    all 36 to 28 N, and what remains is the meter's own scale, though it was held against a hanging weight. A spoke not
    read is 97 N off when eight are read (the program claims 86 N), 59 N when eighteen are: the dial tells little about
    single tensions. A spoke that is read is 48 N off among eight and 43 N among 36; the meter alone scatters by 5 %.
Figure
    figures/how_many_spokes.svg: error of the tensions against spokes read, of the means and of the unread spokes.
"""

from dataclasses import dataclass, replace

import numpy as np
from matplotlib.ticker import FixedLocator

from experiments.common import FIGURES, front, page, rounded
from experiments.pair import FIRST, SECOND
from wheelsim.estimation.estimate import estimate
from wheelsim.estimation.problem import NIPPLE_SD
from wheelsim.mechanics.equilibrium import equilibrium
from wheelsim.readings.errors import DIAL_SD, GAUGE_SD, METER_SCATTER, ToolErrors
from wheelsim.readings.gauge import Gauge
from wheelsim.readings.reading import Reading
from wheelsim.report.figures import save
from wheelsim.report.figures.look import FAINT, LIMIT, SMALL, fixed_look

FIGURE = FIGURES / "how_many_spokes.svg"
COUNTS = (0, 2, 4, 8, 12, 18, 36)
WHEELS = 10
SEED = 6
CHECKED = ToolErrors(meter=0.02, sides=0.02)  # a meter that was held against a hanging weight


@dataclass(frozen=True, eq=False)
class Found:
    """Errors by number of spokes read (``COUNTS``): root mean squares over wheels and spokes, NaN if none. [N]"""

    unread: np.ndarray  # of spokes that were not read
    unread_sd: np.ndarray  # the standard deviation that the program gives for them
    read: np.ndarray  # of spokes that were read
    mean: np.ndarray  # of a side's mean tension
    scatter: float  # of the true tensions about their wheel's mean


def run():
    """Read random wheels with the usual errors of tools, and compare the estimates with the truth."""
    wheel, rng, n = front(), np.random.default_rng(SEED), front().n
    errors = {name: [[] for _ in COUNTS] for name in ("unread", "unread_sd", "read", "mean")}
    scatter = []
    for _ in range(WHEELS):
        truth = equilibrium(replace(wheel, tension=wheel.tension * (1 + 0.10 * rng.standard_normal())),
                            NIPPLE_SD * rng.standard_normal(n))
        scatter.append(truth.tension - truth.tension.mean())
        gap = 2 * truth.dish + GAUGE_SD * rng.standard_normal()
        dials = [tuple((i + 1, float(v)) for i, v in enumerate(values + DIAL_SD * rng.standard_normal(n)))
                 for values in (truth.lateral, truth.radial)]
        sides = np.where(np.isin(np.arange(n), wheel.on_side("right")), *rng.normal(0, CHECKED.sides, 2))
        meter = truth.tension * np.exp(rng.normal(0, CHECKED.meter) + sides) * (
            1 + METER_SCATTER * rng.standard_normal(n))
        reading = Reading("", Gauge.showing(gap), *dials)
        for k, count in enumerate(COUNTS):
            spokes = spread_round(n, count)
            found = estimate(wheel, replace(reading, tension=tuple((int(i) + 1, float(meter[i])) for i in spokes)),
                             CHECKED)
            off, is_read = found.state.tension - truth.tension, np.isin(np.arange(n), spokes)
            errors["unread"][k].extend(off[~is_read])
            errors["unread_sd"][k].extend(found.tension_sd[~is_read])
            errors["read"][k].extend(off[is_read])
            errors["mean"][k].append(off.mean())
    rms = {name: np.array([float(np.sqrt(np.mean(np.square(one)))) if one else np.nan for one in by_count])
           for name, by_count in errors.items()}
    return Found(**rms, scatter=float(np.std(scatter)))


def spread_round(n, count):
    """Spokes spaced evenly round the rim and over both flanges: indices from 0, (count,)."""
    pairs = np.floor(np.arange(count // 2) * n / 2 / max(count // 2, 1)).astype(int)
    return np.sort(np.concatenate([2 * pairs, 2 * pairs + 1]))


def draw(found):
    """Errors against spokes read."""
    eight = COUNTS.index(8)
    with fixed_look():
        figure, top = page(f"Eight spokes read tell the wheel's mean to {found.mean[eight]:.0f} N, but a spoke not "
                           f"read stays {found.unread[eight]:.0f} N off: to know every spoke, read every spoke")
        axes = figure.subplots(gridspec_kw={"left": 0.09, "right": 0.78, "bottom": 0.12, "top": top})
        axes.axhline(float(rounded(found.scatter, 2)), color=LIMIT, lw=1.2, ls="dashed")
        for values, style in ((found.unread, SECOND), (found.read, FIRST)):
            there = np.isfinite(values)
            axes.plot(np.array(COUNTS)[there], rounded(values[there], 2), color=style.colour, ls=style.line, lw=1.6,
                      marker=style.marker, ms=6.5, mfc=style.face, mec=style.colour, mew=1.2)
        axes.plot(COUNTS, rounded(found.mean, 2), color=FAINT, lw=1.8, ls="dashdot", marker="s", ms=5.5)
        for y, words, colour in ((found.scatter, "how far spokes stray\nfrom their mean", LIMIT),
                                 (found.read[-1] + 3, "a spoke that is read", FIRST.colour),
                                 (found.mean[-1], "the mean of all", FAINT)):
            axes.text(1.012, y, words, transform=axes.get_yaxis_transform(), color=colour, fontsize=SMALL, va="center")
        axes.annotate("a spoke not read", (COUNTS[5], float(rounded(found.unread[5], 2))), (8, 4),
                      textcoords="offset points", color=SECOND.colour, fontsize=SMALL, va="center")
        axes.set_ylim(0, 140)
        axes.grid(axis="y", color="#e4e4e4", lw=0.6)
        axes.xaxis.set_major_locator(FixedLocator(COUNTS))
        axes.set_xlabel("spokes read with the meter, of 36")
        axes.set_ylabel("error of a tension, root mean square [N]")
    return figure


if __name__ == "__main__":
    save(draw(run()), FIGURE)
    print(FIGURE)
