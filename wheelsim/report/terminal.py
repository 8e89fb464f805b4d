"""Results in words and tables, for people at a terminal or on paper."""

import numpy as np
from rich.console import Console
from rich.table import Table

from wheelsim.files.errors import one_line
from wheelsim.measures.bounds import broken
from wheelsim.measures.quantities import Quantity
from wheelsim.planning.plan_result import named_nipples, total
from wheelsim.planning.ways import way_words
from wheelsim.stand.assess import EYE_CHECKS
from wheelsim.units import MM, number_list, turns_text
from wheelsim.wheel.kinds import KINDS, STIFFNESS_KEYS
from wheelsim.wheel.parts import SIDES

CAUTIONS = (
    "The lower of the rim maker's and the spoke maker's tension limit comes first, whatever stands here.",
    "A crack at a spoke hole or flange, a worn brake track or a bent axle: stop, no turning. Never force a seized "
    "nipple: free it, or mark it stuck in the job.",
    "Tyre off or down before more than half a turn. Eyes clear of the spokes' line; a spoke can let go.",
    "Squeeze pairs to settle after every tightening round and read again; ride only what was read within limits.",
)
TAP_HOW = """
A rim of your own: hang it bare by a thread at one hole, tap it and read the tones off a tuner. From the side,
at the thread and a quarter and a sixth round from it, listen for the two lowest; then once in its plane for the
lowest. Weigh it, measure the radius of its section's centre, and (these numbers are invented):
  wheelsim kinds --radius 300 --mass 500 --side-tones 84.1,282.7 --flat-tone 96.6
Half a per cent in a tone is several per cent in torsion and lateral bending; the answer says how many."""
LIMIT_WORDS = {"gap": "gap", "lateral_runout": "true", "radial_runout": "round", "side_spread": "spread",
               "max_tension": "highest tension", "min_tension": "lowest tension", "off_usual": "usual tension",
               "max_turns": "more turns than allowed", "stability": "no stable wheel"}


class _Console(Console):
    def on_broken_pipe(self):
        """Leave a closed pipe to the one who opened the verb; rich would end the program as a failure."""
        raise BrokenPipeError


def printer(stream):
    """A console on a stream: no colour, boxes or wrapping unless it is a terminal's own width."""
    tty = stream.isatty()
    return _Console(file=stream, highlight=False, markup=False, emoji=False, no_color=not tty,
                   width=None if tty else 100_000, soft_wrap=not tty)


def _table(*columns):
    table = Table(box=None, pad_edge=False, show_edge=False, padding=(0, 2, 0, 0))
    for k, column in enumerate(columns):
        table.add_column(column, justify="left" if k == 0 else "right")
    return table


def _lines(before, after):
    """(words, unit, before, after, digits) of what the bench reads of two states."""
    yield "dish, plus right", "mm", before.dish / MM, after.dish / MM, 2
    yield "gauge gap, signed like the dish", "mm", before.gap / MM, after.gap / MM, 2
    yield "true (lateral run-out)", "mm", before.true / MM, after.true / MM, 2
    yield "round (radial run-out)", "mm", before.round / MM, after.round / MM, 2
    for side in SIDES:
        yield f"{side} mean tension", "N", before.mean[side], after.mean[side], 0
        yield f"{side} spread", "%", 100 * before.spread[side], 100 * after.spread[side], 1
    yield "highest spoke", "N", before.highest, after.highest, 0
    yield "lowest spoke", "N", before.lowest, after.lowest, 0


def comparison(before, after):
    """Table of two states and the change between them."""
    table = _table("", "unit", "before", "after", "change")
    for words, unit, was, now, digits in _lines(before, after):
        change = round(now, digits) - round(was, digits) + 0.0
        was, now = round(was, digits) + 0.0, round(now, digits) + 0.0
        table.add_row(words, unit, f"{was:.{digits}f}", f"{now:.{digits}f}", f"{change:+.{digits}f}")
    return table


