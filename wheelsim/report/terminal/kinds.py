"""Generic kinds of rim, and the stiffness of a rim measured by tapping, as text and tables."""

from rich.console import Console

from wheelsim.readings.tap import Tapped
from wheelsim.report.terminal.shared import columns_table
from wheelsim.wheel.kinds import KINDS, STIFFNESS_KEYS

TAP_HOW = """
A rim of your own: hang it bare by a thread at one hole, tap it and read the tones off a tuner. From the side,
at the thread and a quarter and a sixth round from it, listen for the two lowest; then once in its plane for the
lowest. Weigh it, measure the radius of its section's centre, and (these numbers are invented):
  wheelsim kinds --radius 300 --mass 500 --side-tones 84.1,282.7 --flat-tone 96.6
Half a per cent in a tone is several per cent in torsion and lateral bending; the answer says how many."""


def tell_kinds(tapped: Tapped | None, console: Console) -> None:
    """Print the generic kinds, and the stiffness of a tapped rim, or how to tap one if none was."""
    table = columns_table("kind", "bending, radial N.m2", "bending, lateral N.m2", "torsion N.m2", "stretch MN")
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
