"""Passes in words: what to turn, which way to turn the spanner, what to do afterwards."""

from collections.abc import Sequence

import numpy as np

from wheelsim.measures.bounds import resolved
from wheelsim.planning.passes import PlannedPass
from wheelsim.planning.sides import Verb
from wheelsim.planning.ways import Way
from wheelsim.report.words.shared import spokes_words
from wheelsim.units import MM, turns_text
from wheelsim.wheel.sides import SIDES

SETTLE = ("Settle: squeeze the spokes in parallel pairs, once round on both flanges; read gauge and dial again, and "
          "the tension of a few spokes, for some of it is lost.")
SQUEEZE = "squeeze parallel pairs, once round both flanges; read gauge, dial, a few tensions"  # the same in short
GAUGE_AGAIN = "Gauge again before the next pass."
NOTICED = 0.1e-3  # of true: a dial shows it at a glance; own choice [m]
SPANNER: dict[Verb, str] = {
    "tighten": "clockwise seen from the tyre side",
    "loosen": "anticlockwise seen from the tyre side",
}


def pass_words(one: PlannedPass) -> str:
    """The pass without the spanner's direction: ``Left flange, loosen 1/4, every spoke, from the valve round``."""
    wheel = one.before.state.wheel
    amounts = np.abs(one.turns)
    parts = []
    for amount in np.unique(amounts[amounts > 0])[::-1]:
        spokes = np.flatnonzero(amounts == amount) + 1
        whole = len(spokes) == len(wheel.pulling(one.side))
        parts.append((turns_text(float(amount)), "every spoke" if whole else spokes_words(spokes.tolist())))
    head = f"{one.side.capitalize()} flange, {one.verb}"
    if len(parts) == 1:
        return f"{head} {', '.join(parts[0])}" + (", from the valve round" if np.count_nonzero(amounts) > 1 else "")
    each = "; ".join(f"{amount} at {which}" for amount, which in parts)
    return f"{head}, once round from the valve: {each}; no others"


def meanwhile_words(one: PlannedPass, passes: Sequence[PlannedPass]) -> str:
    """True after one of the passes that leaves it worse for a while, past its limit, than at both ends; else empty."""
    ends = max(passes[0].before.true, passes[-1].after.true)
    worse = one.after.true > max(resolved(one.before.wheel).lateral_runout, ends + NOTICED)
    return f", true {one.after.true / MM:.2f} mm for now" if worse else ""


def instruction(one: PlannedPass) -> str:
    """The whole instruction for a pass, in one sentence."""
    return f"{pass_words(one)}; turn the spanner {SPANNER[one.verb]}."


def way_action(way: Way) -> str:
    """The turns of a way without amounts: ``loosen left, then tighten right``."""
    parts = [f"{verb} {side}" for verb, side in (("loosen", way.loosen), ("tighten", way.tighten)) if side]
    return ", then ".join(parts)


def way_words(way: Way) -> str:
    """The turns of a way with amounts: ``loosen left 1/2``."""
    turned = {"right": way.right_turns, "left": way.left_turns}
    # Loosening comes before tightening, which is alphabetical order.
    return ", ".join(sorted(f"{'tighten' if turned[side] > 0 else 'loosen'} {side} {turns_text(abs(turned[side]))}"
                            for side in SIDES if turned[side]))
