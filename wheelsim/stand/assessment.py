"""What an assessment says: checks against the limits, quarter turns, every reading, and what to do next."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from wheelsim.encoded import Encoded
from wheelsim.estimation.assumed import Assumed
from wheelsim.estimation.course import Learnt
from wheelsim.estimation.doubts import Doubt
from wheelsim.measures.quantities import Quantity
from wheelsim.measures.view import View
from wheelsim.planning.sides import Verb
from wheelsim.stand.advice import Advice
from wheelsim.wheel.parts import Side

Judgement: TypeAlias = Literal["within", "outside", "unknown"]


@dataclass(frozen=True)
class Check(Encoded):
    """One line of the verdict, in the unit of the bench.

    ``value`` is that of the wheel that fits the readings best and ``margin`` how far inside the limit it
    lies, negative outside; ``likely`` and ``sd`` are mean and standard deviation over all wheels that the
    readings allow, and ``sure`` the share of those that lie within; ``status`` is "within", "outside" or
    "unknown" (can't tell); ``spoke`` where it is; ``read`` False where the reading says nothing of it directly.
    """

    name: str
    spoke: int | None
    value: float
    limit: float
    unit: str
    margin: float
    sd: float
    status: Judgement
    read: bool
    likely: float
    sure: float



@dataclass(frozen=True, eq=False)
class QuarterTurn(Encoded):
    """What a quarter turn of a whole side would do: change of dish [m] and of the sides' means [N]."""

    side: Side
    verb: Verb
    dish: float
    right: float
    left: float



@dataclass(frozen=True, eq=False)
class Once(Encoded):
    """The wheel as one of several readings found it: ``view`` is None where no stable wheel explains it.

    ``few`` are the quantities of which something was read, and not enough to tell them.
    """

    label: str
    view: View | None
    read: dict[str, bool]
    after_pass: int = 0
    predicted: View | None = None
    few: frozenset[Quantity] = frozenset()



@dataclass(frozen=True)
class AgainstUsual(Encoded):
    """A side's mean tension against what it should usually carry; ``read`` False where it was taken, not read. [N]"""

    side: Side
    mean: float
    usual: float
    read: bool

    @property
    def off(self) -> float:
        """Departure from the usual, as a fraction of it, minus below."""
        return self.mean / self.usual - 1 if self.usual > 0 else 0.0



@dataclass(frozen=True)
class GaugeFit(Encoded):
    """Twice the rim's offset as the gauge read it and as the wheel that fits all best has it, plus right. [m]"""

    read: float
    fits: float



@dataclass(frozen=True, eq=False)
class Assessment(Encoded):
    """A wheel against its limits.

    ``verdict`` is "outside" if any check is, or no stable wheel explains what was read (``view`` is then
    None); else "unknown" if any can't tell, else "within". ``readings`` are all of the job's, in time order.
    ``nipple_moves``: how far a quarter turn of one nipple moves the rim there, on average, as learnt and by its
    kind. [m] ``doubted`` are the spokes at which something read or turned is in doubt.
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
    readings: tuple[Once, ...] = ()
    usual: tuple[AgainstUsual, ...] = ()
    gauge: GaugeFit | None = None
    learnt: tuple[Learnt, ...] = ()
    nipple_moves: tuple[float, float] | None = None
    doubted: frozenset[int] = frozenset()
