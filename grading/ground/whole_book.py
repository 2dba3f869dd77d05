"""What only the whole of a book tells: a rod of other marks, a longer rod, a set-up that is off.

None of these can be seen at one spot: a rod in tenths read as inches is off by an inch or two.
Nothing is corrected here; each gives what is to be asked.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats, Ints
from grading.ground.process import MOST, Process, distance, fitted, matern, spread_out
from grading.units import INCH

ENOUGH = 20
"""Readings from which a rod of inches has shown a 10 or an 11: by chance 20 of them have none in
26 books of 1,000, 30 in 4."""

OFF = 3.0
"""Standard deviations by which two set-ups must differ. Common practice, no source."""

LEAST_OFF = 0.02
"""Less than this, two set-ups agree as well as a level closes. [m] Common practice, no source."""


def tenths_read_as_inches(figures: Sequence[float], marks: str) -> bool:
    """Return whether a book of feet and inches looks like that of a rod in feet and tenths.

    Parameters
    ----------
    figures : sequence of float
        Readings. [m]
    marks : "ft-in", "ft", "m", "cm" or "mm"
        What they are booked in.

    Notes
    -----
    A tenth runs from 0 to 9, an inch to 11: of honest readings one in six has a 10 or an 11.
    """
    if marks != "ft-in" or len(figures) < ENOUGH:
        return False
    eighths = np.round(np.abs(np.asarray(figures)) / INCH * 8).astype(np.int64)
    return bool((eighths % 96 // 8 < 10).all())


def beyond_rod(figures: Sequence[float], rod: float) -> tuple[int, ...]:
    """Return which readings are longer than the rod.

    Parameters
    ----------
    figures : sequence of float
        [m]
    rod : float
        How long it is. [m]
    """
    return tuple(k for k, figure in enumerate(figures) if abs(figure) > rod)


class SetupOff(Struct, frozen=True):
    """A set-up whose shots lie higher than those of the others, all alike.

    setup : its number. off : by how much [m]. sd : how well that is known [m].
    """

    setup: int
    off: float
    sd: float


def setups_off(points: Floats, setups: Ints) -> tuple[SetupOff, ...]:
    """Return the set-ups whose shots disagree with the rest by a constant, the worst first.

    Parameters
    ----------
    points : (n, 3) float
        Shots. [m]
    setups : (n,) int
        The set-up of each.

    Notes
    -----
    An offset for each set-up but the largest stands in the trend of the ground, and is estimated
    with it by generalised least squares. Set-ups that look at ground of their own are known badly,
    and are not named.
    """
    names, where = np.unique(setups, return_inverse=True)
    if len(names) < 2:
        return ()
    chosen = spread_out(points[:, :2], points[:, :2], MOST)
    points, where = points[chosen], where.reshape(-1)[chosen]
    main = int(np.argmax(np.bincount(where)))
    others = [k for k in range(len(names)) if k != main and (where == k).sum() >= 2]
    columns = np.column_stack([(where == k).astype(float) for k in others]) if others else None
    if columns is None:
        return ()
    process = fitted(points, besides=columns)
    if process is None:
        return ()
    return _offsets(process, columns, {k: int(names[other]) for k, other in enumerate(others)})


def _offsets(process: Process, columns: Floats, names: Mapping[int, int]) -> tuple[SetupOff, ...]:
    xy = process.xyz[:, :2]
    random = process.size**2 * matern(distance(xy, xy) / process.length)
    inverse = np.linalg.inv(random + process.noise**2 * np.eye(len(xy)))
    basis = np.column_stack((process.trend(xy), columns))
    spread = np.linalg.inv(basis.T @ inverse @ basis)
    estimate = spread @ basis.T @ inverse @ process.xyz[:, 2]
    first = basis.shape[1] - columns.shape[1]
    found = [
        SetupOff(name, float(estimate[first + k]), float(np.sqrt(spread[first + k, first + k])))
        for k, name in names.items()
    ]
    off = [each for each in found if abs(each.off) > max(OFF * each.sd, LEAST_OFF)]
    return tuple(sorted(off, key=lambda each: -abs(each.off) / each.sd))
