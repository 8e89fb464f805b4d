"""A job: a wheel, its readings in time order, what may be done to it, what has been done."""

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, field, replace

from wheelsim.readings.errors import ToolErrors
from wheelsim.readings.reading import BySpoke, Reading
from wheelsim.units import number_list
from wheelsim.wheel.parts import DIAL_REACH, Wheel
from wheelsim.wheel.rules import Fault, Part, require

STEPS = (1.0, 0.5, 0.25, 0.125, 0.0625)  # whole turn to sixteenth [turn]


@dataclass(frozen=True)
class Work(Part):
    """What may be done to the wheel, and what it should become.

    Parameters
    ----------
    step : float
        Every instruction is a whole number of these. [turn]
    stuck, leave : frozenset of int
        Spokes whose nipple can't, or shall not, be turned.
    margin : float
        Standard deviations kept from every limit.
    target_dish : float
        Offset the frame wants, plus right. [m]
    max_turns : float or None
        Most that one nipple may be turned, either way. [turn]
    sides : "both", "right" or "left"
    direction : "both", "loosen" or "tighten"
    time : float
        Longest time for a plan. [s]
    """

    step: float = 0.25
    stuck: frozenset[int] = field(default_factory=frozenset)
    leave: frozenset[int] = field(default_factory=frozenset)
    margin: float = 1.0
    target_dish: float = 0.0
    max_turns: float | None = None
    sides: str = "both"
    direction: str = "both"
    time: float = 30.0

    @property
    def untouched(self) -> frozenset[int]:
        """Spokes that no plan may turn."""
        return self.stuck | self.leave

    def _rules(self) -> Iterator[Fault | None]:
        if self.step not in STEPS:
            yield Fault("step", self.step, "expected 1, 1/2, 1/4, 1/8 or 1/16 of a turn")
        yield require("margin", self.margin, 0.0, 5.0, unit="standard deviations")
        yield require("target_dish", self.target_dish, -0.05, 0.05, unit="mm", scale=1e-3)
        if self.max_turns is not None:
            yield require("max_turns", self.max_turns, 0.0, 20.0, unit="turns")
        if self.sides not in ("both", "right", "left"):
            yield Fault("sides", self.sides, 'expected "both", "right" or "left"')
        if self.direction not in ("both", "loosen", "tighten"):
            yield Fault("direction", self.direction, 'expected "both", "loosen" or "tighten"')
        yield require("time", self.time, 0.0, 86400.0, above=True, unit="s")


@dataclass(frozen=True)
class Pass:
    """Turns made together: (spoke number, turns) pairs, or None where they are planned and not made yet.

    ``planned`` likewise; or True, planned as made; or None.
    """

    number: int
    turns: BySpoke | None
    planned: BySpoke | bool | None = None

    @property
    def made(self) -> BySpoke:
        """What was turned; nothing where it is still to be done."""
        return self.turns or ()


@dataclass(frozen=True)
class Job(Part):
    """A wheel on the bench.

    ``source`` names where it came from, for messages: a path or the shipped sample. Where the wheel says no edge, it is
    where the latest dial touched: true and dish are judged there.
    """

    wheel: Wheel
    readings: tuple[Reading, ...] = ()
    work: Work = field(default_factory=Work)
    passes: tuple[Pass, ...] = ()
    source: str = ""
    errors: ToolErrors = field(default_factory=ToolErrors)

    def __post_init__(self) -> None:
        super().__post_init__()
        touched = [one.dial_radius for one in self.readings if one.dial_radius is not None]
        if touched and self.wheel.rim.edge_radius is None:
            rim = replace(self.wheel.rim, edge_radius=touched[-1])
            object.__setattr__(self, "wheel", replace(self.wheel, rim=rim))

    @property
    def last(self) -> Reading | None:
        """The last reading, or None: the wheel is then taken as true and centred."""
        return self.readings[-1] if self.readings else None

    def _rules(self) -> Iterator[Fault | None]:
        missing = self.wheel.spokes.missing
        yield from spoke_faults(self.wheel.n, missing, self.readings, self.work, self.passes,
                                self.wheel.rim.section_radius)


def spoke_faults(n: int, missing: Set[int], readings: Sequence[Reading], work: Work, passes: Sequence[Pass],
                 rim: float | None = None) -> Iterator[Fault | None]:
    """Faults of what a job says of a wheel: of n spokes, ``rim`` its section's radius [m]; fields as in ``Job``."""
    for k, reading in enumerate(readings):
        for name in ("lateral", "radial", "tension"):
            for spoke, value in getattr(reading, name):
                if not 1 <= spoke <= n:
                    yield Fault(f"reading.{k}.{name}.{spoke}", value, f"expected spoke numbers from 1 to {n}")
        if rim is not None and reading.dial_radius is not None:
            yield require(f"reading.{k}.dial_radius", reading.dial_radius, rim - DIAL_REACH, rim + DIAL_REACH,
                          unit="mm", scale=1e-3)
        for spoke, value in reading.tension:
            if spoke in missing:
                yield Fault(f"reading.{k}.tension.{spoke}", value, "expected no tension of a missing spoke")
        for spoke in sorted(reading.read_again):
            if not 1 <= spoke <= n:
                yield Fault(f"reading.{k}.read_again", spoke, f"expected spoke numbers from 1 to {n}")
        numbers = {one.number for one in passes}
        if reading.after_pass not in (None, 0, *numbers):
            yield Fault(f"reading.{k}.after_pass", reading.after_pass,
                        f"expected 0 or the number of a pass ({number_list(numbers) or 'there is none'})")
    for name in ("stuck", "leave"):
        for spoke in sorted(getattr(work, name)):
            if not 1 <= spoke <= n:
                yield Fault(f"work.{name}", spoke, f"expected spoke numbers from 1 to {n}")
    for k, done in enumerate(passes):
        for name in ("turns", "planned"):
            pairs = getattr(done, name)
            for spoke, value in pairs if isinstance(pairs, tuple) else ():
                if not 1 <= spoke <= n:
                    yield Fault(f"pass.{k}.{name}.{spoke}", value, f"expected spoke numbers from 1 to {n}")
                elif spoke in missing and value:
                    yield Fault(f"pass.{k}.{name}.{spoke}", value, "expected no turns of a missing spoke")


def as_job(subject: Wheel | Job) -> Job:
    """A job of a wheel or a job."""
    return subject if isinstance(subject, Job) else Job(subject)
