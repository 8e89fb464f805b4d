"""Records of which an assessment consists: checks, quarter turns, readings, comparison with the usual tension."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from wheelsim.encoded import Encoded
from wheelsim.estimation.assumed import Assumed
from wheelsim.estimation.course import Learnt
from wheelsim.estimation.doubts import Doubt
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import Stands, View
from wheelsim.planning.sides import Verb
from wheelsim.stand.advice import Advice
from wheelsim.wheel.parts import Side

Judgement: TypeAlias = Literal["within", "outside", "unknown"]


@dataclass(frozen=True)
class Check(Encoded):
    """One quantity against its limit; numbers are in ``unit`` and rounded for display."""

    name: str
    spoke: int | None  # the spoke that has the value, where it is one spoke's
    value: float  # of the best estimate (the wheel that fits all readings best)
    limit: float
    unit: str  # "mm", "N" or "%"
    margin: float  # how far ``value`` is inside the limit; negative outside
    sd: float  # standard deviation over wheels drawn from the posterior
    status: Judgement  # "unknown": can't tell
    read: bool  # False: not enough was read of it to call it "within"
    likely: float  # mean over the drawn wheels
    sure: float  # share of the drawn wheels that are within the limit, 0 to 1
    some: bool = True  # False: nothing was read of it, so the status is "unknown"
    doubted: tuple[int, ...] = ()  # spokes whose readings in doubt would take it past its limit, were they true
    spoke_metered: bool | None = None  # False: that spoke's tension is worked out from all else; None: no one spoke's
    in_doubt: bool = False  # what must be read again first decides about it, so it can't be "within"


@dataclass(frozen=True, eq=False)
class QuarterTurn(Encoded):
    """Linear effect of a quarter turn of every nipple of one side."""

    side: Side  # that is turned
    verb: Verb
    dish: float  # change of the dish, plus right [m]
    right: float  # change of the right side's mean tension [N]
    left: float  # and of the left side's [N]


@dataclass(frozen=True, eq=False)
class VisitView(Encoded):
    """One visit in the job's history: the wheel as estimated from the readings up to then."""

    label: str
    view: View | None  # None where no stable wheel explains the readings
    read: dict[str, bool]  # which quantities this reading itself measured; see ``certainty.was_read``
    after_pass: int = 0  # number of the last pass before it
    predicted: View | None = None  # predicted from the visit before it and the turns between; None for the first
    few: frozenset[Quantity] = frozenset()  # something was read of these, and not enough to tell them


@dataclass(frozen=True)
class AgainstUsual(Encoded):
    """A side's mean tension against its usual tension."""

    side: Side
    mean: float  # [N]
    usual: float  # [N]
    read: bool  # False: tensions were not read, so the mean is an assumption

    @property
    def off(self) -> float:
        """Departure from the usual tension, as a fraction of it, minus below."""
        return self.mean / self.usual - 1 if self.usual > 0 else 0.0


@dataclass(frozen=True)
class GaugeFit(Encoded):
    """The gauge's reading against the best estimate; both twice the rim's offset, plus right. [m]"""

    read: float
    fits: float


@dataclass(frozen=True, eq=False)
class Assessment(Encoded):
    """A wheel against its limits.

    Attributes
    ----------
    wheel, label : str
        Names of the wheel and of the last reading.
    verdict : "within", "outside" or "unknown"
        "outside" if any check is, or if no stable wheel explains the readings; else "unknown" if any check is; else
        "within".
    checks : tuple of Check
    view : View or None
        The best estimate; None if no stable wheel explains the readings.
    quarter_turns : tuple of QuarterTurn
    assumed : tuple of Assumed
    suspects : tuple of Doubt
        Readings and turns that are probably wrong, the worst first.
    advice : tuple of Advice
    readings : tuple of VisitView
        All visits of the job, in time order.
    usual : tuple of AgainstUsual
        Right, then left.
    gauge : GaugeFit or None
        None if the gauge was not read at the last visit.
    learnt : tuple of Learnt
    nipple_moves : (float, float) or None
        Shift of the rim at a spoke by a quarter turn of its nipple, mean over the spokes: with the rim's stiffness as
        learnt from the passes, and as stated for its kind. None where nothing was learnt. [m]
    doubted : frozenset of int
        Numbers of spokes at which a reading or a turn is in doubt.
    stands : Stands or None
        Overall tension by the sides' means; None where tensions were not read.
    read_first : tuple of Doubt
        Those of the suspects that decide what is turned: nothing is, until they are cleared by reading again.
    """

    wheel: str
    label: str
    verdict: Judgement
    checks: tuple[Check, ...]
    view: View | None
    quarter_turns: tuple[QuarterTurn, ...]
    assumed: tuple[Assumed, ...]
    suspects: tuple[Doubt, ...]
    advice: tuple[Advice, ...]
    readings: tuple[VisitView, ...] = ()
    usual: tuple[AgainstUsual, ...] = ()
    gauge: GaugeFit | None = None
    learnt: tuple[Learnt, ...] = ()
    nipple_moves: tuple[float, float] | None = None
    doubted: frozenset[int] = frozenset()
    stands: Stands | None = None
    read_first: tuple[Doubt, ...] = ()
