"""A plan as text and tables."""

from collections.abc import Iterator, Sequence

import numpy as np
from rich.console import Console
from rich.table import Table

from wheelsim.arrays import Turns
from wheelsim.files.errors import one_line
from wheelsim.measures.bounds import Bounds
from wheelsim.measures.view import View
from wheelsim.planning.passes import PlannedPass
from wheelsim.planning.plan_result import Plan, named_nipples, total
from wheelsim.planning.rule import RuleResult
from wheelsim.planning.verdict import GaugeUnread
from wheelsim.planning.what_first import TrueFirst
from wheelsim.report.terminal.shared import columns_table, comparison, print_assumed, print_outlook, print_suspects
from wheelsim.report.words.measures import gap_words, limit_words
from wheelsim.report.words.passes import (
    GAUGE_AGAIN,
    SETTLE,
    SPANNER,
    SQUEEZE,
    instruction,
    meanwhile_words,
    pass_words,
    way_words,
)
from wheelsim.report.words.planning import CAUTIONS, ends_words, first_words, plan_advice_words
from wheelsim.report.words.verdict import verdict_words
from wheelsim.report.words.windup import past_and_back, past_and_back_of_all
from wheelsim.units import MM, turns_text
from wheelsim.wheel.parts import SIDES, Wheel


def tell_plan(plan: Plan, console: Console, rule: RuleResult | None = None, *, full: bool = True) -> None:
    """Print a plan, and if given the result of the rule of thumb beside it.

    Without ``full`` only what fits on one screen: the verdict, the wheel, the ways, one line per pass, before and
    after, cautions.
    """
    console.print(one_line(plan.wheel + (f", {plan.label}" if plan.label else "")))
    if plan.before is not None:
        console.print(_made_for(plan.before.wheel))
    console.print(f"\n{verdict_words(plan.verdict)}\n")
    print_suspects(plan.suspects, plan.read_first, console)
    if plan.ways:
        console.print(_ways(plan))
        console.print()
    if isinstance(plan.verdict.why, GaugeUnread):
        for one in plan.first:
            if isinstance(one, TrueFirst):
                console.print(f"First: {first_words(one)}\n")
    if plan.passes:
        for line in map(first_words, plan.first):
            console.print(f"First: {line}")
        if plan.first:
            console.print()
        (_passes if full else _passes_in_short)(plan, console)
    before, after, turns = plan.before, plan.after, plan.turns
    if before is not None and after is not None and turns is not None and plan.passes:
        console.print(comparison(before, after))
    if plan.foreseen is not None:
        print_outlook(plan.foreseen, console, plan.unread, [one.number for one in plan.passes])
    if before is not None and after is not None and turns is not None and plan.passes and full:
        console.print()
        console.print(_beside(plan, before.wheel, after, turns, rule))
        literal = "" if plan.literal is not None else " The fewest turns by count alone: not found in the time."
        console.print(f"Named nipples: those turned otherwise than most of their side.{literal}")
        console.print()
        _standing(plan, before.wheel, turns, console)
    if plan.unmet and plan.passes and not full:
        console.print("\n" + " ".join(ends_words(plan)))
    for line in map(plan_advice_words, plan.advice):
        console.print(f"Advice: {line}.")
    # A new spoke was told of before the first pass.
    print_assumed([one for one in plan.assumed if full or one not in plan.first], console)
    if plan.passes:
        console.print("\nCautions")
        for line in CAUTIONS if full else CAUTIONS[:2]:
            console.print(f"  {line}")
    if plan.passes and not full:
        console.print("\nThe whole story: --full")


def _made_for(wheel: Wheel) -> str:
    """The wheel in one line, so that the user notices a wrong spoke count or lacing."""
    crosses = [wheel.spokes.right.cross, wheel.spokes.left.cross]
    crossed = f"{crosses[0]} cross" if crosses[0] == crosses[1] else f"{crosses[0]} cross right, {crosses[1]} left"
    kind = f", {wheel.rim.kind}" if wheel.rim.kind else ""
    return f"{wheel.n} spokes, {crossed}{kind}, usual {wheel.tension_side} {wheel.tension:.0f} N"


def _passes_in_short(plan: Plan, console: Console) -> None:
    for run in _alike(plan.passes):
        one, peak = run[-1], max(each.peak_tension for each in run)
        joint = "and" if len(run) == 2 else "to"
        many = f"Passes {run[0].number} {joint} {one.number}, each" if len(run) > 1 else f"Pass {one.number}"
        console.print(f"{many}. {pass_words(one)}. Then gap {gap_words(one.after)}, {one.side} "
                      f"{one.after.mean[one.side]:.0f} N{meanwhile_words(one, plan.passes)}; highest on the way "
                      f"{peak:.0f} N."
                      + (f" {GAUGE_AGAIN}" if one.gauge_again else ""))
    wound = past_and_back_of_all(plan.passes)
    verbs = {one.verb for one in plan.passes}
    spanner = [f"{verb}: {SPANNER[verb]}" for verb in ("loosen", "tighten") if verb in verbs]
    console.print(f"Spanner: {'; '.join(spanner)}. Keep the order of nipples: another may rise higher on the way.")
    if wound:
        console.print(wound)
    if any(one.settles for one in plan.passes):
        console.print(f"After each tightened round {SQUEEZE}.")
    console.print()


