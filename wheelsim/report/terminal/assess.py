"""An assessment as text and tables."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from wheelsim.files.errors import one_line
from wheelsim.measures.quantities import Quantity
from wheelsim.report.terminal.shared import columns_table, print_assumed, print_suspects
from wheelsim.report.words.shared import signed_gap, spokes_words
from wheelsim.report.words.stand import EYE_CHECKS, NOT_ENOUGH, NOT_READ, advice_words, judged_words
from wheelsim.stand.assessment import Assessment, Check, VisitView
from wheelsim.units import MM

WORKED_OUT = "*"  # behind a spoke
STATUS_WORDS = {"within": "within", "outside": "OUTSIDE", "unknown": "can't tell"}


def tell_assessment(found: Assessment, console: Console) -> None:
    """Print an assessment: checks by eye and hand first, then the verdict, then advice."""
    console.print(one_line(found.wheel + (f", {found.label}" if found.label else "")))
    console.print("\nBefore any number, by eye and hand:")
    for line in EYE_CHECKS:
        console.print(f"  {line}")
    console.print(f"\n{judged_words(found)}\n")
    print_suspects(found.suspects, found.read_first, console)
    if found.view is None:
        for line in map(advice_words, found.advice):
            console.print(f"{line}.")
        return
    table = columns_table("", "spoke", "value", "likely", "limit", "unit", "inside by", "", "sure")
    for check in found.checks:
        table.add_row(*_check_cells(check, found.view.target_dish))
    tensions = any(check.some for check in found.checks if check.unit == "N")
    for side in found.usual:
        mean, off = (f"{side.mean:.0f}", f"{100 * side.off:+z.0f} %") if tensions else ("-", "-")
        table.add_row(f"{side.side} mean against usual", "", mean, "", f"{side.usual:.0f}", "N", off, "",
                      "" if side.read else NOT_ENOUGH if tensions else NOT_READ)
    console.print(table)
    console.print("value: of the wheel that fits all readings best, not a single reading; likely: the mean of all\n"
                  "wheels they allow, and how far it usually strays; sure: how many of 100 such wheels are within.")
    if any(check.some and check.spoke_metered is False for check in found.checks):
        console.print(f"{WORKED_OUT}: no reading of that spoke is used; its tension is worked out from all else.")
    console.print("half of buckling: at twice that mean tension the rim folds; it is hard to keep true well before.\n")
    if found.gauge is not None:
        read, fits = (signed_gap(gap) + _from_target(gap, found.view.target_dish)
                      for gap in (found.gauge.read, found.gauge.fits))
        console.print(f"Gauge: you read {read}; the wheel that fits all readings best has {fits}.\n")
    if len(found.readings) > 1:
        console.print(_readings(found.readings))
        console.print()
    for line in learnt_lines(found):
        console.print(f"Learnt: {line}.")
    table = columns_table("a quarter turn of a side", "rim moves, mm", "right, N", "left, N")
    for one in found.quarter_turns:
        table.add_row(f"{one.verb} {one.side}", f"{abs(one.dish) / MM:.2f} {'right' if one.dish > 0 else 'left'}",
                      f"{one.right:+z.0f}", f"{one.left:+z.0f}")
    console.print(table)
    for line in map(advice_words, found.advice):
        console.print(f"Advice: {line}.")
    print_assumed(found.assumed, console)


def _check_cells(check: Check, target_dish: float) -> list[str]:
    """A line of the table; a dash for numbers of what nobody read."""
    digits = 0 if check.unit == "N" else 1 if check.unit == "%" else 2
    name = f"{check.name} from the target" if check.name == Quantity.GAP.trade and target_dish else check.name
    limit = f"{check.limit:.{digits}f}"
    if not check.some:
        return [name, "", "-", "-", limit, check.unit, "-", STATUS_WORDS[check.status], NOT_READ]
    known = check.read or check.status == "outside"
    spoke = "" if check.spoke is None else f"{check.spoke}{WORKED_OUT if check.spoke_metered is False else ''}"
    return [name, spoke, f"{check.value:z.{digits}f}",
            f"{check.likely:z.{digits}f} +- {check.sd:.{digits}f}", limit, check.unit, f"{check.margin:+z.{digits}f}",
            STATUS_WORDS[check.status], _doubt(check) or (_sure(check.sure) if known else NOT_ENOUGH)]


def _doubt(check: Check) -> str:
    """Which reading decides about a check, or that one does; none where no reading in doubt does."""
    if check.doubted:
        return f"{spokes_words(check.doubted)} in doubt"
    return "in doubt" if check.in_doubt and check.status == "unknown" and check.read else ""


def _from_target(gap: float, target_dish: float) -> str:
    """How far a gap is from that of the target dish, after a comma; nothing without a target. [m]"""
    return f", {abs(gap - 2 * target_dish) / MM:.2f} mm from the target" if target_dish else ""


def _sure(share: float) -> str:
    """A share as "how many of 100 wheels"; never 0 or 100, since readings can't give certainty."""
    rounded = round(100 * share)
    return "over 99" if rounded >= 100 else "under 1" if rounded <= 0 else str(rounded)


def _readings(readings: Sequence[VisitView]) -> Table:
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