def turns_words(wheel, turns):
    """Turns (n,) in words: whole sides as such, the rest spoke by spoke."""
    parts = []
    for side in SIDES:
        spokes = [i for i in wheel.on_side(side) if i + 1 not in wheel.spokes.missing]
        amounts, counts = np.unique(turns[spokes], return_counts=True)
        common = float(amounts[counts.argmax()]) if counts.max() > len(spokes) / 2 else 0.0
        if common:
            parts.append(f"every {side} spoke {turns_text(common, signed=True)}"
                         + ("" if counts.max() == len(spokes) else " but for"))
        for amount in amounts:
            if amount != common:
                numbers = [i + 1 for i in spokes if turns[i] == amount]
                parts.append(f"{'spoke' if len(numbers) == 1 else 'spokes'} {number_list(numbers)} "
                             f"{turns_text(float(amount), signed=True)}")
    return "; ".join(parts).replace("but for; ", "but for ") or "none"


def tell_prediction(result, console):
    """Print a prediction."""
    wheel = result.before.state.wheel
    console.print(one_line(result.wheel))
    _suspects(result.suspects, console)
    console.print(f"Turns (plus tightens): {turns_words(wheel, result.turns)}\n")
    console.print(comparison(result.before, result.after))
    _outside(result.after, result.limits, console)
    for warning in result.warnings:
        console.print(f"\nWarning: {warning}.")
    if result.untouchable:
        console.print(f"\nTurned here, but marked stuck or left alone in the job: {_spokes(result.untouchable)}.")
    _assumed(result.assumed, console)


def _outside(seen, limits, console):
    """What of a state lies outside its limits, and how many spokes."""
    values = seen.values
    lines = []
    for name in broken(values, limits):
        words, unit, scale = Quantity(name).trade, Quantity(name).unit, Quantity(name).per_si
        digits = 0 if unit == "N" else 2 if unit == "mm" else 1
        value, limit = (f"{v * scale:.{digits}f} {unit}" for v in (values[name], getattr(limits, name)))
        line = f"{words} {value}, limit {limit}"
        if name in ("max_tension", "min_tension"):
            tension = seen.state.tension
            past = tension > limits.max_tension if name == "max_tension" else tension < limits.min_tension
            line += f" ({np.count_nonzero(past)} of {len(tension)} spokes)"
        lines.append(line)
    if lines:
        console.print("\nOutside limits after: " + "; ".join(lines) + ".")
    if "max_tension" in broken(values, limits):
        console.print("Don't turn this on a wheel.")


def _spokes(numbers):
    return f"spoke{'s' * (len(numbers) > 1)} {number_list(numbers)}"


def _suspects(suspects, console):
    """Readings in doubt, before anything that rests on them."""
    for doubt in suspects:
        console.print(f"Suspect: {doubt}{'' if doubt.endswith('?') else '.'}")
    if suspects:
        console.print("Read that again before you turn anything.\n")


def _assumed(assumed, console):
    if assumed:
        console.print("\nTaken, not read: " + "; ".join(assumed) + ".")


def tell_plan(plan, console, rule=None):
    """Print a plan; beside it, if given, what the rule of thumb would have done (``RuleResult``)."""
    console.print(one_line(plan.wheel + (f", {plan.label}" if plan.label else "")))
    console.print(f"\n{plan.verdict.why}\n")
    _suspects(plan.suspects, console)
    if plan.ways:
        console.print(_ways(plan))
        console.print()
    if plan.passes:
        for line in plan.first:
            console.print(f"First: {line}")
        if plan.first:
            console.print()
        _passes(plan, console)
    if plan.after is not None and plan.passes:
        console.print(comparison(plan.before, plan.after))
        console.print()
        console.print(_beside(plan, rule))
        literal = "" if plan.literal is not None else " The fewest turns by count alone: not found in the time."
        console.print(f"Named nipples: those turned otherwise than most of their side.{literal}")
        console.print()
        _standing(plan, console)
    for line in plan.advice:
        console.print(f"Advice: {line}.")
    _assumed(plan.assumed, console)
    if plan.passes:
        console.print("\nCautions")
        for line in CAUTIONS:
            console.print(f"  {line}")


def _ways(plan):
    table = _table("way to centre it", "gap after", "right, N", "left, N", "highest, N", "gap, tension within")
    for way in plan.ways:
        seen = way.after
        if seen is None:
            table.add_row(way_words(way), "-", "-", "-", "-", "no: no stable wheel")
            continue
        why = "yes" if not way.outside else "no: " + ", ".join(LIMIT_WORDS[name] for name in way.outside)
        right, left = (f"{seen.mean[side]:.0f}" for side in SIDES)
        table.add_row(way_words(way), gap_words(seen), right, left, f"{seen.highest:.0f}", why)
    return table


