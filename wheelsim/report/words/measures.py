"""Limits and measured quantities in words."""

from wheelsim.measures.bounds import LowerLimit, LowerLimitFrom
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.units import MM


def lower_limit_words(one: LowerLimit) -> str:
    """How the lowest tension "from load" was found, in one sentence without a full stop."""
    used = f"{one.tension:.0f} N is used"
    if one.source is LowerLimitFrom.NO_LOAD_STATED:
        return f'min_tension_N is "from load" but [load] states no radial_N: {used}'
    if one.source is LowerLimitFrom.OUT_OF_REACH:
        return (f"{one.load:.0f} N on the wheel would need {one.needed:.0f} N in every spoke, but the looser "
                f"side has {one.available:.0f} N when the tighter is at its limit: {used}")
    return (f"lowest tension from the load: below {one.tension:.0f} N a spoke can go slack under "
            f"{one.load:.0f} N on the wheel with the tyre inflated, which takes some {one.taken:.0f} N")


def limit_words(name: str) -> str:
    """Short name of a limit for lists: that of its quantity, or that of the limit on turns."""
    if name == "max_turns":
        return "more turns than allowed"
    quantity = Quantity(name)
    return "spread" if quantity is Quantity.SPREAD else quantity.trade


def gap_words(seen: View) -> str:
    """The gauge's gap, the side on which the rim lies, and the distance from a target.

    ``1.85 mm (rim left)``, or ``1.85 mm (rim left; 0.15 mm right of the target)`` for a frame built off-centre.
    """
    gap, off = seen.gap / MM, seen.off_target / MM
    lies = [] if abs(gap) < 0.005 else [f"rim {'right' if gap > 0 else 'left'}"]
    if seen.target_dish:
        lies.append("on target" if abs(off) < 0.005 else
                    f"{abs(off):.2f} mm {'right' if off > 0 else 'left'} of the target")
    return f"{abs(gap):.2f} mm" + (f" ({'; '.join(lies)})" if lies else "")
