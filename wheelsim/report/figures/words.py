"""The one sentence above a picture."""

from dataclasses import replace

from wheelsim.measures.bounds import broken, resolved
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.wheel.parts import Wheel

# In the order they are told: the form of a value and, where a picture needs other words than the trade's, those.
_TOLD = {
    Quantity.GAP: (".1f", None),
    Quantity.TRUE: (".2f", None),
    Quantity.HIGHEST: (",.0f", "highest spoke"),
    Quantity.ROUND: (".2f", None),
    Quantity.SPREAD: (".0f", "side spread"),
    Quantity.LOWEST: (",.0f", "lowest spoke"),
}
_ALWAYS = (Quantity.GAP, Quantity.TRUE, Quantity.HIGHEST)


def what_to_see(wheel: Wheel, before: View, after: View) -> str:
    """Gap, run-out and highest spoke, before to after; then all else that is still outside its limit.

    Parameters
    ----------
    wheel : Wheel
    before, after : View
        For a frame built off-centre the gap is told from its target, and said so.

    Returns
    -------
    str
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
