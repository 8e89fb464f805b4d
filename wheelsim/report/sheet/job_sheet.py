"""The sheet of a job: instructions before the work, a record after it."""

from collections.abc import Iterator

import numpy as np

from wheelsim.arrays import Turns
from wheelsim.estimation.assumed import AsReadBefore
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.planning.passes import PlannedPass
from wheelsim.readings.reading import Reading, SpokeTool
from wheelsim.report.sheet.blocks import (
    Block,
    Boxes,
    Card,
    Columns,
    Fill,
    Heading,
    Picture,
    Rows,
    Sheet,
    Text,
    Tick,
    Ticks,
)
from wheelsim.report.sheet.flat import Three, flat
from wheelsim.report.sheet.record import MadePass, Record
from wheelsim.report.words.estimation import SUSPECT, TOOL, assumed_words, suspect_lines
from wheelsim.report.words.measures import gap_words, limit_words
from wheelsim.report.words.passes import GAUGE_AGAIN, SPANNER, SQUEEZE, pass_words
from wheelsim.report.words.planning import CAUTIONS, first_words, plan_advice_words
from wheelsim.report.words.shared import spokes_words
from wheelsim.report.words.stand import JUDGED, NOT_ENOUGH, off_usual_words
from wheelsim.report.words.verdict import verdict_words
from wheelsim.report.words.windup import LEAST_TWIST, near_degrees
from wheelsim.stand.assessment import VisitView
from wheelsim.units import MM, turns_text
from wheelsim.wheel.parts import SIDES, Side, Wheel

# The checks by eye and hand of ``assess``, shortened.
EYE_CHECKS = ("no crack at spoke holes, rim bed, flanges or hub: else stop", "brake track not worn out",
              "axle straight, end caps on, no play", "no nipple seized or rounded, no spoke bent or nicked",
              "tyre off, or written down as inflated")


def job_sheet(told: Record) -> Sheet:
    """The sheet of a job."""
    wheel = told.wheel
    label = f", {told.job.readings[0].label}" if told.job.readings and told.job.readings[0].label else ""
    return Sheet("Job sheet: the record" if told.finished else "Job sheet",
                 f"{wheel.name}{label}. {_described(wheel)}",
                 tuple(_blocks(told)), wheel.name)


def _blocks(told: Record) -> Iterator[Block]:
    yield Heading("Cautions; first, by eye and hand")
    yield Ticks(EYE_CHECKS)
    yield Text(" \N{BULLET} ".join(CAUTIONS), "\N{BULLET}")
    yield Heading("What to do" if told.to_make else "What was found")
    for line in suspect_lines(told.assessment.suspects, told.assessment.read_first):
        head, colon, rest = line.partition(": ")
        yield Text(rest, f"{head}{colon.strip()}") if head == SUSPECT else Text(line)
    yield from _verdict(told)
    yield from _found(told)
    yield from _passes(told)
    if told.received is not None:
        three = Three(told.wheel, told.received, told.planned, told.read, told.turns)
        yield Picture(flat(three), _alt(told))
    yield Heading("Verdict")
    yield from _ending(told)


def _described(wheel: Wheel) -> str:
    """The wheel in one line, so that the user notices a wrong spoke count or flange."""
    crosses = [wheel.spokes.right.cross, wheel.spokes.left.cross]
    crossed = ("straight-pull" if None in crosses else f"{crosses[0]} cross" if crosses[0] == crosses[1] else
               f"{crosses[0]} cross right, {crosses[1]} left")
    kind = f"; rim {wheel.rim.kind}" if wheel.rim.kind else ""
    right, left = (wheel.hub.flange(side).offset / MM for side in SIDES)
    return (f"{wheel.n} spokes, {crossed}{kind}; flanges {right:.1f} mm right, {left:.1f} mm left of the middle; usual "
            f"tension {wheel.tension_side} {wheel.tension:.0f} N.")


def _verdict(told: Record) -> Iterator[Block]:
    """What to do and why; or that nothing is to be done; or what prevents a plan."""
    plan = told.plan
    if plan is not None:
        yield Text(verdict_words(plan.verdict))
        yield from (Text(line, "First:") for line in map(first_words, plan.first))
        yield from (Text(f"{line}.", "Advice:") for line in map(plan_advice_words, plan.advice))
    elif told.kept and told.to_make:
        yield Text("The passes below stand in the job as they were planned.")
        if told.missed:
            yield Text("From where the wheel stands now they no longer bring it within its limits ("
                       + ", ".join(limit_words(name) for name in told.missed) + "): plan anew.", "Stop:")
    elif told.kept:
        yield Text("No stable wheel comes of the passes that stand in the job: plan anew.", "Stop:")
    taken = told.assessment.assumed if plan is None else plan.assumed
    if taken:
        yield Text("; ".join(map(assumed_words, taken)) + ".", "Taken, not read:")


