"""What has to be done before centring, in words."""

from wheelsim.planning.what_first import TrueFirst
from wheelsim.stand.advice import Wobble
from wheelsim.units import MM


def true_first_words(one: TrueFirst) -> str:
    """How doubtful the rim's wobble makes the gauge, and how to read it until it is true; without a full stop."""
    twice = _twice(one.averaged)
    then = f"True first, or {twice}" if one.passes else f"{twice[0].upper()}{twice[1:]}"
    return f"the rim's wobble makes the gauge doubtful by {one.once / MM:.2f} mm. {then}"


def wobble_words(one: Wobble) -> str:
    """The same for an assessment, where the gauge may be still to be read; without a full stop."""
    by = "" if one.read else " by the other readings"
    wobble = f"the rim's wobble ({one.run_out / MM:.2f} mm{by})"
    if not one.gauged:
        return (f"{wobble} would make the gauge doubtful by {one.once / MM:.2f} mm: true it before the gauge is read, "
                f"or {_twice(one.averaged)}")
    twice = _twice(one.averaged)
    then = f"{twice[0].upper()}{twice[1:]}" if one.within else f"True first, or {twice}"
    return f"{wobble} makes the gauge doubtful by {one.once / MM:.2f} mm. {then}"


def _twice(averaged: float) -> str:
    return ("set and read at the same place, then a quarter round, and take the mean "
            f"({averaged / MM:.2f} mm off at most)")
