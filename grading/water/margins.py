"""What settlement by the wall and frost at the outer edge leave of the fall."""

from __future__ import annotations

from msgspec import Struct

from grading.units import FOOT, INCH

BACKFILL_ZONE = 4 * FOOT
"""How far from a foundation the ground was dug and filled back; common practice, no source. [m]"""

SETTLEMENT = HEAVE = INCH
"""The settlement and the heave that a margin is told for; common practice, no source. [m]"""


LEAST_RUN = 2 * FOOT
"""How far from the wall paving goes before a margin is told for it: what is narrower than a walk
moves as one piece and does not tip from end to end; common practice, no source. [m]"""


class Margin(Struct, frozen=True):
    """What movement leaves of the fall away from a wall.

    fall : as finished. [ratio]
    settled : over the zone by the wall, after the wall's end of it settled. [ratio]
    used_up : settlement at the wall that leaves none over that zone. [m]
    heaved : over the whole paving, after its outer edge was lifted. [ratio]
    run : from the wall to the outer edge. [m]
    zone : the part of it by the wall that settles. [m]
    """

    fall: float
    settled: float
    used_up: float
    heaved: float
    run: float
    zone: float


def margin(
    fall: float, run: float, *, zone: float = BACKFILL_ZONE, settlement: float = SETTLEMENT,
    heave: float = HEAVE,
) -> Margin:  # fmt: skip
    """Return what settlement and heave leave of a fall away from a wall.

    Parameters
    ----------
    fall : float
        Away from the wall, as finished. [ratio]
    run : float
        From the wall to the outer edge of the paving. [m]
    zone : float
        How far from the wall the ground settles. [m]
    settlement : float
        At the wall, less in proportion to nothing at the zone's end. [m]
    heave : float
        At the outer edge, less in proportion to nothing at the wall. [m]

    Notes
    -----
    A narrower paving is all zone: its run takes the zone's place.
    """
    zone = min(zone, run)
    return Margin(fall, fall - settlement / zone, fall * zone, fall - heave / run, run, zone)
