"""Differences of level adjusted together by weighted least squares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from grading.files.fields import array_of
from grading.geometry.arrays import Floats


class Difference(Struct, frozen=True):
    """A measured difference of level.

    start, end : the two ends, points or instruments.
    rise : how much higher the end is found than the start. [m]
    variance : of the rise. [m2]
    """

    start: str
    end: str
    rise: float
    variance: float


class Net(Struct, frozen=True, eq=False):
    """Levels adjusted.

    Attributes
    ----------
    heights : mapping
        Elevation by the name of the end, those held included. [m]
    names : tuple of str
        The ends that were adjusted, in the order of `cofactors`.
    cofactors : (n, n) float
        Covariances of the heights as the variances given tell them. [m2]
    residuals : (m,) float
        Adjusted rise less measured rise. [m]
    spread : float
        Root of the sum of squared residuals, each over its variance, for each that is left over
        (the standard deviation of unit weight); NaN where none is left over.
    """

    heights: Mapping[str, float]
    names: tuple[str, ...]
    cofactors: Floats
    residuals: Floats
    spread: float

    def sd(self, name: str) -> float:
        """Return the standard deviation of a height as the variances tell it, 0 if held. [m]"""
        if name not in self.names:
            return 0.0
        at = self.names.index(name)
        return float(np.sqrt(max(self.cofactors[at, at], 0.0)))


def adjusted(differences: Sequence[Difference], held: Mapping[str, float]) -> Net:
    """Return the heights that are nearest to all differences, each weighed by its variance.

    Parameters
    ----------
    differences : sequence of Difference
        Each end hangs by them on one that is held.
    held : mapping
        Elevations that stay. [m]

    Notes
    -----
    Normal equations of observation equations: Ghilani, Adjustment Computations, chapter 12.
    """
    ends = (end for each in differences for end in (each.start, each.end))
    names = tuple(dict.fromkeys(end for end in ends if end not in held))
    place = {name: at for at, name in enumerate(names)}
    rows = np.zeros((len(differences), len(names)))
    rise = np.array([each.rise for each in differences], dtype=float)
    for row, each in enumerate(differences):
        for end, sign in ((each.end, 1.0), (each.start, -1.0)):
            if end in place:
                rows[row, place[end]] += sign
            else:
                rise[row] -= sign * held[end]
    weight = 1 / np.array([each.variance for each in differences], dtype=float)
    normal = rows.T @ (weight[:, None] * rows)
    cofactors = np.linalg.inv(normal) if len(names) else np.zeros((0, 0))
    found = cofactors @ (rows.T @ (weight * rise))
    residuals = rows @ found - rise
    over = len(differences) - len(names)
    spread = float(np.sqrt((weight * residuals**2).sum() / over)) if over else float("nan")
    heights = {**held, **dict(zip(names, found.tolist(), strict=True))}
    return Net(heights, names, array_of(cofactors), array_of(residuals), spread)
