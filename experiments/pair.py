"""Styles for two curves that are not the wheel's sides; colour, marker and line each suffice to tell them apart."""

from wheelsim.report.figures.look import INK, SideStyle

# The third of P. Tol's high-contrast colours, darkened for lines, beside ink.
FIRST = SideStyle(INK, "D", "solid", INK)
SECOND = SideStyle("#997700", "^", (0, (3, 1.5)), "white")
