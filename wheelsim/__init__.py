"""Predict, plan and teach the truing and centring of tension-spoked wheels."""

from importlib import import_module

# Loaded when first asked for, so that importing wheelsim costs nothing and brings in neither
# matplotlib nor the solver.
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
    "Gauge": "wheelsim.readings.gauge",
    **dict.fromkeys(("Wheel", "Hub", "Flange", "Rim", "Joint", "Spokes", "SideSpokes", "Limits", "Load", "Tyre"),
                    "wheelsim.wheel.parts"),
    "influence": "wheelsim.mechanics.influence",
    "point_stiffness": "wheelsim.mechanics.influence",
    "critical_tension": "wheelsim.mechanics.stability",
}
__all__ = list(_HOMES)
__version__ = "0.1.0"


def __getattr__(name):
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'wheelsim' has no attribute {name!r}")


def __dir__():
    return sorted([*globals(), *_HOMES])
