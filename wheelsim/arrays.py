"""Names for the types of arrays, so that signatures stay short; shapes stand in docstrings."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int_]
Bools: TypeAlias = NDArray[np.bool_]
Turns: TypeAlias = NDArray[np.float64]  # (n,) per nipple, plus tightens [turn]
