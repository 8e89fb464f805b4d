"""What a prediction warns of, as records.

Apart from ``advice``: a prediction is asked for often, and making all of those records takes a thirtieth of its start.
"""

from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True)
class SlackSpokes:
    """Spokes are slack: the wheel must not be ridden."""

    spokes: tuple[int, ...]  # numbers, from 1


@dataclass(frozen=True)
class NearBuckling:
    """The right side's mean tension is above ``PRACTICAL_SHARE`` of the buckling tension."""

    mean: float  # [N]
    critical: float  # mean of the right side at buckling [N]
    waves: int  # of the buckling mode


Warned: TypeAlias = SlackSpokes | NearBuckling