def _alike(passes: Sequence[PlannedPass]) -> Iterator[Sequence[PlannedPass]]:
    """Runs of passes that turn one and the same nipple alike; all others by themselves."""
    start = 0
    for k, one in enumerate(passes):
        following = passes[k + 1] if k + 1 < len(passes) else None
        alone = np.count_nonzero(one.turns) == 1 and not one.gauge_again
        if following is None or not alone or not np.array_equal(one.turns, following.turns):
            yield passes[start:k + 1]
            start = k + 1


def _ways(plan: Plan) -> Table:
    table = columns_table("way to centre it", "gap after", "right, N", "left, N", "highest, N", "gap, tension within")
    for way in plan.ways:
        seen = way.after
        if seen is None:
            table.add_row(way_words(way), "-", "-", "-", "-", "no: no stable wheel")
            continue
        why = "yes" if not way.outside else "no: " + ", ".join(limit_words(name) for name in way.outside)
        right, left = (f"{seen.mean[side]:.0f}" for side in SIDES)
        table.add_row(way_words(way), gap_words(seen), right, left, f"{seen.highest:.0f}", why)
    return table


def _passes(plan: Plan, console: Console) -> None:
    told = False
    for one in plan.passes:
        before, after = one.before, one.after
        console.print(f"Pass {one.number}. {instruction(one)}")
        console.print(
            f"        Expect the gap to go from {gap_words(before)} to {gap_words(after)}, "
            f"{one.side} {before.mean[one.side]:.0f} to {after.mean[one.side]:.0f} N, true "
            f"{before.true / MM:.2f} to {after.true / MM:.2f} mm; highest on the way {one.peak_tension:.0f} N."
            + (f"\n        Half-way round the rim wobbles {one.half_way_true / MM:.1f} mm; read the dial when you are "
               "back at the valve." if np.count_nonzero(one.turns) > 1 else ""))
        if past_and_back(one):
            console.print(f"        {past_and_back(one)}")
        if one.settles:
            console.print(f"        {'Settle and read again.' if told else SETTLE}")
            told = True
        if one.gauge_again:
            console.print(f"        {GAUGE_AGAIN}")
    console.print()


def _beside(plan: Plan, wheel: Wheel, after: View, turns: Turns, rule: RuleResult | None) -> Table:
    """This plan, the fewest turns by count alone and the rule of thumb: turns needed and result of each."""
    gap = "gap from target, mm" if plan.target_dish else "gap, mm"
    table = columns_table("beside each other", "turns", "named nipples", "passes", gap, "true, mm", "round, mm",
                          "spread, %", "highest on the way, N")

    def row(words: str, in_all: float, named: int, passes: int, seen: View, peak: str) -> None:
        table.add_row(words, turns_text(in_all), str(named), str(passes), f"{abs(seen.off_target) / MM:.2f}",
                      f"{seen.true / MM:.2f}", f"{seen.round / MM:.2f}", f"{100 * max(seen.spread.values()):.0f}", peak)

    literal = plan.literal
    same = literal is not None and total(literal.turns) == total(turns)
    row("this plan, the fewest turns" if same else "this plan", total(turns), named_nipples(wheel, turns),
        len(plan.passes), after, f"{max(one.peak_tension for one in plan.passes):.0f}")
    if literal is not None and not same:
        row("fewest turns by count alone", total(literal.turns), named_nipples(wheel, literal.turns), literal.passes,
            literal.after, "-")
    if rule is not None:
        row("rule of thumb" + ("" if rule.within else ", ends outside"), rule.total_turns,
            sum(named_nipples(wheel, one.turns) for one in rule.passes),
            rule.times_round, rule.after, f"{rule.peak_tension:.0f}")
    return table


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def _standing(plan: Plan, wheel: Wheel, turns: Turns, console: Console) -> None:
    """Whether the plan is proven, how it compares with the fewest turns by count alone, and aims not met."""
    console.print(f"Limits: {_bounds_words(plan.limits)}.")
    console.print(f"Aims: {_bounds_words(plan.aims)}.")
    in_all = turns_text(float(np.abs(turns).sum()))
    sides = not named_nipples(wheel, turns)
    better = "no other passes of whole sides do better" if sides else "nothing better of its kind exists"
    proof = better if plan.proven else "the best found in the time; not proven best"
    console.print(f"This plan: {in_all} turns in all, {_count(int(np.count_nonzero(turns)), 'nipple')}, "
                  f"{len(plan.passes)} pass{'' if len(plan.passes) == 1 else 'es'}; {proof}.")
    if plan.bound_turns:
        console.print(f"Nothing that leaves the wheel as good takes fewer than {turns_text(plan.bound_turns)} turns.")
    if plan.unmet:
        console.print(" ".join((*ends_words(plan), "A finer --step may reach it.")))


def _bounds_words(bounds: Bounds) -> str:
    return (f"gap {bounds.gap / MM:.1f} mm, true {bounds.lateral_runout / MM:.2f} mm, round "
            f"{bounds.radial_runout / MM:.2f} mm, spread {100 * bounds.side_spread:.0f} %, "
            f"{bounds.min_tension:.0f} to {bounds.max_tension:.0f} N"
            + (f", side means within {100 * bounds.off_usual:.0f} % of the usual" if bounds.off_usual < 1 else ""))
