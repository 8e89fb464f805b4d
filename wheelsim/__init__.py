"""Predict, plan and teach the truing and centring of tension-spoked wheels."""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the same names as in _HOMES, for type checkers and editors
    from wheelsim.files.reader import read_job as read_job
    from wheelsim.files.reader import read_wheel as read_wheel
    from wheelsim.job.job import Job as Job
    from wheelsim.job.job import Work as Work
    from wheelsim.mechanics.influence import influence as influence
    from wheelsim.mechanics.influence import point_stiffness as point_stiffness
    from wheelsim.mechanics.stability import critical_tension as critical_tension
    from wheelsim.planning.plan import plan as plan
    from wheelsim.readings.gauge import Gauge as Gauge
    from wheelsim.readings.reading import Reading as Reading
    from wheelsim.readings.reading import Shown as Shown
    from wheelsim.report.figures.figure import figure as figure
    from wheelsim.stand.assess import assess as assess
    from wheelsim.stand.predict import predict as predict
    from wheelsim.stand.stand import Stand as Stand
    from wheelsim.wheel.parts import Flange as Flange
    from wheelsim.wheel.parts import Hub as Hub
    from wheelsim.wheel.parts import Joint as Joint
    from wheelsim.wheel.parts import Limits as Limits
    from wheelsim.wheel.parts import Load as Load
    from wheelsim.wheel.parts import Rim as Rim
    from wheelsim.wheel.parts import SideSpokes as SideSpokes
    from wheelsim.wheel.parts import Spokes as Spokes
    from wheelsim.wheel.parts import Tyre as Tyre
    from wheelsim.wheel.parts import Wheel as Wheel

# Each module is loaded when one of its names is first asked for, so that importing wheelsim is quick and
# brings in neither matplotlib nor the solver.
_HOMES = {
    "read_wheel": "wheelsim.files.reader",
    "read_job": "wheelsim.files.reader",
    "predict": "wheelsim.stand.predict",
    "assess": "wheelsim.stand.assess",
    "plan": "wheelsim.planning.plan",
    "Stand": "wheelsim.stand.stand",
    "figure": "wheelsim.report.figures.figure",
    "Job": "wheelsim.job.job",
    "Work": "wheelsim.job.job",
    "Reading": "wheelsim.readings.reading",
    "Shown": "wheelsim.readings.reading",
    "Gauge": "wheelsim.readings.gauge",
    **dict.fromkeys(("Wheel", "Hub", "Flange", "Rim", "Joint", "Spokes", "SideSpokes", "Limits", "Load", "Tyre"),
                    "wheelsim.wheel.parts"),
    "influence": "wheelsim.mechanics.influence",
    "point_stiffness": "wheelsim.mechanics.influence",
    "critical_tension": "wheelsim.mechanics.stability",
}
__all__ = list(_HOMES)
__version__ = "0.1.0"


if not TYPE_CHECKING:  # hidden from type checkers: with a module __getattr__ they accept any misspelt name
    def __getattr__(name):
        if name in _HOMES:
            return getattr(import_module(_HOMES[name]), name)
        raise AttributeError(f"module 'wheelsim' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])
