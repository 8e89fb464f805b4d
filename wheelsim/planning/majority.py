"""What most of a side's nipples are turned by: tells a turn of the whole side from turns of single nipples."""

import numpy as np

from wheelsim.arrays import Turns


def majority_turn(turns: Turns) -> float:
    """What more than half of a side's nipples are turned by, else nought. [turn]

    Parameters
    ----------
    turns : (k,) ndarray
        Of the nipples of one side. [turn]
    """
    amounts, counts = np.unique(turns, return_counts=True)
    return float(amounts[counts.argmax()]) if len(counts) and counts.max() > len(turns) / 2 else 0.0
