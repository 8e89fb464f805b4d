"""Pictures: matplotlib Figure objects, never pyplot."""

from wheelsim.drawing.save import picture_kind, render, save
from wheelsim.drawing.strip import strip

__all__ = ["picture_kind", "render", "save", "strip"]
