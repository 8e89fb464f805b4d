"""Names for the types of arrays, so that signatures stay short; shapes stand in docstrings."""

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Bools: TypeAlias = NDArray[np.bool_]
Ints: TypeAlias = NDArray[np.int64]
Turns: TypeAlias = NDArray[np.float64]  # (n,) per nipple, plus tightens [turn]
AnyFloats: TypeAlias = NDArray[np.floating[Any]]
