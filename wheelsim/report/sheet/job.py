"""The job sheet: before the work the instruction, after it the record."""

from collections.abc import Iterator, Set
from pathlib import PurePath

from wheelsim.job.job import Job
from wheelsim.measures.bounds import resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.mechanics.structure import Unstable
from wheelsim.planning.passes import PlannedPass
from wheelsim.planning.plan_result import Plan
from wheelsim.report.sheet.blocks import (
    Block,
    Document,
    Fields,
    Heading,
    Paper,
    Paragraph,
    Picture,
    Table,
    TickList,
)
from wheelsim.report.sheet.steps import kept_passes, made_blocks, made_turns, planned_end, steps, waiting
from wheelsim.report.sheet.strip import Shown, rim_strip
from wheelsim.report.terminal.assess import STATUS_WORDS
from wheelsim.report.terminal.plan import CAUTIONS, gap_words
from wheelsim.stand.assess import EYE_CHECKS, Assessment, Check
from wheelsim.units import MM
from wheelsim.wheel.parts import SIDES, Wheel

FOOT = "Advice to a trained mechanic, who answers for the wheel."
VERDICTS = {"within": "Within its limits.", "outside": "Outside its limits.",
            "unknown": "Can't tell: what was read is not enough, or too near a limit."}


def done(job: Job, found: Assessment) -> bool:
    """Whether the work is over: passes were made, none waits, and the wheel is within its limits."""
    return bool(_made(job)) and not waiting(job) and found.verdict == "within"


def _made(job: Job) -> bool:
    return any(one.turns is not None for one in job.passes)


def job_sheet(job: Job, found: Assessment, plan: Plan | None, paper: Paper,
              written: Set[str] | None = None) -> Document:
    """The sheet of a job.

    Parameters
    ----------
    job : Job
    found : Assessment
        Of the job.
    plan : Plan or None
        Of the job; None where the work is over, or where its own planned passes stand in the job.
    paper : Paper
    written : set of str, optional
        Limits, by the names of ``Quantity``, that the file itself states; None: not known.
    """
    record = _made(job)
    kind = "record" if done(job, found) else "record so far, and instruction" if record else "instruction"
    label = f", {found.label}" if found.label else ""
    source = PurePath(job.source).name if job.source.endswith(".toml") and ":" not in job.source else job.source
    return Document(f"Job sheet: {job.wheel.name}", f"{kind.capitalize()}{label}. From {source}.",
                    tuple(_blocks(job, found, plan, paper, written)), paper, FOOT)


def _blocks(job: Job, found: Assessment, plan: Plan | None, paper: Paper,
            written: Set[str] | None) -> Iterator[Block]:
    finished = done(job, found)
    yield Heading("The wheel")
    yield TickList(tuple(_wheel_lines(job)), squares=False)
    if not finished:
        yield Heading("Before any number, by eye and hand")
        yield TickList(EYE_CHECKS)
    yield Heading("Verdict")
    yield Paragraph(VERDICTS[found.verdict] if finished or plan is None else plan.verdict.why, bold=True)
    for doubt in found.suspects:
        yield Paragraph(f"In doubt, read again before anything is turned: {doubt}")
    yield Heading("Limits and readings")
    yield _readings_table(job, found)
    yield Paragraph(_limits_from(job.wheel, written))
    if found.assumed:
        yield Paragraph("Taken, not read: " + "; ".join(found.assumed) + ".")
    if _made(job):
        yield Heading("What was done")
        yield from made_blocks(job)
        if len(found.readings) > 1:
            yield _each_reading(found)
    todo = () if finished or found.view is None else _todo(job, found.view, plan)
    yield from _picture(job, found, todo, paper)
    if todo:
        yield Heading("Passes: keep their order, and within each go from the valve round")
        if plan is not None:
            yield from (Paragraph(f"First: {line}") for line in plan.first)
        yield from steps(todo, paper.inner)
    if plan is not None and not finished:
        yield from (Paragraph(f"Advice: {line}.") for line in plan.advice)
    yield Heading("Cautions")
    yield TickList(CAUTIONS, squares=False)
    yield Heading("Handed over")
    yield TickList(("Read again after the last turn, and within the limits above.",))
    yield Fields(("Date", "Name", "Signature"))


def _todo(job: Job, now: View, plan: Plan | None) -> tuple[PlannedPass, ...]:
    if waiting(job):
        try:
            return kept_passes(job, now)
        except Unstable:
            return ()
    return () if plan is None else plan.passes


def _wheel_lines(job: Job) -> Iterator[str]:
    wheel = job.wheel
    crosses = [wheel.spokes.right.cross, wheel.spokes.left.cross]
    crossed = f"{crosses[0]} cross" if crosses[0] == crosses[1] else f"{crosses[0]} cross right, {crosses[1]} left"
    missing = f"; missing: spoke {', '.join(map(str, sorted(wheel.spokes.missing)))}" if wheel.spokes.missing else ""
    kind = f", {wheel.rim.kind} rim" if wheel.rim.kind else ""
    yield (f"{wheel.n} spokes, {crossed}{kind}; usual tension {wheel.tension_side} {wheel.tension:.0f} N{missing}. "
           "Spoke 1 is the first after the valve, clockwise seen from the right, the rider's right.")
    hub = wheel.hub
    yield (f"Hub {hub.contact_width / MM:.1f} mm between contact faces; flanges {hub.right.offset / MM:.1f} mm right and "
           f"{hub.left.offset / MM:.1f} mm left of its middle.")
    work = job.work
    for words, numbers in (("Stuck, never to be forced", work.stuck), ("To be left alone", work.leave)):
        if numbers:
            yield f"{words}: spoke {', '.join(map(str, sorted(numbers)))}."
    if work.target_dish:
        side = "right" if work.target_dish > 0 else "left"
        yield f"The frame wants the rim {abs(work.target_dish) / MM:.2f} mm {side} of the hub's middle."


