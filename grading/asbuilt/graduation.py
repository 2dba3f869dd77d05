"""How finely readings are told, and what their rounding leaves of a sum of them.

A reading told to the nearest graduation may lie anywhere within half of it on either side, all
places alike: a standard deviation of a graduation over the root of 12 (JCGM 100:2008, GUM, 4.3.7
and F.2.2.1). Readings of paving are rounded alike where it lies alike, along a whole row, so that
more of them do not make it less: what is left of a sum is what it is where every reading is as far
off as it can be (GUM 5.2.2, note 1: correlated in full, their shares add up).
"""

from __future__ import annotations

import numpy as np

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING
from grading.units import FOOT, INCH

_COARSEST = (INCH / 2, 0.01 * FOOT, 0.01)
"""What rods and staves are graduated in, or coarser; readings that are rounder than that are so by
chance. Common practice, no source. [m]"""
_PARTS = ((1, 2, 4, 8, 16, 32), (1, 2, 10), (1, 2, 10, 100))
_GRADUATIONS = np.array(
    sorted(
        (whole / part for whole, parts in zip(_COARSEST, _PARTS, strict=True) for part in parts),
        reverse=True,
    )
)


def graduation_of(readings: Floats) -> float:
    """Return the coarsest graduation that all readings stand on; 0 where they are told finer. [m]

    Parameters
    ----------
    readings : (n,) float
        On a rod, or elevations. [m]
    """
    steps = readings[None, :] / _GRADUATIONS[:, None]
    off = np.abs(steps - np.round(steps)) * _GRADUATIONS[:, None]
    fits = _GRADUATIONS[(off <= ROUNDING).all(axis=1)]
    return float(fits[0]) if len(fits) else 0.0


def spread_of(graduation: float) -> float:
    """Return the standard deviation of a reading by its rounding. [m]"""
    return float(graduation / np.sqrt(12.0))


def left_by(graduation: float, weights: Floats) -> float:
    """Return how far rounding may put a sum of readings off.

    Parameters
    ----------
    graduation : float
        [m]
    weights : (n,) float
        Of each reading in the sum.
    """
    return graduation / 2 * float(np.abs(weights).sum())
