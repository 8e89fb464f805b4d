"""Pictures: matplotlib Figure objects, never pyplot."""

from wheelsim.report.figures.save import picture_kind, render, save
from wheelsim.report.figures.strip import strip

__all__ = ["picture_kind", "render", "save", "strip"]