def _limit_words(quantity: Quantity, value: float) -> str:
    digits = {"mm": 2, "N": 0, "%": 0}[quantity.unit]
    least = "at least " if quantity is Quantity.LOWEST else ""
    return f"{least}{value * quantity.per_si:.{digits}f} {quantity.unit}"


def _readings_table(job: Job, found: Assessment) -> Table:
    """Each limit with what was found; where passes were made, also with what came in."""
    limits, aims = resolved(job.wheel), resolved(job.wheel, aims=True)
    record = _made(job) and len(found.readings) > 1
    first = found.readings[0].view if record else None
    head = ("", "accepted", "as received" if record else "aim", "as read" if job.readings else "taken as", "")
    rows, bold = [], set()
    for check in found.checks:
        quantity = _quantity(check)
        if quantity is None:
            continue
        middle = _limit_words(quantity, aims.of(quantity)) if not record else (
            "-" if first is None else _seen(check, quantity, first))
        spoke = f" (spoke {check.spoke})" if check.spoke is not None else ""
        value = _value(check, quantity) if check.read or found.view is None else f"{_value(check, quantity)}, not read"
        if quantity is Quantity.GAP and found.view is not None and check.read:
            value = gap_words(found.view)
        if check.status == "outside":
            bold.add(len(rows))
        rows.append((check.name + spoke, _limit_words(quantity, limits.of(quantity)), middle, value,
                     STATUS_WORDS[check.status]))
    rows += _means(found, first, record)
    return Table(head, tuple(rows), frozenset(bold))


def _means(found: Assessment, first: View | None, record: bool) -> Iterator[tuple[str, ...]]:
    """The sides' mean tensions beside what they should usually carry."""
    for side in found.usual:
        middle = "" if not record else "-" if first is None else f"{first.mean[side.side]:.0f} N"
        yield (f"{side.side} mean", f"usual {side.usual:.0f} N", middle,
               f"{side.mean:.0f} N" + ("" if side.read else ", not read"), f"{100 * side.off:+.0f} %")


def _quantity(check: Check) -> Quantity | None:
    """The quantity of a check, or None for those beside the file's limits."""
    if check.name.startswith("spread"):
        return Quantity.SPREAD
    return next((one for one in Quantity if one.trade == check.name), None)


def _value(check: Check, quantity: Quantity) -> str:
    digits = {"mm": 2, "N": 0, "%": 1}[quantity.unit]
    return f"{check.value:.{digits}f} {check.unit}"


def _seen(check: Check, quantity: Quantity, first: View) -> str:
    """The same quantity of the wheel as it came in."""
    if quantity is Quantity.GAP:
        return gap_words(first)
    value = first.values[quantity]
    if quantity is Quantity.SPREAD:
        value = next(first.spread[side] for side in SIDES if check.name.endswith(side))
    digits = {"mm": 2, "N": 0, "%": 1}[quantity.unit]
    return f"{value * quantity.per_si:.{digits}f} {quantity.unit}"


def _limits_from(wheel: Wheel, written: Set[str] | None) -> str:
    """Where the limits come from."""
    own = "The lower of the rim maker's and the spoke maker's tension limit comes first."
    if written is None:
        return f"Limits: those of the wheel as it was made. {own}"
    asked = [one for one in Quantity if one is not Quantity.OFF_USUAL]
    absent = [one.trade for one in asked if one.value not in written]
    if not absent:
        return f"Limits: all as written in the wheel's file. {own}"
    if len(absent) == len(asked):
        return f"Limits: none is written in the wheel's file; these are usual ones. {own}"
    return f"Limits: as written in the wheel's file; not written, so usual ones: {', '.join(absent)}. {own}"


def _each_reading(found: Assessment) -> Table:
    rows = []
    for one in found.readings:
        seen = one.view
        cells = ("-",) * 5 if seen is None else tuple(
            text if one.read[name] else "-" for name, text in (
                (Quantity.GAP, gap_words(seen)), (Quantity.TRUE, f"{seen.true / MM:.2f} mm"),
                (Quantity.ROUND, f"{seen.round / MM:.2f} mm"), (Quantity.HIGHEST, f"{seen.mean['right']:.0f} N"),
                (Quantity.HIGHEST, f"{seen.mean['left']:.0f} N")))
        rows.append((one.label or "reading", *cells))
    return Table(("each reading", "gap", "true", "round", "right mean", "left mean"), tuple(rows))


def _picture(job: Job, found: Assessment, todo: tuple[PlannedPass, ...], paper: Paper) -> Iterator[Block]:
    """The rim laid out flat: as received, planned, as read."""
    if found.view is None:
        return
    yield Heading("The rim laid out flat")
    if todo:
        turns = sum((one.turns for one in todo[1:]), todo[0].turns)
        before = "read" if _made(job) else "received"
        yield Picture(rim_strip((Shown(before, found.view), Shown("planned", todo[-1].after)), turns, paper.inner))
        return
    shown = [Shown("read", found.view)]
    turns = None
    if _made(job):
        received = found.readings[0].view if len(found.readings) > 1 else None
        if received is not None:
            planned = planned_end(job, received)
            shown[:0] = [Shown("received", received)] + ([] if planned is None else [Shown("planned", planned[0])])
        turns = made_turns(job)
    yield Picture(rim_strip(shown, turns, paper.inner))