def _found(told: Record) -> Iterator[Block]:
    reading = told.job.readings[0] if told.job.readings else None
    tools = () if reading is None else (Text(_as_read(reading), "As received:"),)
    if told.received is None:
        yield from tools
        return
    columns = ["", "limit", "received", *(["planned"] if told.planned is not None else []), "read"]
    rows = []
    for words, name, side, limit in _quantities(told):
        cells: list[str | None] = [limit, _cell(told.received, name, side, told.received_once)]
        if told.planned is not None:
            cells.append(_cell(told.planned, name, side, None))
        cells.append(None if told.read is None else _cell(told.read, name, side, told.read_once))
        rows.append((words, *cells))
    yield Columns((Rows(tuple(columns), tuple(rows)),),
                  (*tools, Text(_limits_from(told)),
                   Fill((("Rim maker's limit, N", 12.0), ("spoke maker's, N", 12.0)))),
                  share=0.64)


def _as_read(reading: Reading) -> str:
    """The reading in words, in the units of the tools."""
    said = []
    gauge = reading.gauge
    if gauge is not None:
        where = {"hub": "at the hub", "feet": "at both feet", "one foot": "under one foot, the other resting"}
        gap = (f"{gauge.low / MM:.2f} mm" if gauge.low == gauge.high else
               f"{gauge.low / MM:.2f} to {gauge.high / MM:.2f} mm")
        said.append(f"gauge set on the {gauge.set_on} face, gap {gap} {where[gauge.gap_at]}")
    counts: dict[int, list[str]] = {}
    told: tuple[tuple[SpokeTool, str], ...] = (("lateral", "dial from the side"), ("radial", "dial from below"),
                                               ("tension", "tension"))
    for name, words in told:
        if reading.spokes(name):
            counts.setdefault(len(reading.spokes(name)), []).append(words)
    said += [f"{', '.join(words)} at {count} spokes" for count, words in counts.items()]
    if not said:
        return "nothing was read."
    return f"{'; '.join(said)}; tyre {reading.tyre}."


def _quantities(told: Record) -> Iterator[tuple[str, Quantity | None, Side | None, str]]:
    """(name, quantity, side, limit) of each row of the table."""
    limits = told.limits
    yield "gap, mm", Quantity.GAP, None, f"{limits.gap / MM:.2f}"
    yield "true, mm", Quantity.TRUE, None, f"{limits.lateral_runout / MM:.2f}"
    yield "round, mm", Quantity.ROUND, None, f"{limits.radial_runout / MM:.2f}"
    yield "highest, N", Quantity.HIGHEST, None, f"{limits.max_tension:.0f}"
    yield "lowest, N", Quantity.LOWEST, None, f"{limits.min_tension:.0f}"
    for side in SIDES:
        yield f"{side} mean, N", None, side, "" if told.received is None else f"usual {told.received.usual[side]:.0f}"
    yield "spread, %", Quantity.SPREAD, None, f"{100 * limits.side_spread:.0f}"


def _cell(seen: View, name: Quantity | None, side: Side | None, once: VisitView | None) -> str:
    """A table cell with a value; marked where it was assumed, not read."""
    if once is not None and not once.read[name or Quantity.HIGHEST]:
        return NOT_ENOUGH if (name or Quantity.HIGHEST) in once.few else "not read"
    if name is None:
        assert side is not None, "a mean is that of a side"
        return f"{seen.mean[side]:.0f}"
    if name is Quantity.GAP:
        gap = seen.gap / MM
        return f"{abs(gap):.2f}" + ("" if abs(gap) < 0.005 else " right" if gap > 0 else " left")
    digits = {"mm": 2, "N": 0, "%": 0}[name.unit]
    return f"{seen.values[name] * name.per_si:.{digits}f}"


def _limits_from(told: Record) -> str:
    """Which limits come from the file, from common practice or from the load, and whose limits take precedence."""
    limits = told.wheel.limits
    names = {name: limit_words(name) for name in Quantity if name is not Quantity.OFF_USUAL}
    stated = [words for name, words in names.items() if name in limits.stated]
    usual = [words for name, words in names.items() if name not in limits.stated]
    said = []
    if stated:
        said.append(f"Limits stated in the wheel file: {', '.join(stated)}")
    if usual:
        said.append(f"{'not stated' if stated else 'No limit is stated in the wheel file'}, so as is common practice "
                    f"(no source): {', '.join(usual)}")
    gap = " The gap's limit is counted from the target." if told.job.work.target_dish else ""
    return "; ".join(said) + "." + gap


def _passes(told: Record) -> Iterator[Block]:
    if told.made or told.to_make:
        yield Heading("Passes")
    verbs = [verb for verb in ("loosen", "tighten") if verb in {one.verb for one in told.to_make}]
    if verbs:
        yield Text("Each once round from the valve. Spanner: " + "; ".join(f"{verb} {SPANNER[verb]}" for verb in verbs)
                   + ". Spokes twist before a nipple moves: turn past by that much, then back. Write what shows beside "
                   "what should.")
    for made in told.made:
        yield Card(tuple(_made_pass(told, made)))
    for one in told.to_make:
        yield Card(tuple(_planned_pass(told.wheel, one)))


