"""A round pipe that runs full by its own fall."""

from __future__ import annotations

import math
from collections.abc import Sequence

from grading.units import INCH

PIPE_SIZES = (4 * INCH, 6 * INCH, 8 * INCH)
"""Inner diameters of outlet pipes to choose from; common practice, no source. [m]"""


def pipe_flow(diameter: float, slope: float, roughness: float) -> float:
    """Return what a pipe carries full, by Manning's equation.

    Parameters
    ----------
    diameter : float
        [m]
    slope : float
        Of its bottom. [ratio]
    roughness : float
        Manning's n.

    Returns
    -------
    float
        [m3/s]

    References
    ----------
    Manning 1891: Q = A R^(2/3) S^(1/2) / n with A = pi D2/4 and R = D/4.
    """
    if slope <= 0:
        return 0.0
    area = math.pi * diameter**2 / 4
    return float(area * (diameter / 4) ** (2 / 3) * slope**0.5 / roughness)


def pipe_for(
    flow: float, slope: float, roughness: float, sizes: Sequence[float] = PIPE_SIZES
) -> float:
    """Return the least of some diameters that carries a flow; the greatest where none does. [m]"""
    fits = (size for size in sizes if pipe_flow(size, slope, roughness) >= flow)
    return next(fits, sizes[-1])
