"""A dry well: how much stone holds the rain, how fast the soil takes it in, how long it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from grading.catalogue.tables import table
from grading.units import HOUR
from grading.water.runoff import Datum


def figures() -> Mapping[str, Datum]:
    """Return the figures that drains and dry wells are held to, each with its source."""
    every = table("water", "runoff")
    names = [name for name in every if name.startswith(("grate-", "dry-well-"))]
    return {name: Datum(**every[name]) for name in names}


def stone_for(area: float, rain: float, voids: float) -> float:
    """Return the stone whose voids hold the rain of an area.

    Parameters
    ----------
    area : float
        Roof or paving, in plan. [m2]
    rain : float
        Its depth. [m]
    voids : float
        Over the volume of the stone. [-]

    Returns
    -------
    float
        [m3]
    """
    return area * rain / voids


def soak_rate(pit: Sequence[float], seconds: float) -> float:
    """Return how fast soil takes water in, from a pit that was filled and timed.

    Parameters
    ----------
    pit : (3,) sequence of float
        Length, width and depth of the water. [m]
    seconds : float
        In which it fell from three quarters of its depth to a quarter. [s]

    Returns
    -------
    float
        The half of its volume that went, over its bottom and sides at half its depth, over the
        time. [m/s]

    References
    ----------
    BRE Digest 365, Soakaway design (as worked examples that name it have it).
    """
    length, width, depth = pit
    wetted = length * width + (length + width) * depth  # sides to half of the depth
    return length * width * depth / 2 / (wetted * seconds)


def soaks(length: float, width: float, depth: float, rate: float) -> float:
    """Return what a dry well lets into the soil while it is half full, through its sides alone.

    Parameters
    ----------
    length, width, depth : float
        [m]
    rate : float
        What the soil takes in. [m/s]

    Returns
    -------
    float
        [m3/s]

    Notes
    -----
    Its bottom silts up, and is not counted: BRE Digest 365.
    """
    return (length + width) * depth * rate


def hours_to_empty(length: float, width: float, depth: float, held: float, rate: float) -> float:
    """Return how long a dry well takes for what it holds [m3]: infinite in soil that takes none."""
    out = soaks(length, width, depth, rate)
    return float("inf") if out <= 0 else held / out / HOUR
