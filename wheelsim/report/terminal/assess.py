"""An assessment in words and tables."""

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table

from wheelsim.files.errors import one_line
from wheelsim.report.terminal.shared import columns_table, print_assumed, print_suspects
from wheelsim.stand.assess import EYE_CHECKS, Assessment, Once
from wheelsim.units import MM

STATUS_WORDS = {"within": "within", "outside": "OUTSIDE", "unknown": "can't tell"}


def tell_assessment(found: Assessment, console: Console) -> None:
    """Print an assessment: first what eye and hand must say, then the verdict, then tighten or loosen."""
    console.print(one_line(found.wheel + (f", {found.label}" if found.label else "")))
    console.print("\nBefore any number, by eye and hand:")
    for line in EYE_CHECKS:
        console.print(f"  {line}")
    verdict = {"within": "Within its limits.", "outside": "Outside its limits.",
               "unknown": "Can't tell: what was read is not enough, or too near a limit."}
    console.print(f"\n{verdict[found.verdict]}\n")
    print_suspects(found.suspects, console)
    if found.view is None:
        for line in found.advice:
            console.print(f"{line}.")
        return
    table = columns_table("", "spoke", "value", "likely", "limit", "unit", "inside by", "", "sure")
    for check in found.checks:
        digits = 0 if check.unit == "N" else 1 if check.unit == "%" else 2
        table.add_row(check.name, "" if check.spoke is None else str(check.spoke), f"{check.value:.{digits}f}",
                      f"{check.likely:.{digits}f} +- {check.sd:.{digits}f}", f"{check.limit:.{digits}f}", check.unit,
                      f"{check.margin:+.{digits}f}", STATUS_WORDS[check.status],
                      _sure(check.sure) if check.read else "not enough read")
    for side in found.usual:
        table.add_row(f"{side.side} mean against usual", "", f"{side.mean:.0f}", "", f"{side.usual:.0f}", "N",
                      f"{100 * side.off:+.0f} %", "", "" if side.read else "not enough read")
    console.print(table)
    console.print("value: of the wheel that fits all readings best, not a single reading; likely: the mean of all\n"
                  "wheels they allow, and how far it usually strays; sure: how many of 100 such wheels are within.\n")
    if found.gauge is not None:
        console.print(f"Gauge: you read {abs(found.gauge.read) / MM:.2f} mm; the wheel that fits all readings best has "
                      f"{abs(found.gauge.fits) / MM:.2f} mm.\n")
    if len(found.readings) > 1:
        console.print(_readings(found.readings))
        console.print()
    table = columns_table("a quarter turn of a side", "rim moves, mm", "right, N", "left, N")
    for one in found.quarter_turns:
        table.add_row(f"{one.verb} {one.side}", f"{abs(one.dish) / MM:.2f} {'right' if one.dish > 0 else 'left'}",
                      f"{one.right:+.0f}", f"{one.left:+.0f}")
    console.print(table)
    for line in found.advice:
        console.print(f"Advice: {line}.")
    print_assumed(found.assumed, console)


def _sure(share: float) -> str:
    """How many of a hundred wheels, never all of them: that no reading can say."""
    return "over 99" if share > 0.995 else "under 1" if share < 0.005 else f"{100 * share:.0f}"


def _readings(readings: Sequence[Once]) -> Table:
    table = columns_table("reading", "gap, mm", "true, mm", "round, mm", "right, N", "left, N")
    for one in readings:
        cells = list(one.as_dict().values())[1:] or [None] * 5
        table.add_row(one_line(one.label) or "-", *("-" if cell is None else f"{cell:.{0 if k > 2 else 2}f}"
                                                    for k, cell in enumerate(cells)))
    return table
