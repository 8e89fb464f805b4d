"""The one sentence above a picture."""

from dataclasses import replace

from wheelsim.measures.bounds import broken, resolved

# name, words, form of a value, unit, units per SI
_SAID = (
    ("gap", "gap", ".1f", "mm", 1e3),
    ("lateral_runout", "true", ".2f", "mm", 1e3),
    ("max_tension", "highest spoke", ",.0f", "N", 1.0),
    ("radial_runout", "round", ".2f", "mm", 1e3),
    ("side_spread", "side spread", ".0f", "%", 100.0),
    ("min_tension", "lowest spoke", ",.0f", "N", 1.0),
)
_ALWAYS = ("gap", "lateral_runout", "max_tension")


def what_to_see(wheel, before, after):
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
    for name, word, form, unit, scale in _SAID:
        words = f"{word} from the target" if name == "gap" and after.target_dish else word
        first, last, limit = (f"{value * scale:{form}}" for value in
                              (was[name], now[name], getattr(bounds, name)))
        moved = last if first == last else f"{first} to {last}"
        if name in outside:
            said.append(f"{words} {moved} {unit} (limit {limit})")
        elif name == "max_tension":
            said.append(f"{words} {moved} of {limit} {unit}")
        elif name in _ALWAYS:
            said.append(f"{words} {moved} {unit}")
    sentence = "; ".join(said)
    return sentence[0].upper() + sentence[1:]
