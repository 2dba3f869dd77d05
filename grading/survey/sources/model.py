"""What a file of points, and a scan, hand over."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats

Progress = Callable[[str, float], None]
"""What is being done, and which share of it is done."""


class PointFile(Struct, frozen=True, eq=False):
    """The points and breaklines of one file.

    Attributes
    ----------
    shown : str
        The file in messages.
    kind : str
        What it is, such as "DXF".
    unit : str
        What its numbers mean.
    told_by : "file" or "person"
        Who says so.
    xyz : (n, 3) float
        [m]
    names, codes : tuple of str
        Of each point, empty where the file gives none.
    sd_z, sd_xy : (n,) float
        Standard deviations, NaN where the file gives none. [m]
    breaklines : tuple of (j, 3) float
        z NaN where a vertex has none of its own. [m]
    remarks : tuple of str
        What of the file was not used, and how it was taken.
    """

    shown: str
    kind: str
    unit: str
    told_by: str
    xyz: Floats
    names: tuple[str, ...]
    codes: tuple[str, ...]
    sd_z: Floats
    sd_xy: Floats
    breaklines: tuple[Floats, ...] = ()
    remarks: tuple[str, ...] = ()


class ScanFile(Struct, frozen=True, eq=False):
    """A scan that is read chunk by chunk.

    Attributes
    ----------
    shown, kind : str
        As of a `PointFile`.
    said : (float, float) or None
        What one of its unit is along the ground and upward, where it says so. [m]
    count : int or None
        How many points it has, where that is known before they are read.
    chunks : callable
        Gives points (n, 3), in the file's unit, with the share of the file that is read. Raises
        SiteError where the file is found to be broken.
    """

    shown: str
    kind: str
    said: tuple[float, float] | None
    count: int | None
    chunks: Callable[[], Iterator[tuple[Floats, float]]]


def no_sd(count: int) -> Floats:
    """Return standard deviations that are not told."""
    return np.full(count, np.nan)
