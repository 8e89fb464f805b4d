"""Is the wheel within its limits, how surely, and what would a quarter turn of each side do?"""

from dataclasses import dataclass

import numpy as np

from wheelsim.mechanics.loads import first_slack
from wheelsim.mechanics.stability import PRACTICAL_SHARE, buckling
from wheelsim.readings.estimate import estimate
from wheelsim.readings.gauge import saddle_error
from wheelsim.readings.suspects import suspects
from wheelsim.truing.bounds import QUANTITIES, from_load, resolved
from wheelsim.truing.certainty import standard_deviations, was_read
from wheelsim.truing.predict import as_job
from wheelsim.truing.view import View, pulling, rounded, view
from wheelsim.units import MM, QUARTER, number_list
from wheelsim.wheel.parts import SIDES

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

    ``margin`` is how far inside the limit, negative outside; ``status`` "within", "outside" or
    "unknown" (can't tell); ``sd`` the standard deviation of the value; ``spoke`` where it is; ``read``
    False where the reading says nothing of it directly.
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

    def as_dict(self):
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
class Assessment:
    """A wheel against its limits.

    ``verdict`` is "outside" if any check is, else "unknown" if any can't tell, else "within".
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

    def as_dict(self):
        return {"format": 1, "wheel": self.wheel, "verdict": self.verdict,
                "checks": [check.as_dict() for check in self.checks], "state": self.view.as_dict(),
                "quarter_turns": [one.as_dict() for one in self.quarter_turns],
                "assumed": list(self.assumed), "suspects": list(self.suspects), "advice": list(self.advice)}


def assess(subject):
    """Assess a wheel from its last reading.

    Parameters
    ----------
    subject : Wheel or Job
        A wheel alone is true and centred at its nominal tension.

    Returns
    -------
    Assessment

    Raises
    ------
    Unstable
        When no stable wheel explains the reading.

    Notes
    -----
    A value is within when it lies inside its limit by the job's margin of standard deviations (default
    1), outside when it lies beyond by as many, and else can't be told. What was never read can't be told.
    """
    job = as_job(subject)
    found = estimate(job.wheel, job.last)
    seen = view(found.state)
    checks = _checks(job, found, seen)
    statuses = {check.status for check in checks}
    verdict = next((word for word in ("outside", "unknown") if word in statuses), "within")
    doubts = () if job.last is None else suspects(job.wheel, job.last, found)
    return Assessment(job.wheel.name, job.last.label if job.last else "", verdict, checks, seen,
                      _quarter_turns(found.state), found.assumed, doubts, _advice(job, found, seen))


def _checks(job, found, seen):
    wheel, limits = job.wheel, resolved(job.wheel)
    reading, target = job.last, job.work.target_dish
    sd_of = standard_deviations(wheel, found)
    state = seen.state
    there = np.concatenate([pulling(wheel, side) for side in SIDES])
    high = int(state.tension.argmax()) + 1
    low = int(there[state.tension[there].argmin()]) + 1
    sure = was_read(reading)
    value = {"gap": abs(2 * (seen.dish - target)), "lateral_runout": seen.true, "radial_runout": seen.round,
             "max_tension": seen.highest, "min_tension": seen.lowest}
    out = []

    def add(name, key, amount, limit, sd, read, spoke=None):
        _, unit, scale = QUANTITIES[key]
        margin = (amount - limit if key == "min_tension" else limit - amount) * scale
        sd = sd * scale
        keep = job.work.margin * sd
        status = "outside" if margin < -keep else "within" if margin >= keep and read else "unknown"
        digits = 1 if unit == "N" else 3
        out.append(Check(name, spoke, rounded(amount * scale, digits), rounded(limit * scale, digits), unit,
                         rounded(margin, digits), rounded(sd, digits), status, read))

    for key in ("gap", "lateral_runout", "radial_runout", "max_tension", "min_tension"):
        spoke = {"max_tension": high, "min_tension": low}.get(key)
        add(QUANTITIES[key][0], key, value[key], getattr(limits, key), sd_of[key], sure[key], spoke)
    for side in SIDES:
        mine = pulling(wheel, side)
        worst = int(mine[np.abs(state.tension[mine] - seen.mean[side]).argmax()]) + 1
        add(f"spread {side}", "side_spread", seen.spread[side], limits.side_spread, sd_of[side], sure["side_spread"],
            worst)
    add("right mean against half of buckling", "max_tension", seen.mean["right"],
        PRACTICAL_SHARE * buckling(wheel).tension, sd_of["right mean"], sure["side_spread"])
    return tuple(out)


def _quarter_turns(state):
    influence, wheel = state.influence, state.wheel
    out = []
    for side in SIDES:
        for verb, sign in (("tighten", 1.0), ("loosen", -1.0)):
            turns = np.zeros(wheel.n)
            turns[pulling(wheel, side)] = sign * QUARTER
            change = influence.tension @ turns
            out.append(QuarterTurn(side, verb, float((influence.lateral @ turns).mean()),
                                   *(float(change[pulling(wheel, one)].mean()) for one in SIDES)))
    return tuple(out)


def _advice(job, found, seen):
    wheel, reading = job.wheel, job.last
    out = []
    off = seen.dish - job.work.target_dish
    # A side named wrongly sends the mechanic the wrong way: below its own deviation it is not named.
    if abs(off) < found.dish_sd and abs(off) > 0.05e-3:
        out.append(f"which side the rim lies can't be told: its offset is known to {found.dish_sd / MM:.2f} mm only; "
                   "true it first, then read the gauge again")
    elif abs(off) > 0.05e-3:
        lies, move = ("right", "left") if off > 0 else ("left", "right")
        out.append(f"the rim lies {abs(off) / MM:.2f} mm {lies}; it must move {move}: tighten {move} or loosen {lies}")
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


def _next_reading(wheel, reading, found):
    """The reading that would tell most: a missing dial or gauge, else the least known spoke."""
    if reading.gauge is None:
        return "next, read the gauge: nothing else tells the dish"
    if not reading.lateral:
        return "next, read the lateral dial at each spoke: it tells true, and uneven tension with it"
    read = {spoke for spoke, _ in reading.tension}
    unread = [i for side in SIDES for i in pulling(wheel, side) if i + 1 not in read]
    if not unread:
        return None if reading.radial else "next, read the radial dial at each spoke"
    sd = found.tension_sd
    worst = sorted(unread, key=lambda i: -sd[i])[:3]
    return (f"next, read the tension of spoke{'s' * (len(worst) > 1)} {number_list(i + 1 for i in worst)}: known "
            f"to {sd[worst[0]]:.0f} N only")