def gap_words(seen):
    """The gap as the gauge shows it, on which side the rim lies, and how far it is from a target.

    ``1.85 mm (rim left)``, or ``1.85 mm (rim left; 0.15 mm right of the target)`` for a frame built off-centre.
    """
    gap, off = seen.gap / MM, seen.off_target / MM
    lies = [] if abs(gap) < 0.005 else [f"rim {'right' if gap > 0 else 'left'}"]
    if seen.target_dish:
        lies.append("on target" if abs(off) < 0.005 else
                    f"{abs(off):.2f} mm {'right' if off > 0 else 'left'} of the target")
    return f"{abs(gap):.2f} mm" + (f" ({'; '.join(lies)})" if lies else "")


def _passes(plan, console):
    told = set()
    for one in plan.passes:
        before, after = one.before, one.after
        console.print(f"Pass {one.number}. {one.action}")
        console.print(
            f"        Expect the gap to go from {gap_words(before)} to {gap_words(after)}, "
            f"{one.side} {before.mean[one.side]:.0f} to {after.mean[one.side]:.0f} N, true "
            f"{before.true / MM:.2f} to {after.true / MM:.2f} mm; highest on the way {one.peak_tension:.0f} N.\n"
            f"        Half-way round the rim wobbles {one.half_way_true / MM:.1f} mm; read the dial when you are back "
            "at the valve.")
        if one.then:
            console.print(f"        {one.then if one.then not in told else 'Settle and read again.'}")
            told.add(one.then)
    console.print()


def _beside(plan, rule):
    """This plan, the literal fewest turns and the rule of thumb: what each takes and what each leaves."""
    gap = "gap from target, mm" if plan.target_dish else "gap, mm"
    table = _table("beside each other", "turns", "named nipples", "passes", gap, "true, mm", "round, mm",
                   "spread, %", "highest on the way, N")

    def row(words, turns, named, passes, seen, peak):
        gap = abs(seen.off_target) / MM
        table.add_row(words, turns_text(turns), str(named), str(passes), f"{gap:.2f}", f"{seen.true / MM:.2f}",
                      f"{seen.round / MM:.2f}", f"{100 * max(seen.spread.values()):.0f}", peak)

    wheel = plan.before.state.wheel
    literal = plan.literal
    same = literal is not None and total(literal.turns) == total(plan.turns)
    row("this plan, the fewest turns" if same else "this plan", total(plan.turns), named_nipples(wheel, plan.turns),
        len(plan.passes), plan.after, f"{max(one.peak_tension for one in plan.passes):.0f}")
    if literal is not None and not same:
        row("fewest turns by count alone", total(literal.turns), named_nipples(wheel, literal.turns), literal.passes,
            literal.after, "-")
    if rule is not None:
        row("rule of thumb" + ("" if rule.within else ", ends outside"), rule.total_turns,
            sum(named_nipples(wheel, turns) for _, turns in rule.passes),
            rule.times_round, rule.after, f"{rule.peak_tension:.0f}")
    return table


def _count(number, word):
    return f"{number} {word}{'' if number == 1 else 's'}"


def _standing(plan, console):
    """How good the plan is, the literal fewest turns beside it, aims not met."""
    console.print(f"Limits: {_bounds_words(plan.limits)}.")
    console.print(f"Aims: {_bounds_words(plan.aims)}.")
    turns = turns_text(float(np.abs(plan.turns).sum()))
    sides = not named_nipples(plan.before.state.wheel, plan.turns)
    better = "no other passes of whole sides do better" if sides else "nothing better of its kind exists"
    proof = better if plan.proven else "the best found in the time; not proven best"
    console.print(f"This plan: {turns} turns in all, {_count(np.count_nonzero(plan.turns), 'nipple')}, "
                  f"{len(plan.passes)} pass{'' if len(plan.passes) == 1 else 'es'}; {proof}.")
    if plan.bound_turns:
        console.print(f"Nothing that leaves the wheel as good takes fewer than {turns_text(plan.bound_turns)} turns.")
    if plan.unmet:
        console.print("Within limits, but not to the aim in: " + ", ".join(LIMIT_WORDS[k] for k in plan.unmet)
                      + ". A finer --step may reach it.")


def _bounds_words(bounds):
    return (f"gap {bounds.gap / MM:.1f} mm, true {bounds.lateral_runout / MM:.2f} mm, round "
            f"{bounds.radial_runout / MM:.2f} mm, spread {100 * bounds.side_spread:.0f} %, "
            f"{bounds.min_tension:.0f} to {bounds.max_tension:.0f} N")


