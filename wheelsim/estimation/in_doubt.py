"""What would follow if readings that all else contradicts were true, and what has to be read again before any turn."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wheelsim.estimation.doubts import (
    Contradicted,
    Doubt,
    DoubtedReading,
    GaugeFarOff,
    GaugeUnexpected,
    KgfAsNewtons,
    ManyTimes,
    NewtonsAsKgf,
    SidesSwapped,
    SomeKgf,
    Unbalanced,
)
from wheelsim.estimation.gauge_before import GaugeBefore
from wheelsim.estimation.held_out import DialFarOff
from wheelsim.estimation.large_turns import LargeTurn
from wheelsim.estimation.outliers import OneReading
from wheelsim.estimation.problem import FEW
from wheelsim.estimation.slips import PassAstray
from wheelsim.estimation.suspects import likely_reading
from wheelsim.measures.bounds import Bounds, broken, resolved
from wheelsim.measures.quantities import Measures, Quantity, measure
from wheelsim.mechanics.equilibrium import State

if TYPE_CHECKING:
    from wheelsim.estimation.known import Known

LEAST_SCALE = 1e-3  # of a meter against the estimate: no division by nought
# Of a limit, by which a wheel that is past it anyhow would be farther out to be turned otherwise. Own choice.
MUCH = {Quantity.HIGHEST: 0.1, Quantity.LOWEST: 0.1}
MUCH_OF_RUNOUT = 0.5  # of a run-out, and of the spread
READ_KINDS = ("tension", "lateral", "radial")


@dataclass(frozen=True, eq=False)
class IfTrue:
    """A reading that all else contradicts, and the wheel if it were true.

    Attributes
    ----------
    kind : str
        "tension", "lateral" or "radial".
    spoke : int
    value : float
        As read. [N, m]
    likely : float
        As all else says, on the same scale. [N, m]
    stands : bool
        Whether it was read again.
    wheel : Measures
    after_pass : int or None
        Number of the pass, 0 for none, after which it was read, where that isn't the last reading.
    """

    kind: str
    spoke: int
    value: float
    likely: float
    stands: bool
    wheel: Measures
    after_pass: int | None = None

    def breaks(self, state: State, limits: Bounds, target_dish: float) -> tuple[Quantity, ...]:
        """The quantities that it would take past their limit, or much farther past it than the best estimate is."""
        now = measure(state.wheel, state.edge, state.radial, state.tension, target_dish)
        kept, then = ({name: float(value) for name, value in one.limited.items()} for one in (now, self.wheel))
        past = broken(kept, limits)
        return tuple(name for name in broken(then, limits) if name not in past or
                     name.sign * (then[name] - kept[name]) > MUCH.get(name, MUCH_OF_RUNOUT) * limits.of(name))


def if_true(told: "Known") -> tuple[IfTrue, ...]:
    """The wheel if each reading in doubt were true, those that were read again and stand included."""
    if not told.log:
        return ()
    some = [(one, False) for one in told.doubted]
    some += [(one, True) for one in told.stand_alone]
    return tuple(_if_true(told, one, stands) for one, stands in some if one.kind in READ_KINDS)


def _if_true(told: "Known", one: OneReading, stands: bool) -> IfTrue:
    state, (reading, then, after_pass) = told.found.state, told.visit_of(one)
    shape = {"tension": state.tension, "lateral": state.edge, "radial": state.radial}
    now, value = shape[one.kind].copy(), dict(getattr(reading, one.kind))[one.spoke]
    likely, scale, _ = likely_reading(reading, one.kind, one.spoke, then)
    now[one.spoke - 1] += (value - likely) / max(scale, LEAST_SCALE)
    shape[one.kind] = now
    wheel = measure(state.wheel, shape["lateral"], shape["radial"], shape["tension"], told.job.work.target_dish)
    return IfTrue(one.kind, one.spoke, value, likely, stands, wheel, after_pass)


def read_first(told: "Known") -> tuple[Doubt, ...]:
    """The doubts that decide what is turned: nothing is, until they are cleared by reading again.

    Of a single reading that holds if it were past a limit or an aim, were it true. Sides that don't balance decide
    nothing: the dish goes by the gauge, and the tensions by both sides together. What was read again and stands, and a
    pass logged otherwise than turned once gauge and tensions were read after it, no longer stand in the way.
    """
    return tuple(_decides(told))


def _decides(told: "Known") -> Iterator[Doubt]:
    if not told.doubts:
        return
    reading = told.log[-1].reading
    tensions = len(reading.tension) >= FEW
    single = {(one.kind, one.spoke): one for one in told.in_doubt}
    wheel, target = told.job.wheel, told.job.work.target_dish
    limits, aims = resolved(wheel), resolved(wheel, aims=True)
    # Beside a broken spoke others are far off; a new one is put in first, and all is read again then.
    missing = bool(wheel.spokes.missing)
    for doubt in told.doubts:
        match doubt:
            case PassAstray():
                decides = not (tensions and reading.gauge is not None)
            case GaugeBefore():
                decides = not tensions  # turns that were otherwise show in those
            case (Contradicted() | GaugeFarOff() | DialFarOff() | KgfAsNewtons() | NewtonsAsKgf() | ManyTimes()
                  | SidesSwapped()):
                decides = True
            case LargeTurn():
                decides = doubt.side is not None  # a new spoke is drawn up by several turns
            case Unbalanced():
                decides = told.other_face
            case GaugeUnexpected():
                decides = not (tensions and reading.gauge_again)
            case SomeKgf():
                decides = not missing
            case DoubtedReading():
                true = single.get((doubt.outlier.kind, doubt.outlier.spoke))
                decides = not missing and true is not None and any(
                    true.breaks(told.found.state, bounds, target) for bounds in (limits, aims))
            case _:
                decides = False
        if decides:
            yield doubt
