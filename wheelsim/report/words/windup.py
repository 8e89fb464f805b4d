"""Wind-up of spokes in words: how far to overshoot a turn and come back."""

from collections.abc import Sequence

from wheelsim.planning.passes import PlannedPass
from wheelsim.readings.errors import MISTURN_SD

LEAST_TWIST = 360 * MISTURN_SD  # own choice: a twist below a hand's usual error per turn is not mentioned [degree]


def near_degrees(turns: float) -> int:
    """Turns as an angle rounded to five degrees, which is about what a hand can set. [degree]"""
    return 5 * round(360 * turns / 5)


def past_and_back(one: PlannedPass) -> str:
    """What to do about wind-up in a pass, in one sentence; empty if it is below ``LEAST_TWIST``."""
    if 360 * one.wind_up < LEAST_TWIST:
        return ""
    return (f"The spokes twist some {near_degrees(one.wind_up)} degrees before the nipples move: turn that much too "
            "far, then back by as much.")


def past_and_back_of_all(passes: Sequence[PlannedPass]) -> str:
    """The same for all passes together, with the largest wind-up of each direction."""
    most = {verb: max(one.wind_up for one in passes if one.verb == verb)
            for verb in ("loosen", "tighten") if any(one.verb == verb for one in passes)}
    told = [f"some {near_degrees(twist)} degrees to {verb}" for verb, twist in most.items()
            if 360 * twist >= LEAST_TWIST]
    return "" if not told else (f"Spokes twist before the nipple moves ({', '.join(told)}): turn that much too far, "
                                "then back.")
