"""Practice in words: readings, turns and endings as plain lines of text."""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.measures.bounds import Bounds, within
from wheelsim.measures.quantities import Quantity
from wheelsim.report.words.shared import spokes_words
from wheelsim.units import MM, turns_text
from wheelsim.wheel.parts import SIDES, Wheel

if TYPE_CHECKING:  # the ending brings in the planner: not before it is needed
    from wheelsim.practice.answers import Answer
    from wheelsim.practice.ending import Ending, Row
    from wheelsim.practice.faults import Case
    from wheelsim.practice.made import Turned
    from wheelsim.practice.session import Session
    from wheelsim.readings.gauge import Gauge

CAUTIONS = (
    "This wheel is invented and lives in the program. On a real one: look for cracks, a worn brake track, a bent axle "
    "and play first, and stop if you find any. Eyes out of the line of the spokes, glasses on. Tyre off, or down, "
    "before more than half a turn. Never force a seized nipple. The lower of the rim maker's and the spoke maker's "
    "limit holds.",
)
HELP = (
    "Spokes are numbered clockwise from the valve, as seen from the right. Plus tightens, minus loosens. Several "
    "commands may stand on one line, with ; between them.",
    "  gauge [right|left] [quarter]    set the dish gauge on that face (right), read",
    "                                  the other; feet at the valve or a quarter round",
    "  dial true | dial round          the dial at every spoke, from the side or below",
    "  tension [right|left|7|3-8|7,9]  the tension meter on all or some spokes",
    "  predict right 0.5               what your next turn will do to the rim there:",
    "                                  right, left, out, in, still; or to the spokes:",
    "                                  tighter, looser; how many mm or N if you like;",
    "                                  predict 7 looser: at spoke 7, turned or not;",
    "                                  mm are of the rim, half of what the gap changes",
    "  turn right 1/4                  a whole side, once round; turn left -1/8 loosens",
    "  turn 7 1/4 9 -1/4               single nipples; 3-8 and 7,9 work as well",
    "  hint                            what to think of, and why; again: where and what",
    "  apply                           turn what the last hint named",
    "  wheel | log | terms | help      the wheel and its limits; what you did; what the",
    "                                  words mean; this",
    "  done | reject | quit            hand it over; hand it back as one that no nipple",
    "                                  mends; stop",
    "A pass is once round one flange in one direction; turns are those of all nipples added up.",
)

# At most 24 short lines: they must fit one screen.
TERMS = (
    "right, left   the rider's; the sprocket side of a rear wheel is right",
    "hub, flange   the middle of the wheel; its two discs, that hold the spokes",
    "rim, valve    the hoop; where its air goes in, between the last spoke and spoke 1",
    "nipple        the nut at the rim that tightens a spoke: clockwise seen from the tyre",
    "tension       how hard a spoke pulls, in newtons; slack: it doesn't",
    "dish          how far the rim's middle lies from the hub's; centred: it doesn't",
    "gauge, gap    stands on the rim and reaches the hub; its gap is twice the dish",
    "dial          shows how far the rim moves as the wheel is turned",
    "true, round   how far it moves sideways, up and down: highest less lowest, once round",
    "mean, spread  a side's average tension; how far its furthest spoke is from that",
    "near side     the flange nearer the middle: its spokes lean less and pull harder",
    "pass          once round one flange in one direction",
    "settle        squeeze spokes in pairs, so that they bed in; then read again",
    "limit         what the wheel is accepted with; the lower of two makers' tensions",
)


def wheel_lines(case: "Case") -> Iterator[str]:
    """What is known of the wheel: parts, limits, complaint."""
    wheel, limits = case.wheel, case.limits
    sides = ", ".join(f"{side} flange {flange.offset / MM:.0f} mm from the hub's middle"
                      for side, flange in (("right", wheel.hub.right), ("left", wheel.hub.left)))
    yield f"Level {case.level.number}, {case.level.name}, seed {case.seed}. {case.level.complaint}"
    yield f"{wheel.name[:1].upper()}{wheel.name[1:]}; {sides}. Odd spokes go to the right, even ones to the left."
    yield "Limits: " + ", ".join(_limit(name, limits.of(name)) for name in Quantity
                                     if math.isfinite(limits.of(name))) + "."


def _limit(name: Quantity, value: float) -> str:
    words, unit, scale = name.trade, name.unit, name.per_si
    return f"{words} {value * scale:.4g}{'' if unit == '%' else ' '}{unit}"


def gauge_line(gauge: "Gauge") -> str:
    """What the gauge shows, as the hands see it."""
    read = "left" if gauge.set_on == "right" else "right"
    start = f"Gauge set on the {gauge.set_on} face, wheel flipped, read on the {read}: "
    if gauge.low < 0.05 * MM:
        return start + "it fits, no gap anywhere."
    if gauge.gap_at == "hub":
        return start + f"a gap of {gauge.low / MM:.1f} mm at the hub."
    return start + f"the feet lift; held level, {gauge.low / MM:.1f} mm under both."


def dial_lines(values: Floats, which: str, limit: float) -> Iterator[str]:
    """The dial at every spoke in four rows, then the extremes."""
    way = "plus to the right" if which == "true" else "plus outward"
    yield f"Dial, {which}, {way}, zero at the mean, in mm:"
    yield from _rows([f"{v / MM:+z.2f}" for v in values])
    high, low = int(np.argmax(values)), int(np.argmin(values))
    yield (f"  highest {values[high] / MM:+z.2f} at spoke {high + 1}, lowest {values[low] / MM:+z.2f} at spoke "
           f"{low + 1}: run-out {np.ptp(values) / MM:.2f} (limit {limit / MM:.2f})")


