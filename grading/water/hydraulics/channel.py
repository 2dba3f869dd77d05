"""Open channels: how deep water runs in a gutter, a swale or a channel drain."""

from __future__ import annotations

from msgspec import Struct

from grading.units import INCH

DRAIN_WIDTHS = (4 * INCH, 6 * INCH, 8 * INCH, 12 * INCH)
"""Inner widths of channel drains to choose from; common practice, no source. [m]"""


class Section(Struct, frozen=True):
    """A channel's cross-section: a level bottom between two sides, all even.

    bottom : its width, 0 for a triangle. [m]
    side : run for each rise of both sides, 0 for a rectangle. [ratio]
    """

    bottom: float
    side: float

    def area(self, depth: float) -> float:
        """Return the water's cross-section. [m2]"""
        return depth * (self.bottom + self.side * depth)

    def wetted(self, depth: float) -> float:
        """Return the length of bottom and sides under water. [m]"""
        return self.bottom + 2 * depth * float((1 + self.side**2) ** 0.5)


def channel_flow(section: Section, depth: float, slope: float, roughness: float) -> float:
    """Return the steady flow at a depth, by Manning's equation.

    Parameters
    ----------
    section : Section
    depth : float
        [m]
    slope : float
        Of the bottom. [ratio]
    roughness : float
        Manning's n.

    Returns
    -------
    float
        [m3/s]

    References
    ----------
    Manning 1891; FHWA HEC-22, equation 5-5: Q = A R^(2/3) S^(1/2) / n, R = A / wetted length.
    """
    if depth <= 0:
        return 0.0
    area = section.area(depth)
    return float(area * (area / section.wetted(depth)) ** (2 / 3) * slope**0.5 / roughness)
