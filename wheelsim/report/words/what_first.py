"""What has to be done before centring, in words."""

from wheelsim.planning.what_first import TrueFirst
from wheelsim.units import MM


def true_first_words(one: TrueFirst) -> str:
    """Why to true the rim before centring, and how to read the gauge until then; without a full stop."""
    if not one.passes:
        return (f"the rim's wobble may set a gauge reading off by {one.once / MM:.2f} mm: set and read at the same "
                f"place, then a quarter round, and take the mean ({one.averaged / MM:.2f} mm off at most)")
    return (f"the rim is out of true: a gauge reading may be off by {one.once / MM:.2f} mm for it. True first, or set "
            f"and read at the same place, then a quarter round, and take the mean ({one.averaged / MM:.2f} mm off at "
            "most)")
