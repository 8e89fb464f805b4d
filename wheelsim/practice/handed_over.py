"""What a learner did with a hidden wheel, as it is handed over."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from wheelsim.measures.bounds import Bounds
from wheelsim.mechanics.equilibrium import State
from wheelsim.practice.answers import Answer
from wheelsim.practice.faults import Case
from wheelsim.practice.made import Made


@dataclass(frozen=True, eq=False)
class HandedOver:
    """The wheel and the work on it.

    Attributes
    ----------
    state : State
        As it is left.
    passed : mapping of int to float
        By spoke, the highest tension above what it may have on the way. [N]
    peak : float
        Highest tension on the way. [N]
    passes : int
        Times round the wheel.
    folded : int
        How often the wheel would have folded.
    predictions, hints : int
        How many were made, and asked for.
    meter_scale : (float, float)
        What the meter shows of what there is, on the right and on the left side's spokes.
    read_with_meter : bool
        Whether the meter was used at all.
    """

    case: Case
    limits: Bounds
    state: State
    made: Sequence[Made]
    answers: Sequence[Answer]
    passed: Mapping[int, float]
    peak: float
    passes: int
    folded: int
    predictions: int
    hints: int
    meter_scale: tuple[float, float]
    read_with_meter: bool
