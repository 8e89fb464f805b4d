"""What is accepted of a wheel, and what a plan strives for."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from wheelsim.wheel.rules import Fault, Part, is_number, require

USUAL_WITHIN = 0.15  # of the usual tension a side's mean should end: common practice, no source


@dataclass(frozen=True)
class Limits(Part):
    """What is accepted, or, as aims, what a plan strives for.

    Tensions in N, lengths in m, ``side_spread`` is the largest departure from a side's mean as a
    fraction of it. ``min_tension`` may be the wish "from load". ``off_usual`` is the largest departure of
    a side's mean from its usual tension, a fraction of that; infinite where none is asked for. ``stated`` names the
    fields that a file states; the others are defaults.
    """

    max_tension: float = 1200.0
    min_tension: float | Literal["from load"] = 300.0
    gap: float = 1.0e-3
    lateral_runout: float = 0.5e-3
    radial_runout: float = 0.5e-3
    side_spread: float = 0.20
    off_usual: float = math.inf
    stated: frozenset[str] = field(default=frozenset(), compare=False)

    def _rules(self) -> Iterator[Fault | None]:
        yield require("max_tension", self.max_tension, 0.0, 1e4, above=True, unit="N")
        if self.min_tension != "from load":
            fault = require("min_tension", self.min_tension, 0.0, 1e4, unit="N")
            yield fault
            if fault is None and is_number(self.max_tension) and self.min_tension >= self.max_tension:
                yield Fault("min_tension", self.min_tension, f"expected less than the highest allowed "
                            f"tension, {self.max_tension:g} N")
        for name in ("gap", "lateral_runout", "radial_runout"):
            yield require(name, getattr(self, name), 0.0, 0.05, above=True, unit="mm", scale=1e-3)
        yield require("side_spread", self.side_spread, 0.0, 1.0, above=True, unit="per cent", scale=0.01)
        if self.off_usual != math.inf:
            yield require("off_usual", self.off_usual, 0.0, 1.0, above=True, unit="per cent", scale=0.01)


def default_aims(limits: Limits) -> Limits:
    """What a plan strives for when the file names no aims: design rule of half the limits."""
    return Limits(
        max_tension=limits.max_tension,
        min_tension=limits.min_tension,
        gap=min(0.3e-3, limits.gap),
        lateral_runout=limits.lateral_runout / 2,
        radial_runout=limits.radial_runout / 2,
        side_spread=limits.side_spread / 2,
        off_usual=min(USUAL_WITHIN, limits.off_usual),
    )
