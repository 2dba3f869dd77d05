"""Open channels: how deep water runs in one that falls, or that is level and has a free end."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import SOLVED
from grading.units import GRAVITY, INCH

_STEPS = 40  # places that a profile is told at
_FOUND = 1e-6  # own: of a flow that is sought


def critical_depth(flow: float, width: float) -> float:
    """Return the depth at which a rectangular channel lets a flow fall out of its end.

    Parameters
    ----------
    flow : float
        [m3/s]
    width : float
        Between its walls. [m]

    Returns
    -------
    float
        (q2/g)^(1/3) with q the flow for each metre of width. [m]

    References
    ----------
    Chow, Open-Channel Hydraulics, 1959, section 4-3 (from memory).
    """
    return float(((flow / width) ** 2 / GRAVITY) ** (1 / 3))


def frictionless_flow(width: float, depth: float) -> float:
    """Return what a level channel carries where its walls hold no water back.

    Parameters
    ----------
    width, depth : float
        Between its walls, and of the water at its far end. [m]

    Returns
    -------
    float
        [m3/s]

    Notes
    -----
    Water that comes in from the side brings no push along the channel, so what the water pushes
    with, b y2/2 + Q2/(g b y), stays what it is at the free end, where y is critical: upstream,
    where nothing flows yet, it stands sqrt(3) times as deep. That is 2.49 b h^1.5 in feet.

    References
    ----------
    Beij, Flow in roof gutters, 1934, and Chow, section 12-2 (both from memory).
    """
    return float(width * GRAVITY**0.5 * (depth / 3**0.5) ** 1.5)


def level_profile(
    flow: float, width: float, length: float, roughness: float
) -> tuple[Floats, Floats]:
    """Return how deep water stands along a level channel that takes it in evenly.

    Parameters
    ----------
    flow : float
        At its free end. [m3/s]
    width, length : float
        [m]
    roughness : float
        Manning's n; 0 where its walls hold nothing back.

    Returns
    -------
    (k,) float, (k,) float
        Distance from its closed end, and depth of the water there. [m]

    Notes
    -----
    Spatially varied flow, solved for the push of the water M = b y2/2 + Q2/(g b y), which walls
    and bottom lessen along the way: dM/dx = -b y n2 v2 / R^(4/3). It starts at the free end,
    where the depth is critical and the equation of the depth itself has no slope. By SciPy's
    Runge-Kutta of order 8, which chooses its own steps.

    References
    ----------
    Chow, sections 3-6 and 12-2 (from memory).
    """
    from scipy.integrate import solve_ivp

    end = critical_depth(flow, width)
    least = 1.5 * width * end**2  # b y2/2 + Q2/(g b y) at the critical depth

    def rubbed(back: float, push: Floats) -> list[float]:
        running = flow * max(1 - back / length, 0.0)
        depth = _subcritical(float(push[0]), running, width)
        area = width * depth
        radius = area / (width + 2 * depth)
        return [area * (roughness * running / area) ** 2 / radius ** (4 / 3)]

    back = np.linspace(0.0, length, _STEPS + 1)
    solved = solve_ivp(
        rubbed, (0.0, length), [least], method="DOP853", t_eval=back,
        rtol=SOLVED, atol=SOLVED * least,
    )  # fmt: skip
    depths = np.array(
        [
            _subcritical(float(push), flow * (1 - at / length), width)
            for push, at in zip(solved.y[0], back, strict=True)
        ]
    )
    return length - back[::-1], depths[::-1]


def _subcritical(push: float, flow: float, width: float) -> float:
    """Return the greater depth at which water of a flow pushes so much. [m]"""
    # y3 - (2 M / b) y + 2 Q2 / (g b2) = 0 has three real roots wherever M is enough, and the
    # greatest of them is the calm one: by the cosine, no root is looked for.
    half = 2 * push / width / 3
    product = 2 * flow**2 / (GRAVITY * width**2)
    turn = np.arccos(np.clip(-product / 2 / half**1.5, -1.0, 1.0))
    return float(2 * half**0.5 * np.cos(turn / 3))


def level_flow(width: float, depth: float, length: float, roughness: float) -> float:
    """Return what a level channel carries without running over at its closed end.

    Parameters
    ----------
    width, depth, length : float
        Between its walls, below its grate, and from its closed end to its outlet. [m]
    roughness : float
        Manning's n.

    Returns
    -------
    float
        At its free end. [m3/s]
    """
    most = frictionless_flow(width, depth)
    if roughness <= 0 or length <= 0:
        return most

    def over(flow: float) -> float:
        return float(level_profile(flow, width, length, roughness)[1][0]) - depth

    from scipy.optimize import brentq

    return float(brentq(over, most * 1e-3, most, rtol=_FOUND))


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
