"""A free ring bent to a shape that is given at its stations."""

from functools import lru_cache

import numpy as np

from wheelsim.arrays import Floats
from wheelsim.mechanics.ring import Ring
from wheelsim.mechanics.structure import Factor
from wheelsim.wheel.geometry import LAT, RAD


def bent_to(ring: Ring, shape: Floats) -> Floats:
    """Displacements (n, 6) of the ring with least energy whose lateral and radial parts are those of ``shape`` (n, 3).

    Also for m shapes at once, (n, 3, m) to (n, 6, m). The displacements are prescribed by stiff springs (penalty
    method). [m, rad]
    """
    firm, factor = _held(ring)
    load = np.zeros((len(shape), 6, *shape.shape[2:]))
    for axis in (LAT, RAD):
        load[:, axis] = firm * shape[:, axis]
    return factor.solve(load)


@lru_cache(maxsize=64)
def _held(ring: Ring) -> tuple[float, Factor]:
    """The springs that hold a ring to a shape [N/m], and its factored stiffness with them."""
    own = ring.own.copy()
    firm = 1e6 * float(np.abs(own).max())  # own choice: the shape is met to a millionth
    for axis in (LAT, RAD):
        own[:, axis, axis] += firm
    own[:, 1, 1] += 1e-9 * np.abs(ring.own).max()
    return firm, Factor(own, ring.next)
