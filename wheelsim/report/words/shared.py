"""Phrases used for several kinds of result."""

from collections.abc import Collection

from wheelsim.mechanics.structure import Fails, NoStableState
from wheelsim.units import MM, number_list

FAILS = {Fails.STIFFNESS: "the wheel's stiffness is not positive", Fails.FOLDS: "the rim folds",
         Fails.NO_REST: "no equilibrium found"}


def no_stable_words(one: NoStableState) -> str:
    """Why a wheel has no stable state."""
    if one.readings:
        return (f"no stable wheel explains the readings ({FAILS[one.fails]}); look at their units, at the turns "
                "logged and at the wheel file")
    return FAILS[one.fails]


def spokes_words(numbers: Collection[int]) -> str:
    """Spoke numbers with the word before them: ``spoke 7``, ``spokes 1, 3-5``."""
    return f"spoke{'s' * (len(numbers) > 1)} {number_list(numbers)}"


def passes_words(numbers: Collection[int]) -> str:
    """``pass 7``, or ``passes 7-9``."""
    return f"pass{'es' * (len(numbers) > 1)} {number_list(numbers)}"


def new_spokes_words(numbers: Collection[int]) -> str:
    """Which spokes to put in: ``a new spoke at 7, of the right length``, ``new spokes at 7, 8, ...``."""
    if len(numbers) == 1:
        return f"a new spoke at {number_list(numbers)}, of the right length"
    return f"new spokes at {number_list(numbers)}, each of the right length"


def when_words(after_pass: int | None) -> str:
    """When it was read: after which pass, 0 for none; nothing for the last reading."""
    return "" if after_pass is None else f" after pass {after_pass}" if after_pass else " as received"


def signed_gap(gap: float) -> str:
    """A gap (twice the rim's offset, plus right [m]) in words: ``3.00 mm (rim left)``."""
    lies = "" if abs(gap) < MM / 200 else f" (rim {'right' if gap > 0 else 'left'})"
    return f"{abs(gap) / MM:.2f} mm{lies}"