STATUS_WORDS = {"within": "within", "outside": "OUTSIDE", "unknown": "can't tell"}


def tell_assessment(found, console):
    """Print an assessment: first what eye and hand must say, then the verdict, then tighten or loosen."""
    console.print(one_line(found.wheel + (f", {found.label}" if found.label else "")))
    console.print("\nBefore any number, by eye and hand:")
    for line in EYE_CHECKS:
        console.print(f"  {line}")
    verdict = {"within": "Within its limits.", "outside": "Outside its limits.",
               "unknown": "Can't tell: what was read is not enough, or too near a limit."}
    console.print(f"\n{verdict[found.verdict]}\n")
    _suspects(found.suspects, console)
    if found.view is None:
        for line in found.advice:
            console.print(f"{line}.")
        return
    table = _table("", "spoke", "value", "likely", "limit", "unit", "inside by", "", "sure")
    for check in found.checks:
        digits = 0 if check.unit == "N" else 1 if check.unit == "%" else 2
        table.add_row(check.name, "" if check.spoke is None else str(check.spoke), f"{check.value:.{digits}f}",
                      f"{check.likely:.{digits}f} +- {check.sd:.{digits}f}", f"{check.limit:.{digits}f}", check.unit,
                      f"{check.margin:+.{digits}f}", STATUS_WORDS[check.status],
                      _sure(check.sure) if check.read else "not enough read")
    for one in found.usual:
        table.add_row(f"{one.side} mean against usual", "", f"{one.mean:.0f}", "", f"{one.usual:.0f}", "N",
                      f"{100 * one.off:+.0f} %", "", "" if one.read else "not enough read")
    console.print(table)
    console.print("value: of the wheel that fits all readings best, not a single reading; likely: the mean of all\n"
                  "wheels they allow, and how far it usually strays; sure: how many of 100 such wheels are within.\n")
    if len(found.readings) > 1:
        console.print(_readings(found.readings))
        console.print()
    table = _table("a quarter turn of a side", "rim moves, mm", "right, N", "left, N")
    for one in found.quarter_turns:
        table.add_row(f"{one.verb} {one.side}", f"{abs(one.dish) / MM:.2f} {'right' if one.dish > 0 else 'left'}",
                      f"{one.right:+.0f}", f"{one.left:+.0f}")
    console.print(table)
    for line in found.advice:
        console.print(f"Advice: {line}.")
    _assumed(found.assumed, console)


def _sure(share):
    """How many of a hundred wheels, never all of them: that no reading can say."""
    return "over 99" if share > 0.995 else "under 1" if share < 0.005 else f"{100 * share:.0f}"


def _readings(readings):
    table = _table("reading", "gap, mm", "true, mm", "round, mm", "right, N", "left, N")
    for one in readings:
        cells = list(one.as_dict().values())[1:] or [None] * 5
        table.add_row(one_line(one.label) or "-", *("-" if cell is None else f"{cell:.{0 if k > 2 else 2}f}"
                                                    for k, cell in enumerate(cells)))
    return table


def tell_kinds(tapped, console):
    """Print the generic kinds, and a tapped rim's stiffness or how to tap one."""
    table = _table("kind", "bending, radial N.m2", "bending, lateral N.m2", "torsion N.m2", "stretch MN")
    for name, kind in KINDS.items():
        cells = []
        for quantity in STIFFNESS_KEYS:
            scale, digits = (1e-6, 1) if quantity == "stretch" else (1.0, 0)
            low, high = (f"{value * scale:.{digits}f}" for value in kind.range(quantity))
            cells.append(f"{getattr(kind, quantity) * scale:.{digits}f} ({low} to {high})")
        table.add_row(name, *cells)
    console.print(table)
    console.print()
    for name, kind in KINDS.items():
        console.print(f"{name}: {kind.look}. {kind.source}.")
    if tapped is None:
        console.print(TAP_HOW)
        return
    console.print("\nYour rim, for [rim] in its wheel file instead of kind:")
    for key, (value, sd) in zip(STIFFNESS_KEYS.values(), vars(tapped).values(), strict=False):
        console.print(f"{key} = {value:.4g}   # +- {sd:.2g}")
    console.print("and stretch_N from the table above: tones do not show it. All four stand instead of kind.")
