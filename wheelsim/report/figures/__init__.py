"""Pictures as matplotlib Figure objects; pyplot is not used, since it keeps state for the whole process."""

from wheelsim.report.figures.save import picture_kind, render, save
from wheelsim.report.figures.strip import strip

__all__ = ["picture_kind", "render", "save", "strip"]
