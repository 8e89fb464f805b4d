"""The heading of a strip: one sentence that says what to see."""

from dataclasses import replace

from wheelsim.measures.bounds import broken, resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.wheel.parts import Wheel

# Quantities in the order of the sentence: number format, and a name where a picture needs another than ``trade``.
_TOLD = {
    Quantity.GAP: (".1f", None),
    Quantity.TRUE: (".2f", None),
    Quantity.HIGHEST: (",.0f", "highest spoke"),
    Quantity.ROUND: (".2f", None),
    Quantity.SPREAD: (".0f", "side spread"),
    Quantity.LOWEST: (",.0f", "lowest spoke"),
}
_ALWAYS = (Quantity.GAP, Quantity.TRUE, Quantity.HIGHEST)  # told even if within their limits


def what_to_see(wheel: Wheel, before: View, after: View) -> str:
    """Gap, run-out and highest tension before and after; then whatever else is outside its limit after.

    Parameters
    ----------
    wheel : Wheel
        For its limits.
    before, after : View
        With a target dish the gap is given from the target.

    Returns
    -------
    str
        One sentence.
    """
    bounds = resolved(wheel)
    if wheel.limits.min_tension == "from load":
        bounds = replace(bounds, min_tension=0.0)
    was, now = before.values, after.values
    outside = broken(now, bounds)
    said = []
    for name, (form, own_words) in _TOLD.items():
        unit, words = name.unit, own_words or name.trade
        if name is Quantity.GAP and after.target_dish:
            words += " from the target"
        first, last, limit = (f"{value * name.per_si:{form}}" for value in
                              (was[name], now[name], getattr(bounds, name)))
        moved = last if first == last else f"{first} to {last}"
        if name in outside:
            said.append(f"{words} {moved} {unit} (limit {limit})")
        elif name is Quantity.HIGHEST:
            said.append(f"{words} {moved} of {limit} {unit}")
        elif name in _ALWAYS:
            said.append(f"{words} {moved} {unit}")
    sentence = "; ".join(said)
    return sentence[0].upper() + sentence[1:]
