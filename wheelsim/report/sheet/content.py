"""What a job sheet says, whatever it is written on."""

from dataclasses import dataclass

import numpy as np

from wheelsim.estimation.known import Known
from wheelsim.job.job import Pass
from wheelsim.measures.view import View
from wheelsim.planning.plan_result import Plan
from wheelsim.report.sheet.picture import Mark, picture
from wheelsim.report.terminal.plan import CAUTIONS, gap_words
from wheelsim.stand.assess import EYE_CHECKS, Assessment
from wheelsim.units import MM, turns_text
from wheelsim.wheel.limits import Limits
from wheelsim.wheel.parts import SIDES, Wheel

VERDICTS = {"within": "Within its limits", "outside": "Outside its limits", "unknown": "Can't tell: read more"}


@dataclass(frozen=True)
class Box:
    """One nipple to tick off: its spoke, its flange and its turn, in words; None where it is left alone."""

    spoke: int
    side: str
    turn: str | None


@dataclass(frozen=True)
class SheetPass:
    """One pass: what to do, what then shows, and a box a nipple where they are named one by one."""

    number: int
    what: str
    then: str
    settle: bool
    boxes: tuple[Box, ...] = ()
    made: str | None = None


@dataclass(frozen=True)
class Sheet:
    """A job sheet. Pairs are (what, value); ``history`` is a table with its head first."""

    title: str
    status: str
    wheel: tuple[tuple[str, str], ...]
    limits: tuple[tuple[str, str], ...]
    found: tuple[tuple[str, str], ...]
    verdict: str
    why: str
    passes: tuple[SheetPass, ...]
    then: tuple[tuple[str, str], ...]
    history: tuple[tuple[str, ...], ...]
    picture: tuple[Mark, ...]
    picture_says: str
    checks: tuple[str, ...]
    cautions: tuple[str, ...]
    source: str


def sheet_of(told: Known, plan: Plan, seen: Assessment) -> Sheet:
    """The sheet of a job, with its plan and its assessment as they are now.

    Passes that were made stand in it as made; those of the plan, or those kept in the job, are still to be done.
    """
    job, wheel = told.job, told.job.wheel
    made = [one for one in job.passes if one.turns is not None]
    finished = bool(made) and seen.verdict == "within" and not plan.passes
    ahead = plan.after if plan.passes else None
    return Sheet(
        title=wheel.name, status="Record" if finished else "After " + _passes(len(made)) if made else "Instruction",
        wheel=_wheel(wheel), limits=_limits(wheel, job.work.target_dish),
        found=() if plan.before is None else _values(plan.before),
        verdict=VERDICTS[seen.verdict], why=plan.verdict.why,
        passes=(*(_made(wheel, one) for one in made), *_to_do(wheel, plan, len(made))),
        then=() if ahead is None else _values(ahead), history=_history(seen),
        picture=() if plan.before is None else picture(plan.before, ahead, plan.turns, wheel.limits.max_tension),
        picture_says="" if plan.before is None else
        "Rim laid out flat, valve to valve. Top: sideways position, thin as found, thick as planned, limits dashed. "
        "Below: tension of each spoke, filled right, open left; dashed the highest allowed.",
        checks=EYE_CHECKS, cautions=tuple(CAUTIONS), source=job.source)


def _passes(count: int) -> str:
    return f"{count} pass" + ("es" if count > 1 else "")


def _wheel(wheel: Wheel) -> tuple[tuple[str, str], ...]:
    crosses = " / ".join(str(one) for one in dict.fromkeys((wheel.spokes.right.cross, wheel.spokes.left.cross)))
    return (("Spokes", f"{wheel.n}, {crosses} cross"), ("Rim", wheel.rim.kind or "own stiffness figures"),
            ("Usual tension", f"{wheel.tension_side} {wheel.tension:.0f} N"))


def _limits(wheel: Wheel, target: float) -> tuple[tuple[str, str], ...]:
    limits, default = wheel.limits, Limits()

    def of(name: str, text: str) -> str:
        own = getattr(limits, name) != getattr(default, name)
        return text + (" (wheel file)" if own else " (usual in a shop, or wheel file)")

    low = limits.min_tension if isinstance(limits.min_tension, str) else f"{limits.min_tension:.0f} N"
    return (("Highest tension", of("max_tension", f"{limits.max_tension:.0f} N")),
            ("Lowest tension", of("min_tension", low)),
            ("Gap", of("gap", f"{limits.gap / MM:.1f} mm")
             + (f", target dish {target / MM:+.1f} mm" if target else "")),
            ("True / round", of("lateral_runout",
                                f"{limits.lateral_runout / MM:.1f} / {limits.radial_runout / MM:.1f} mm")),
            ("Spread of a side", of("side_spread", f"{100 * limits.side_spread:.0f} %")))


def _values(seen: View) -> tuple[tuple[str, str], ...]:
    return (("Gap", gap_words(seen)), ("True", f"{seen.true / MM:.2f} mm"), ("Round", f"{seen.round / MM:.2f} mm"),
            ("Right, left mean", f"{seen.mean['right']:.0f} N, {seen.mean['left']:.0f} N"),
            ("Highest, lowest", f"{seen.highest:.0f} N, {seen.lowest:.0f} N"))


def _to_do(wheel: Wheel, plan: Plan, made: int) -> tuple[SheetPass, ...]:
    out = []
    for one in plan.passes:
        then = (f"Then gap {gap_words(one.after)}, true {one.after.true / MM:.2f} mm, {one.side} "
                f"{one.after.mean[one.side]:.0f} N; highest on the way {one.peak_tension:.0f} N")
        whole = len(np.unique(one.turns[wheel.pulling(one.side)])) == 1
        out.append(SheetPass(made + one.number, one.what, then, one.then is not None,
                             () if whole else _boxes(wheel, one.turns)))
    return tuple(out)


def _boxes(wheel: Wheel, turns: np.ndarray) -> tuple[Box, ...]:
    right = set(wheel.on_side("right"))
    return tuple(Box(i + 1, "R" if i in right else "L", None if turn == 0 else turns_text(float(turn), signed=True))
                 for i, turn in enumerate(turns))


def _made(wheel: Wheel, one: Pass) -> SheetPass:
    turns = dict(one.made)
    words = []
    for side in SIDES:
        mine = {i + 1 for i in wheel.pulling(side)}
        amounts = {turns.get(spoke, 0.0) for spoke in mine}
        if len(amounts) == 1 and amounts != {0.0}:
            words.append(f"{side} flange, every spoke {turns_text(amounts.pop(), signed=True)}")
        else:
            words += [f"spoke {spoke} {turns_text(turns[spoke], signed=True)}" for spoke in sorted(mine & set(turns))]
    return SheetPass(one.number, "; ".join(words) or "nothing turned", "", False, made="made")


def _history(seen: Assessment) -> tuple[tuple[str, ...], ...]:
    if len(seen.readings) < 2:
        return ()
    rows: list[tuple[str, ...]] = [("reading", "after pass", "gap, mm", "predicted", "true, mm", "highest, N")]
    for one in seen.readings:
        values = one.as_dict()

        def cell(key: str, digits: int, values: dict[str, str | float | None] = values) -> str:
            value = values.get(key)
            return "-" if not isinstance(value, float | int) else f"{value:.{digits}f}"

        rows.append((one.label or "-", str(one.after_pass or "-"), cell("gauge_gap_mm", 2),
                     cell("predicted_gap_mm", 2), cell("lateral_runout_mm", 2), cell("highest_N", 0)))
    return tuple(rows)


