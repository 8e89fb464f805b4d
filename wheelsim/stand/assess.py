"""Is the wheel within its limits, how surely, and what would a quarter turn of each side do?"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from wheelsim.estimation.certainty import drawn_quantities, standard_deviations, was_read
from wheelsim.estimation.estimate import estimate
from wheelsim.estimation.known import known
from wheelsim.measures.bounds import from_load, resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import Stands, View, view
from wheelsim.mechanics.loads import first_slack
from wheelsim.mechanics.stability import PRACTICAL_SHARE, buckling
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.sides import quarters_of_sides
from wheelsim.readings.errors import METER_SCATTER
from wheelsim.readings.gauge import saddle_error
from wheelsim.threads import one_thread
from wheelsim.units import MM, QUARTER, number_list, rounded
from wheelsim.wheel.parts import SIDES

CHECK_DRAWS = 4000  # wheels that the readings allow
EYE_CHECKS = (
    "cracks at spoke holes, rim bed, flanges or hub shell: any crack means stop, this wheel is not trued",
    "brake track not worn past its mark",
    "end caps on, axle straight, no play in the bearings: the gauge stands on them",
    "no nipple seized or rounded; no spoke bent or nicked",
    "tyre off, or written down as inflated",
)


@dataclass(frozen=True)
class Check:
    """One line of the verdict, in the unit of the bench.

    ``value`` is that of the wheel that fits the readings best and ``margin`` how far inside the limit it
    lies, negative outside; ``likely`` and ``sd`` are mean and standard deviation over all wheels that the
    readings allow, and ``sure`` the share of those that lie within; ``status`` is "within", "outside" or
    "unknown" (can't tell); ``spoke`` where it is; ``read`` False where the reading says nothing of it directly.
    """

    name: str
    spoke: int | None
    value: float
    limit: float
    unit: str
    margin: float
    sd: float
    status: str
    read: bool
    likely: float
    sure: float

    def as_dict(self):
        """The line as JSON writes it; values, limit, margin and sd in ``unit``."""
        return vars(self).copy()


@dataclass(frozen=True, eq=False)
class QuarterTurn:
    """What a quarter turn of a whole side would do: change of dish [m] and of the sides' means [N]."""

    side: str
    verb: str
    dish: float
    right: float
    left: float

    def as_dict(self):
        return {"side": self.side, "action": self.verb, "dish_mm": rounded(self.dish / MM, 6),
                "right_N": rounded(self.right, 3), "left_N": rounded(self.left, 3)}


@dataclass(frozen=True, eq=False)
class Once:
    """The wheel as one of several readings found it: ``view`` is None where no stable wheel explains it."""

    label: str
    view: View | None
    read: dict

    def as_dict(self):
        seen = self.view
        values = {} if seen is None else {
            "gauge_gap_mm": ("gap", seen.gap / MM, 6), "lateral_runout_mm": ("lateral_runout", seen.true / MM, 6),
            "radial_runout_mm": ("radial_runout", seen.round / MM, 6),
            "right_N": ("max_tension", seen.mean["right"], 3), "left_N": ("max_tension", seen.mean["left"], 3)}
        return {"label": self.label, **{key: rounded(value, digits) if self.read[name] else None
                                        for key, (name, value, digits) in values.items()}}


@dataclass(frozen=True)
class AgainstUsual:
    """A side's mean tension against what it should usually carry; ``read`` False where it was taken, not read. [N]"""

    side: str
    mean: float
    usual: float
    read: bool

    @property
    def off(self):
        """Departure from the usual, as a fraction of it, minus below."""
        return self.mean / self.usual - 1 if self.usual > 0 else 0.0

    def as_dict(self):
        return {"side": self.side, "mean_N": rounded(self.mean, 3), "usual_N": rounded(self.usual, 3),
                "percent": rounded(100 * self.off, 3), "read": self.read}


@dataclass(frozen=True, eq=False)
class Assessment:
    """A wheel against its limits.

    ``verdict`` is "outside" if any check is, or no stable wheel explains what was read (``view`` is then
    None); else "unknown" if any can't tell, else "within". ``readings`` are all of the job's, in time order.
    """

    wheel: str
    label: str
    verdict: str
    checks: tuple[Check, ...]
    view: View
    quarter_turns: tuple[QuarterTurn, ...]
    assumed: tuple[str, ...]
    suspects: tuple[str, ...]
    advice: tuple[str, ...]
    readings: tuple[Once, ...] = ()
    usual: tuple[AgainstUsual, ...] = ()

    def as_dict(self):
        return {"format": 1, "wheel": self.wheel, "verdict": self.verdict,
                "checks": [check.as_dict() for check in self.checks],
                "state": None if self.view is None else self.view.as_dict(),
                "quarter_turns": [one.as_dict() for one in self.quarter_turns],
                "assumed": list(self.assumed), "suspects": list(self.suspects), "advice": list(self.advice),
                "readings": [one.as_dict() for one in self.readings],
                "usual": [one.as_dict() for one in self.usual]}


@one_thread
def assess(subject):
    """Assess a wheel from its last reading.

    Parameters
    ----------
    subject : Wheel or Job
        A wheel alone is true and centred at its nominal tension.

    Returns
    -------
    Assessment

    Notes
    -----
    A check is within when as many of the wheels that the readings allow are, as lie on one side of the job's
    margin of standard deviations (default 1: 84 of 100); outside when as many are; else it can't be told.
    What was never read can't be told.
    """
    told = known(subject)
    job = told.job
    label = job.last.label if job.last else ""
    try:
        found = told.found
    except Unstable as error:
        return Assessment(job.wheel.name, label, "outside", (), None, (), (), (), (f"no stable answer: {error}",),
                          _readings(job, None))
    seen = view(found.state, job.work.target_dish)
    checks = _checks(job, found, seen)
    statuses = {check.status for check in checks}
    verdict = next((word for word in ("outside", "unknown") if word in statuses), "within")
    return Assessment(job.wheel.name, label, verdict, checks, seen, _quarter_turns(found.state),
                      (*found.assumed, *_read_before(job)), told.doubts, _advice(job, found, seen),
                      _readings(job, seen), tuple(
                          AgainstUsual(side, seen.mean[side], seen.usual[side],
                                       was_read(job.wheel, job.last)[Quantity.HIGHEST]) for side in SIDES))


def _readings(job, last):
    """Every reading of a job with the wheel as it found it."""
    out = []
    for reading in job.readings[:-1]:
        try:
            seen = view(estimate(job.wheel, reading).state, job.work.target_dish)
        except Unstable:
            seen = None
        out.append(Once(reading.label, seen, was_read(job.wheel, reading)))
    if job.readings:
        out.append(Once(job.last.label, last, was_read(job.wheel, job.last)))
    return tuple(out)


def _read_before(job):
    """What an earlier reading had and the last has not: the wheel has been turned since, so it is not used."""
    names = {"gauge": "gauge", "lateral": "lateral dial", "radial": "radial dial", "tension": "tensions"}
    gone = [words for name, words in names.items()
            if any(getattr(one, name) for one in job.readings[:-1]) and not getattr(job.last, name)]
    if not gone:
        return ()
    return (f"{', '.join(gone)} of an earlier reading: only the last [[reading]] counts, for turns change everything; "
            "read again",)


def _checks(job, found, seen):
    wheel, limits = job.wheel, resolved(job.wheel)
    reading, target = job.last, job.work.target_dish
    drawn = drawn_quantities(wheel, found, target, count=CHECK_DRAWS)
    sd_of = standard_deviations(wheel, found)
    state = seen.state
    there = np.concatenate([wheel.pulling(side) for side in SIDES])
    high = int(state.tension.argmax()) + 1
    low = int(there[state.tension[there].argmin()]) + 1
    read = was_read(wheel, reading)
    # As rare as a normal error of so many standard deviations on one side.
    doubt = NormalDist().cdf(-job.work.margin)
    value = seen.values
    out = []

    def add(name, key, amount, limit, of, read, spoke=None):
        unit, scale = Quantity(key).unit, Quantity(key).per_si
        sign = -1.0 if key == "min_tension" else 1.0
        # Highest, run-out and spread of what is little known lie beyond those of the likeliest wheel: counted, not
        # reckoned from the standard deviation.
        sure = float(np.mean(sign * drawn[of] <= sign * limit + 1e-9 * abs(limit)))
        status = "unknown" if not read else "within" if sure >= 1 - doubt else "outside" if sure <= doubt else "unknown"
        digits = 1 if unit == "N" else 3
        out.append(Check(name, spoke, rounded(amount * scale, digits), rounded(limit * scale, digits), unit,
                         rounded(sign * (limit - amount) * scale, digits), rounded(sd_of[of] * scale, digits), status,
                         read, rounded(drawn[of].mean() * scale, digits), rounded(sure, 3)))

    for key in ("gap", "lateral_runout", "radial_runout", "max_tension", "min_tension"):
        spoke = {"max_tension": high, "min_tension": low}.get(key)
        add(Quantity(key).trade, key, value[key], getattr(limits, key), key, read[key], spoke)
    for side in SIDES:
        mine = wheel.pulling(side)
        worst = int(mine[np.abs(state.tension[mine] - seen.mean[side]).argmax()]) + 1
        add(f"spread {side}", "side_spread", seen.spread[side], limits.side_spread, side, read[side], worst)
    add("right mean against half of buckling", "max_tension", seen.mean["right"],
        PRACTICAL_SHARE * buckling(wheel).tension, "right mean", read["max_tension"])
    return tuple(out)


def _quarter_turns(state):
    influence, wheel = state.influence, state.wheel
    out = []
    for side in SIDES:
        for verb, sign in (("tighten", 1.0), ("loosen", -1.0)):
            turns = np.zeros(wheel.n)
            turns[wheel.pulling(side)] = sign * QUARTER
            change = influence.tension @ turns
            out.append(QuarterTurn(side, verb, float((influence.lateral @ turns).mean()),
                                   *(float(change[wheel.pulling(one)].mean()) for one in SIDES)))
    return tuple(out)


def _advice(job, found, seen):
    wheel, reading = job.wheel, job.last
    out = []
    target = job.work.target_dish
    off = seen.dish - target
    gauged = reading is None or reading.gauge is not None
    # The bounds a plan strives for, with the same margin kept.
    aims = resolved(wheel, aims=True).tighter_of(resolved(wheel))
    read = was_read(wheel, reading)
    sd = {name: value for name, value in standard_deviations(wheel, found).items() if read.get(name)}
    moves = _by_sides(seen, aims.tightened(sd, job.work.margin))
    # A side named wrongly sends the mechanic the wrong way: below its own deviation it is not named.
    if gauged and abs(off) < found.dish_sd and abs(off) > 0.05e-3:
        out.append(f"which side the rim lies can't be told: its offset is known to {found.dish_sd / MM:.2f} mm only")
    elif gauged and abs(off) > 0.05e-3:
        lies, move = ("right", "left") if off > 0 else ("left", "right")
        off_target = f" of where it should be (target dish {target / MM:+.2f} mm, plus right)" if target else ""
        out.append(f"the rim lies {abs(off) / MM:.2f} mm {lies}{off_target}; it must move {move}"
                   + (f"; {moves}" if moves else ""))
    elif gauged and moves:
        out.append(moves)
    one, averaged = saddle_error(wheel.rim.hole_angles, seen.state.lateral)
    limit = resolved(wheel).gap
    if one > 0.2 * limit and reading is not None and reading.gauge is not None:
        out.append(f"the rim is out of true: a gauge reading may be off by {one / MM:.2f} mm for it. True first, or "
                   "set and read at the same place, then a quarter round, and take the mean "
                   f"({averaged / MM:.2f} mm off at most)")
    if reading is not None:
        nearest = _next_reading(wheel, reading, found)
        if nearest:
            out.append(nearest)
    if "from load" in (wheel.limits.min_tension, wheel.striving.min_tension):
        out.append(from_load(wheel).words)
    if wheel.load is not None and wheel.load.lateral is not None:
        tension = found.state.tension
        load, spoke, _ = min(first_slack(wheel, side, tension) for side in SIDES)
        out.append(f"from the side, spoke {spoke} is the first to go slack, at {load:.0f} N "
                   f"(stated side load {wheel.load.lateral:.0f} N; not a limit)")
    return tuple(out)


def _by_sides(seen, aims):
    """Tighten or loosen, which sides, decided as a plan by whole sides decides it; None where neither is called for."""
    turns = quarters_of_sides(seen, aims)
    moves = [f"{'tighten' if turn > 0 else 'loosen'} {side}" for side, turn in turns.items() if turn]
    stands = {Stands.SLACK: "the wheel is slack", Stands.TIGHT: "the wheel is tight",
              Stands.ABOUT_RIGHT: "its tension is about right"}[seen.stands(aims.off_usual)]
    if not moves:
        return None
    alike = len(moves) == 2 and turns["right"] == turns["left"]
    what = f"{moves[0].split()[0]} both sides evenly, a quarter a round" if alike else ", then ".join(sorted(moves))
    return f"{stands}: {what}"


def _next_reading(wheel, reading, found):
    """The reading that would tell most: a missing gauge or dial, else the spokes that leave least unknown."""
    read = was_read(wheel, reading)
    if not read["gap"]:
        return "next, read the gauge: nothing else tells the dish"
    if not read["lateral_runout"]:
        return "next, read the lateral dial at each spoke: it tells true, and uneven tension with it"
    done = {spoke for spoke, _ in reading.tension}
    unread = [i for side in SIDES for i in wheel.pulling(side) if i + 1 not in done]
    if not unread:
        return None if read["radial_runout"] else "next, read the radial dial at each spoke"
    covariance = found.tension_root @ found.tension_root.T
    chosen = []
    for _ in unread[:3]:
        # What reading one spoke takes from the variance of all.
        noise = (METER_SCATTER * np.maximum(found.state.tension, 100.0)) ** 2
        gain = np.sum(covariance**2, axis=0) / (np.diag(covariance) + noise)
        best = max((i for i in unread if i not in chosen), key=lambda i: gain[i])
        chosen.append(best)
        covariance = covariance - np.outer(covariance[best], covariance[best]) / (covariance[best, best] + noise[best])
    was, now = np.sqrt(np.mean(found.tension_sd**2)), np.sqrt(np.mean(np.diag(covariance)))
    return (f"next, read the tension of spoke{'s' * (len(chosen) > 1)} {number_list(i + 1 for i in chosen)}: spokes "
            f"are known to {was:.0f} N on average, then to {now:.0f} N")
