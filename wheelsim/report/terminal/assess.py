"""An assessment as text and tables."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from wheelsim.files.errors import one_line
from wheelsim.measures.quantities import Quantity
from wheelsim.report.terminal.shared import columns_table, print_assumed, print_suspects
from wheelsim.report.words.shared import signed_gap
from wheelsim.report.words.stand import EYE_CHECKS, JUDGED, NOT_ENOUGH, advice_words
from wheelsim.stand.assessment import Assessment, Once
from wheelsim.units import MM

STATUS_WORDS = {"within": "within", "outside": "OUTSIDE", "unknown": "can't tell"}


def tell_assessment(found: Assessment, console: Console) -> None:
    """Print an assessment: checks by eye and hand first, then the verdict, then advice."""
    console.print(one_line(found.wheel + (f", {found.label}" if found.label else "")))
    console.print("\nBefore any number, by eye and hand:")
    for line in EYE_CHECKS:
        console.print(f"  {line}")
    console.print(f"\n{JUDGED[found.verdict]}.\n")
    print_suspects(found.suspects, console)
    if found.view is None:
        for line in map(advice_words, found.advice):
            console.print(f"{line}.")
        return
    table = columns_table("", "spoke", "value", "likely", "limit", "unit", "inside by", "", "sure")
    for check in found.checks:
        digits = 0 if check.unit == "N" else 1 if check.unit == "%" else 2
        table.add_row(check.name, "" if check.spoke is None else str(check.spoke), f"{check.value:.{digits}f}",
                      f"{check.likely:.{digits}f} +- {check.sd:.{digits}f}", f"{check.limit:.{digits}f}", check.unit,
                      f"{check.margin:+.{digits}f}", STATUS_WORDS[check.status],
                      _sure(check.sure) if check.read else NOT_ENOUGH)
    for side in found.usual:
        table.add_row(f"{side.side} mean against usual", "", f"{side.mean:.0f}", "", f"{side.usual:.0f}", "N",
                      f"{100 * side.off:+.0f} %", "", "" if side.read else NOT_ENOUGH)
    console.print(table)
    console.print("value: of the wheel that fits all readings best, not a single reading; likely: the mean of all\n"
                  "wheels they allow, and how far it usually strays; sure: how many of 100 such wheels are within.\n")
    if found.gauge is not None:
        console.print(f"Gauge: you read {signed_gap(found.gauge.read)}; the wheel that fits all readings best has "
                      f"{signed_gap(found.gauge.fits)}.\n")
    if len(found.readings) > 1:
        console.print(_readings(found.readings))
        console.print()
    for line in learnt_lines(found):
        console.print(f"Learnt: {line}.")
    table = columns_table("a quarter turn of a side", "rim moves, mm", "right, N", "left, N")
    for one in found.quarter_turns:
        table.add_row(f"{one.verb} {one.side}", f"{abs(one.dish) / MM:.2f} {'right' if one.dish > 0 else 'left'}",
                      f"{one.right:+.0f}", f"{one.left:+.0f}")
    console.print(table)
    for line in map(advice_words, found.advice):
        console.print(f"Advice: {line}.")
    print_assumed(found.assumed, console)


def _sure(share: float) -> str:
    """A share as "how many of 100 wheels"; never 0 or 100, since readings can't give certainty."""
    return "over 99" if share > 0.995 else "under 1" if share < 0.005 else f"{100 * share:.0f}"


def _readings(readings: Sequence[Once]) -> Table:
    """All visits, with the prediction from the visit before beside what was read."""
    tells: dict[str, Quantity | None] = {
        "gauge_gap_mm": Quantity.GAP, "predicted_gap_mm": None, "lateral_runout_mm": Quantity.TRUE,
        "predicted_runout_mm": None, "radial_runout_mm": Quantity.ROUND, "right_N": Quantity.HIGHEST,
        "left_N": Quantity.HIGHEST, "highest_N": Quantity.HIGHEST, "predicted_highest_N": None}
    table = columns_table("reading", "after pass", "gap (+ right), mm", "predicted", "true, mm", "predicted",
                          "round, mm", "right, N", "left, N", "highest, N", "predicted")
    for one in readings:
        values = one.as_dict()
        cells = []
        for key, name in tells.items():
            value = values.get(key)
            cells.append(f"{value:.{0 if key.endswith('_N') else 2}f}" if value is not None else
                         NOT_ENOUGH if name in one.few else "-")
        table.add_row(one_line(one.label) or "-", str(one.after_pass or "-"), *cells)
    return table


def learnt_lines(found: Assessment) -> list[str]:
    """What was learnt from passes, a line for each property that differs from its prior by more than its sd."""
    words = {
        "lateral_stiffness": "this rim is {} {} sideways than its kind: one nipple's quarter turn moves it {}; "
                             "side passes are unchanged",
        "radial_stiffness": "this rim is {} {} up and down than its kind: a single nipple moves it {}",
    }
    out: list[str] = []
    if found.suspects:
        return out  # readings in doubt would teach something wrong
    moves = found.nipple_moves
    for one in found.learnt:
        off, way = abs(100 * (one.value - 1)), one.value > 1
        if abs(one.value - one.prior) < one.sd or (one.name == "gain_per_turn" and way):
            continue
        if one.name in words:  # the rim
            by = "less" if way else "more"
            if one.name == "lateral_stiffness" and moves is not None:
                by = f"{moves[0] / MM:.2f} mm, not {moves[1] / MM:.2f}"
            out.append(words[one.name].format(f"about {off:.0f} %", "stiffer" if way else "softer", by))
        elif one.name == "gain_per_turn":
            out.append(f"a turn gives {100 * one.value:.0f} % of what the thread says (+- {100 * one.sd:.0f}): the "
                       "rest goes into wind-up and bedding; plans count with it")
        else:
            out.append(f"the meter reads the {one.name.removeprefix('meter_')} spokes about {off:.0f} % "
                       f"{'high' if way else 'low'}")
    return out
