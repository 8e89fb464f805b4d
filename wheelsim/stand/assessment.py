"""What an assessment says: checks against the limits, quarter turns, every reading, and what to do next."""

from dataclasses import dataclass
from typing import Literal, TypeAlias

from wheelsim.estimation.course import Learnt
from wheelsim.measures.view import View
from wheelsim.planning.sides import Verb
from wheelsim.units import MM, rounded
from wheelsim.wheel.parts import Side

Judgement: TypeAlias = Literal["within", "outside", "unknown"]


@dataclass(frozen=True)
class Check:
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

    def as_dict(self) -> dict[str, object]:
        """The line as JSON writes it; values, limit, margin and sd in ``unit``."""
        return vars(self).copy()


@dataclass(frozen=True, eq=False)
class QuarterTurn:
    """What a quarter turn of a whole side would do: change of dish [m] and of the sides' means [N]."""

    side: Side
    verb: Verb
    dish: float
    right: float
    left: float

    def as_dict(self) -> dict[str, object]:
        return {"side": self.side, "action": self.verb, "dish_mm": rounded(self.dish / MM, 6),
                "right_N": rounded(self.right, 3), "left_N": rounded(self.left, 3)}


@dataclass(frozen=True, eq=False)
class Once:
    """The wheel as one of several readings found it: ``view`` is None where no stable wheel explains it."""

    label: str
    view: View | None
    read: dict[str, bool]
    after_pass: int = 0
    predicted: View | None = None

    def as_dict(self) -> dict[str, str | float | None]:
        seen, said = self.view, self.predicted
        values: dict[str, tuple[str, float, int]] = {} if seen is None else {
            "gauge_gap_mm": ("gap", seen.gap / MM, 6), "lateral_runout_mm": ("lateral_runout", seen.true / MM, 6),
            "radial_runout_mm": ("radial_runout", seen.round / MM, 6),
            "right_N": ("max_tension", seen.mean["right"], 3), "left_N": ("max_tension", seen.mean["left"], 3),
            "highest_N": ("max_tension", seen.highest, 3)}
        foretold = {"predicted_gap_mm": None if said is None else rounded(said.gap / MM, 6),
                    "predicted_runout_mm": None if said is None else rounded(said.true / MM, 6),
                    "predicted_highest_N": None if said is None else rounded(said.highest, 3)}
        found = {key: rounded(value, digits) if self.read[name] else None
                 for key, (name, value, digits) in values.items()}
        return {"label": self.label, "after_pass": self.after_pass, **found, **foretold}


@dataclass(frozen=True)
class AgainstUsual:
    """A side's mean tension against what it should usually carry; ``read`` False where it was taken, not read. [N]"""

    side: Side
    mean: float
    usual: float
    read: bool

    @property
    def off(self) -> float:
        """Departure from the usual, as a fraction of it, minus below."""
        return self.mean / self.usual - 1 if self.usual > 0 else 0.0

    def as_dict(self) -> dict[str, object]:
        return {"side": self.side, "mean_N": rounded(self.mean, 3), "usual_N": rounded(self.usual, 3),
                "percent": rounded(100 * self.off, 3), "read": self.read}


@dataclass(frozen=True)
class GaugeFit:
    """Twice the rim's offset as the gauge read it and as the wheel that fits all best has it, plus right. [m]"""

    read: float
    fits: float

    def as_dict(self) -> dict[str, object]:
        return {"read_mm": rounded(self.read / MM, 6), "fits_mm": rounded(self.fits / MM, 6)}


@dataclass(frozen=True, eq=False)
class Assessment:
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
    assumed: tuple[str, ...]
    suspects: tuple[str, ...]
    advice: tuple[str, ...]
    readings: tuple[Once, ...] = ()
    usual: tuple[AgainstUsual, ...] = ()
    gauge: GaugeFit | None = None
    learnt: tuple[Learnt, ...] = ()
    nipple_moves: tuple[float, float] | None = None
    doubted: frozenset[int] = frozenset()

    def as_dict(self) -> dict[str, object]:
        return {"format": 1, "wheel": self.wheel, "verdict": self.verdict,
                "checks": [check.as_dict() for check in self.checks],
                "state": None if self.view is None else self.view.as_dict(),
                "quarter_turns": [one.as_dict() for one in self.quarter_turns],
                "assumed": list(self.assumed), "suspects": list(self.suspects), "advice": list(self.advice),
                "readings": [one.as_dict() for one in self.readings],
                "usual": [one.as_dict() for one in self.usual],
                "learnt": [one.as_dict() for one in self.learnt],
                "gauge": None if self.gauge is None else self.gauge.as_dict()}
