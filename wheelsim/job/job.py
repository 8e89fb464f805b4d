"""A job: a wheel, its readings in time order, what may be turned, and the passes planned and made."""

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, field, replace

from wheelsim.readings.errors import ToolErrors
from wheelsim.readings.reading import BySpoke, Reading, shown_faults
from wheelsim.units import number_list
from wheelsim.wheel.parts import DIAL_REACH, Spokes, Wheel
from wheelsim.wheel.rules import Fault, Part, require

STEPS = (1.0, 0.5, 0.25, 0.125, 0.0625)  # amounts that a spanner can be set by: common practice, no source [turn]


@dataclass(frozen=True)
class Work(Part):
    """What a plan may turn, and what it is to reach.

    Parameters
    ----------
    step : float
        Every turn in a plan is a multiple of it. [turn]
    stuck, leave : frozenset of int
        Spokes whose nipple can't, or must not, be turned.
    margin : float
        Safety margin from every limit, in standard deviations of what is known of the wheel.
    target_dish : float
        Dish that the frame needs, plus right. [m]
    max_turns : float or None
        Largest turn of one nipple in either direction; None for no bound. [turn]
    sides : "both", "right" or "left"
        Sides that may be turned.
    direction : "both", "loosen" or "tighten"
    time : float
        Time limit of a plan. [s]
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
    """Turns that are made once round the wheel, as (spoke number, turns) pairs; plus tightens. [turn]"""

    number: int  # from 1, in the order of the work
    turns: BySpoke | None  # what was turned; None while the pass is planned and not made yet
    planned: BySpoke | bool | None = None  # what was planned; True: the same as was made; None: nothing is known of it
    gauge_again: bool = False  # whether the plan asks for the gauge to be read again after it

    @property
    def made(self) -> BySpoke:
        """What was turned; empty for a pass that is not made yet."""
        return self.turns or ()


@dataclass(frozen=True)
class Job(Part):
    """A wheel, its readings and the work on it.

    Raises
    ------
    PartError
        When a field is out of range or names a spoke that the wheel has not.

    Notes
    -----
    If the wheel states no radius of the rim's edge, the radius where the latest dial touched is taken: true and dish
    are judged there.
    """

    wheel: Wheel
    readings: tuple[Reading, ...] = ()  # in time order
    work: Work = field(default_factory=Work)
    passes: tuple[Pass, ...] = ()  # in the order of the work
    source: str = ""  # for messages: the path of the file, or the name of the sample
    errors: ToolErrors = field(default_factory=ToolErrors)  # standard deviations of the shop's tools

    def __post_init__(self) -> None:
        super().__post_init__()
        touched = [one.dial_radius for one in self.readings if one.dial_radius is not None]
        if touched and self.wheel.rim.edge_radius is None:
            rim = replace(self.wheel.rim, edge_radius=touched[-1])
            object.__setattr__(self, "wheel", replace(self.wheel, rim=rim))

    @property
    def last(self) -> Reading | None:
        """The latest reading; None if there is none, then the wheel is taken as true and centred."""
        return self.readings[-1] if self.readings else None

    def _rules(self) -> Iterator[Fault | None]:
        wheel = self.wheel
        yield from spoke_faults(wheel.n, wheel.spokes.missing, self.readings, self.work, self.passes,
                                wheel.rim.section_radius)
        yield from tool_faults(self.readings, wheel.spokes, wheel)


def spoke_faults(n: int, missing: Set[int], readings: Sequence[Reading], work: Work, passes: Sequence[Pass],
                 rim: float | None = None) -> Iterator[Fault | None]:
    """Faults in readings, work and passes for a wheel of n spokes; ``rim``: radius of its section's centre. [m]"""
    for k, reading in enumerate(readings):
        tension = (*reading.tension, *((one.spoke, one.value) for one in reading.shown))
        for name, pairs in (("lateral", reading.lateral), ("radial", reading.radial), ("tension", tension)):
            for spoke, value in pairs:
                if not 1 <= spoke <= n:
                    yield Fault(f"reading.{k}.{name}.{spoke}", value, f"expected spoke numbers from 1 to {n}")
        if rim is not None and reading.dial_radius is not None:
            yield require(f"reading.{k}.dial_radius", reading.dial_radius, rim - DIAL_REACH, rim + DIAL_REACH,
                          unit="mm", scale=1e-3)
        for spoke, value in tension:
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


def tool_faults(readings: Sequence[Reading], spokes: Spokes | None, wheel: Wheel | None) -> Iterator[Fault | None]:
    """Faults of what tones and meters showed, as far as the spokes and the wheel are known."""
    for k, reading in enumerate(readings):
        for fault in shown_faults(reading, spokes, wheel):
            yield fault and replace(fault, field=f"reading.{k}.{fault.field}")


def as_job(subject: Wheel | Job) -> Job:
    """The job itself, or a job without readings for a wheel."""
    return subject if isinstance(subject, Job) else Job(subject)