def _rows(texts: Sequence[str]) -> Iterator[str]:
    step = max(len(texts) // 4, 1)
    for start in range(0, len(texts), step):
        part = texts[start:start + step]
        yield f"  {start + 1:3d}-{start + len(part):<3d}" + " ".join(f"{one:>5}" for one in part)


def tension_lines(read: Mapping[int, float], wheel: Wheel, limits: Bounds) -> Iterator[str]:
    """The meter's readings by side, means of those read, and what stands out."""
    for side in SIDES:
        own = {i + 1: read[i + 1] for i in wheel.on_side(side) if i + 1 in read}
        if not own:
            continue
        cells = [f"{spoke}:{value:.0f}" for spoke, value in own.items()]
        yield f"{side.capitalize()}, N: " + "  ".join(cells[:8])
        for start in range(8, len(cells), 8):
            yield " " * (len(side) + 5) + "  ".join(cells[start:start + 8])
        if len(own) > 2:
            mean = sum(own.values()) / len(own)
            worst = max(own, key=lambda spoke: abs(own[spoke] - mean))
            yield (f"  mean {mean:.0f}; furthest from it spoke {worst}, "
                   f"{100 * (own[worst] / mean - 1) if mean else 0:+z.0f} %")
    over = [spoke for spoke, value in read.items()
            if not within(Quantity.HIGHEST, value, limits.max_tension)]
    if over:
        yield f"  Above the limit of {limits.max_tension:.0f} N by this meter: {spokes_words(over)}."
    if any(value == 0 for value in read.values()):
        yield f"  Loose in the hand: {spokes_words([spoke for spoke, value in read.items() if value == 0])}."


def turned_lines(done: "Turned", slack_before: Collection[int]) -> Iterator[str]:
    """What the hand notices of a turn."""
    if done.folded:
        yield ("Stop: the wheel folds. On a bench it is now scrap, and may throw pieces. Here it is put back as it was "
               "before this turn: think again.")
        return
    if done.seized:
        yield f"The nipple of {spokes_words(done.seized)} does not turn: seized. Never force it; it stays as it was."
    nipples = int(np.count_nonzero(done.turns))
    if nipples:
        yield f"Turned: {nipples} nipple{'s' * (nipples > 1)}. Read again to see what it did."
    new = [spoke for spoke in done.slack if spoke not in slack_before]
    if new:
        yield (f"{spokes_words(new).capitalize()} now hang{'s' * (len(new) == 1)} loose in the hand. Slack holds "
               "nothing: take it up.")
    if nipples and np.abs(done.turns).max() > 0.5:
        yield "More than half a turn at once: on a real wheel with the tyre off or down, and in smaller steps."


def log_lines(session: "Session") -> Iterator[str]:
    """What was done so far, and whether predictions came true."""
    yield "So far: " + ("; ".join(session.moves) if session.moves else "nothing") + "."
    made = sum(float(np.abs(one.turns).sum()) for one in session.made)
    yield (f"{turns_text(made)} turns in {session.passes} pass{'es' * (session.passes != 1)}, "
           f"{session.hints} hint{'s' * (session.hints != 1)}, "
           f"{_predicted(session.predictions, session.answers)}.")


def _predicted(count: int, answers: Sequence["Answer"]) -> str:
    told = [one.right for one in answers if one.right is not None]
    return f"{count} prediction{'s' * (count != 1)}" + (f", {sum(told)} right of {len(told)} told" if told else "")


OUTCOMES = {
    "within": "Within every limit, and none passed on the way.",
    "passed a limit": "A limit was passed on the way: such a wheel is not handed over, whatever it reads now.",
    "folded": "The wheel folded on the way: on a bench it would be scrap.",
    "outside": "Not within its limits.",
    "rejected": "Handed back, and rightly.",
    "rejected wrongly": "Handed back, but this wheel can be mended.",
}


def ending_lines(ending: "Ending") -> Iterator[str]:
    """The learner beside the best plan and the rule of thumb, and why they differ."""
    yield OUTCOMES[ending.outcome]
    yield ""
    yield "              turns nipples passes    peak |  gap  true round spread lowest in?"
    yield "                             on the way, N |   mm    mm    mm      %      N"
    for row in (ending.received, ending.you, ending.plan, ending.rule):
        if row is not None:
            yield _row(row)
    if ending.plan is None:
        yield "best plan      none" + (" exists" if ending.plan_status == "none" else " was found in the time")
    yield ""
    yield from (f"- {line}" for line in ending.why)
    if ending.predictions:
        told = (f"{ending.predictions_right} right of the {ending.predictions_told} that your readings could tell"
                if ending.predictions_told else "your readings could tell of none; read before a turn and after it")
        amounts = (f"; of {ending.amounts_told} amount{'s' * (ending.amounts_told > 1)} you gave {ending.amounts_near} "
                   f"{'was' if ending.amounts_near == 1 else 'were'} near") if ending.amounts_told else ""
        yield f"- Your predictions: {ending.predictions} made; {told}{amounts}."


def _row(row: "Row") -> str:
    v = row.values
    return (f"{row.who:13}{row.total_turns:6.2f}{row.nipples:8d}{row.passes:7d}{row.peak_tension:8.0f} |"
            f"{v[Quantity.GAP] / MM:5.2f}{v[Quantity.TRUE] / MM:6.2f}{v[Quantity.ROUND] / MM:6.2f}"
            f"{min(100 * v[Quantity.SPREAD], 999):7.0f}{v[Quantity.LOWEST]:7.0f} {'yes' if row.within else 'no'}")
