"""The two sides of a wheel."""

from typing import Literal

Side = Literal["right", "left"]
SIDES: tuple[Side, Side] = ("right", "left")
OTHER: dict[Side, Side] = {"right": "left", "left": "right"}
SIGN: dict[Side, int] = {"right": 1, "left": -1}  # as in ``Geometry.side``
