"""What a grate lets through: over its rim as a weir, or through its bars as an orifice."""

from __future__ import annotations

from grading.units import FOOT, GRAVITY

WEIR = 3.0 * FOOT**0.5
"""Of a grate's rim: 3.0 in feet, 1.66 in metres. TxDOT Hydraulic Design Manual, chapter 10,
section 5, equations 10-30. [m^0.5/s]"""

ORIFICE = 0.67
"""Of a grate's bars: the same, equation 10-31. [-]"""


def grate_flow(rim: float, opening: float, depth: float, clear: float = 0.5) -> float:
    """Return what a grate lets through with water standing over it.

    Parameters
    ----------
    rim : float
        Length of its sides that water comes over. [m]
    opening : float
        Between its bars, in plan. [m2]
    depth : float
        Of the water over it. [m]
    clear : float
        Share of both that leaves and grit leave free.

    Returns
    -------
    float
        The less of weir and orifice. [m3/s]

    References
    ----------
    TxDOT Hydraulic Design Manual, chapter 10, section 5, equations 10-30 and 10-31: in a sag,
    rim and opening are halved for what clogs.
    """
    return min(weir_flow(rim * clear, depth), orifice_flow(opening * clear, depth))


def weir_flow(rim: float, depth: float) -> float:
    """Return what runs over a rim [m] with water [m] standing over it. [m3/s]"""
    return float(WEIR * rim * depth**1.5)


def orifice_flow(opening: float, depth: float) -> float:
    """Return what runs through an opening [m2] with water [m] standing over it. [m3/s]"""
    return float(ORIFICE * opening * (2 * GRAVITY * depth) ** 0.5)