def _made_pass(told: Record, made: MadePass) -> Iterator[Block]:
    yield Tick(_turned_words(told.wheel, made.turned), f"Pass {made.number}, made.", done=True)
    if made.planned is not None:
        yield Text(_turned_words(told.wheel, made.planned), "It was planned otherwise:")
    if made.read is not None and made.read.view is not None:
        if made.reading is not None:
            yield Text(_as_read(made.reading), "Read after it:")
        yield Text(_once_words(made.read), "By all readings:")
    # What was asked for after it stays in the record: the gauge ticked where it was read; to settle where nothing was
    # read since, for no reading tells that pairs were squeezed.
    if (made.turned > 0).any() and made.read is None:
        yield Tick(f"Settle: {SQUEEZE}.")
    if made.gauge_again:
        yield Tick(GAUGE_AGAIN, done=made.read is not None and made.read.read[Quantity.GAP])


def _once_words(once: VisitView) -> str:
    """What was read after a pass, in words."""
    seen = once.view
    assert seen is not None, "asked only of a stable wheel"
    said = []
    if once.read[Quantity.GAP]:
        said.append(f"gap {gap_words(seen)}")
    if once.read[Quantity.TRUE]:
        said.append(f"true {seen.true / MM:.2f} mm")
    if once.read[Quantity.HIGHEST]:
        said.append(f"right {seen.mean['right']:.0f} N, left {seen.mean['left']:.0f} N, highest {seen.highest:.0f} N")
    return "; ".join(said) + "."


def _turned_words(wheel: Wheel, turns: Turns) -> str:
    """Turns (n,) of a pass in words, by flange and direction."""
    said = []
    for side in SIDES:
        for verb, sign in (("loosen", -1.0), ("tighten", 1.0)):
            mine = [i for i in wheel.pulling(side) if sign * turns[i] > 0]
            for amount in np.unique(np.abs(turns[mine]))[::-1]:
                spokes = [i + 1 for i in mine if abs(turns[i]) == amount]
                which = "every spoke" if len(spokes) == len(wheel.pulling(side)) else spokes_words(spokes)
                said.append(f"{side} flange, {verb} {turns_text(float(amount))}, {which}")
    words = "; ".join(said) or "nothing was turned"
    return words[:1].upper() + words[1:] + "."


def _planned_pass(wheel: Wheel, one: PlannedPass) -> Iterator[Block]:
    """A pass to be made: what to turn, what the tools should show then, and room for what they show."""
    after = one.after
    boxed = len({float(one.turns[i]) for i in wheel.pulling(one.side)}) > 1 and np.count_nonzero(one.turns) > 1
    # "Once round from the valve" is written once, above all passes.
    what = (f"{one.side.capitalize()} flange, {one.verb} as boxed" if boxed else
            pass_words(one).removesuffix(", from the valve round"))
    past = f" Past and back {near_degrees(one.wind_up)} degrees." if 360 * one.wind_up >= LEAST_TWIST else ""
    yield Tick(f"{what}; mean then {after.mean[one.side]:.0f} N, highest on the way {one.peak_tension:.0f} N.{past}",
               f"Pass {one.number}.")
    if boxed:
        yield Boxes(tuple((i + 1, "" if not one.turns[i] else turns_text(abs(float(one.turns[i]))))
                          for i in wheel.on_side(one.side)))
    yield Fill(((f"Gap {_cell(after, Quantity.GAP, None, None)}", 12.0), (f"true {after.true / MM:.2f}", 12.0),
                (f"highest {after.highest:.0f} N", 12.0)))
    if one.settles:
        yield Tick(f"Settle: {SQUEEZE}.")
    if one.gauge_again:
        yield Tick(GAUGE_AGAIN)


def _alt(told: Record) -> str:
    shown = ["as received", *(["planned"] if told.planned is not None else []),
             *(["as read"] if told.read is not None else [])]
    return f"Rim position, tension and turns of each spoke, valve to valve: {', '.join(shown)}"


def _ending(told: Record) -> Iterator[Block]:
    """Final verdict, or boxes to tick for it; date, name, signature."""
    found = told.assessment
    if told.finished or (not told.to_make and found.verdict == "within" and found.readings):
        how, before = off_usual_words(found), [one for one in found.assumed if isinstance(one, AsReadBefore)]
        since = "".join(f"; not read since the last pass: {', '.join(TOOL[tool] for tool in one.tools)}"
                        for one in before)
        yield Text(f"{JUDGED['within']}, as read last{since}{f', but {how}' if how else ''}.", size=12.0)
        yield Tick("Handed back.")
    elif told.made and told.read is not None and not told.to_make:
        words = JUDGED[found.verdict] + (", as read last" if found.verdict == "outside" else "")
        over = [check.name for check in found.checks if check.status == found.verdict]
        yield Text(words + (f": {', '.join(over)}." if over else "."), size=12.0)
    if not told.finished:
        yield Ticks(("within limits as read last, handed back", "not within, left to do below", "rejected"))
        yield Fill((("Left to do", 60.0),))
    yield Fill((("Date", 20.0), ("Name", 28.0), ("Signature", 28.0)))
