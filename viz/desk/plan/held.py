"""What holds the finish at a corner: a fixed point that the paving meets there."""

from __future__ import annotations

import numpy as np

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TAPED
from grading.reading.partly import Partly


def held_at(partly: Partly, xy: Floats) -> str:
    """Return the way to what holds the finish at a place, empty where nothing does.

    Parameters
    ----------
    partly : Partly
    xy : (2,) float
        [m]
    """
    for way, meet in partly.meets.items():
        if len(meet.at) == 1 and float(np.hypot(*(np.asarray(meet.at[0]) - xy))) < TAPED:
            return way
    return ""
