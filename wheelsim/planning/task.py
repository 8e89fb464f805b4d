"""What a plan is sought for: a wheel in one state, bounds to bring it within, what each nipple may be turned to."""

from dataclasses import dataclass

import numpy as np

from wheelsim.arrays import Bools, Floats, Turns
from wheelsim.measures.bounds import Bounds
from wheelsim.mechanics.equilibrium import State


@dataclass(frozen=True, eq=False)
class Task:
    """One wheel in one state, to be brought within bounds.

    Attributes
    ----------
    start : State
        As received; turns count from here.
    state : State
        About which the programme is linear.
    turned : (n,) ndarray
        Turns from the start to that state. [turn]
    lowest, highest : (n,) ndarray
        What each nipple may be turned to, from the start; both nought where it may not. [turn]
    aims, hard : Bounds
        Strive for these; never leave those.
    nameable : (n,) ndarray of bool, optional
        Nipples that a plan by hand may turn otherwise than their side; None: all.
    """

    start: State
    state: State
    turned: Turns
    lowest: Turns
    highest: Turns
    step: float
    aims: Bounds
    hard: Bounds
    target_dish: float = 0.0
    nameable: Bools | None = None

    @property
    def free(self) -> Bools:
        """Nipples that may be turned: (n,) of bool."""
        return np.asarray(self.highest - self.lowest > 1e-9)

    @property
    def named(self) -> Bools:
        """Nipples that a plan by hand may turn otherwise than their side: (n,) of bool."""
        return self.free if self.nameable is None else self.free & self.nameable


@dataclass(frozen=True, eq=False)
class Cut:
    """``row @ turns <= most``: a bound of the wheel, in its own unit, and its slopes (n,) per turn from the start."""

    row: Floats
    most: float
