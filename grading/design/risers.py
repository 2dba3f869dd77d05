"""Risers of steps whose treads fall outward: how high each is, and how far steps go out."""

from __future__ import annotations

import numpy as np

LEAST_PITCH, MOST_PITCH = 1 / 96, 1 / 48
"""How far treads fall outward: 1/8 in/ft to 1/4 in/ft; common practice, no source, and IRC R311.7.7
asks no more than 1:48 of treads and landings, from memory. [ratio]"""


def pitched_riser(drop: float, count: int, going: float, pitch: float) -> float:
    """Return the height of each riser of a flight whose treads fall outward. [m]

    Parameters
    ----------
    drop : float
        From what it goes down from to its foot. [m]
    count : int
        Risers; the upper level is the last tread.
    going : float
        From its head to its foot, landing and treads. [m]
    pitch : float
        How they fall outward. [ratio]
    """
    return (drop - going * pitch) / count


def going_of(count: int, tread: float, landing: float = 0.0) -> float:
    """Return how far a flight goes out from its head to its foot. [m]

    Parameters
    ----------
    count : int
        Risers.
    tread : float
        Going of a tread. [m]
    landing : float
        Of the landing that it begins with in place of its first tread; 0 for none. [m]
    """
    if count < 2:
        return 0.0
    return (landing or tread) + (count - 2) * tread


def pitch_for(surface_fall: float) -> float:
    """Return how treads fall outward beside paving that falls so that way. [ratio]"""
    return float(np.clip(surface_fall, LEAST_PITCH, MOST_PITCH))
