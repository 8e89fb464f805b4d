"""Results in words and tables, for people at a terminal or on paper."""

from wheelsim.report.terminal.assess import tell_assessment
from wheelsim.report.terminal.kinds import tell_kinds
from wheelsim.report.terminal.plan import tell_plan
from wheelsim.report.terminal.predict import tell_prediction
from wheelsim.report.terminal.shared import printer

__all__ = ["printer", "tell_assessment", "tell_kinds", "tell_plan", "tell_prediction"]
