"""Open channels: how deep water runs in a gutter, a swale or a channel drain."""

from __future__ import annotations

from dataclasses import dataclass

from grading.geometry.roots import root_between
from grading.units import INCH

SWALE_SIDE = 3.0
"""Run for each rise of a swale's sides: as steep as is still mown; common practice, no source."""

DRAIN_WIDTHS = (4 * INCH, 6 * INCH, 8 * INCH, 12 * INCH)
"""Inner widths of channel drains to choose from; common practice, no source. [m]"""


@dataclass(frozen=True)
class Section:
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

    def top(self, depth: float) -> float:
        """Return the width of the water. [m]"""
        return self.bottom + 2 * self.side * depth


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


def normal_depth(section: Section, flow: float, slope: float, roughness: float) -> float:
    """Return the depth at which a channel carries a flow: `channel_flow` turned round.

    Raises
    ------
    ValueError
        A channel with no slope, or with neither bottom nor sloping sides, carries none.
    """
    if slope <= 0 or (section.bottom <= 0 and section.side <= 0):
        raise ValueError("a channel needs a slope, and a bottom or sloping sides")
    if flow <= 0:
        return 0.0
    if section.bottom == 0:  # a triangle keeps its shape, so flow grows with depth^(8/3)
        return float((flow / channel_flow(section, 1.0, slope, roughness)) ** (3 / 8))
    most = section.bottom
    while channel_flow(section, most, slope, roughness) < flow:
        most *= 2
    return root_between(
        lambda depth: channel_flow(section, depth, slope, roughness) - flow, 0.0, most
    )


@dataclass(frozen=True)
class Channel:
    """A channel that carries a flow: its section, the water's depth, width [m] and speed [m/s]."""

    section: Section
    depth: float
    width: float
    speed: float


def sized(section: Section, flow: float, slope: float, roughness: float) -> Channel:
    """Return how a channel of a given section carries a flow. [m3/s, ratio]"""
    depth = normal_depth(section, flow, slope, roughness)
    area = section.area(depth)
    return Channel(section, depth, section.top(depth), flow / area if area else 0.0)


def sized_drain(flow: float, slope: float, roughness: float) -> Channel:
    """Return the narrowest channel drain that carries a flow no deeper than it is wide.

    Parameters
    ----------
    flow : float
        [m3/s]
    slope : float
        Of its bottom, or of the paving that it follows. [ratio]
    roughness : float
        Manning's n.

    Notes
    -----
    Where even the widest of `DRAIN_WIDTHS` runs deeper than its width, that one comes back with
    its depth: two drains, or a pipe, are needed. The grate's own capacity is not looked at.
    """
    for width in DRAIN_WIDTHS:
        drain = sized(Section(width, 0.0), flow, slope, roughness)
        if drain.depth <= width:
            return drain
    return drain
