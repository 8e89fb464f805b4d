"""Short names for types of arrays in signatures; shapes and units are given in docstrings."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int_]
Bools: TypeAlias = NDArray[np.bool_]
Turns: TypeAlias = NDArray[np.float64]  # (n,) per nipple, plus tightens [turn]
