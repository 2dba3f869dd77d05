"""The area that straight and round edges enclose, in closed form: no chord, no polygon of ours."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import Any


def outline_area(edges: Sequence[Any]) -> float:
    """Return the area of an outline as a site writes it. [m2]

    The polygon of the edges' ends by the shoelace formula, with the segment R^2 (a - sin a) / 2
    between each arc and its chord added where it bulges out and taken away where it bulges in. An
    arc's angle is twice that which its chord is seen under from its inner point: the inscribed
    angle (Euclid III.20).
    """
    pairs = [_arc(edge) or (None, _point(edge)) for edge in edges]
    ends = [end for _, end in pairs]
    twice = []
    for start, (through, end) in zip([ends[-1], *ends[:-1]], pairs, strict=True):
        twice.append(((start - ends[0]).conjugate() * (end - ends[0])).imag)
        if through is None or start == end:
            continue
        seen = cmath.phase((end - through) / (start - through))  # half the arc beyond the point
        radius = abs(end - start) / (2 * abs(math.sin(seen)))
        angle = 2 * (math.pi - abs(seen))
        twice.append(-math.copysign(radius**2 * _less_sine(angle), seen))
    return abs(math.fsum(twice)) / 2


def _arc(edge: Any) -> tuple[complex, complex] | None:
    if isinstance(edge, dict):
        through, end = edge["arc"]
    elif hasattr(edge, "through"):
        through, end = edge.through, edge.end
    else:
        return None
    return _point(through), _point(end)


def _point(xy: Sequence[float]) -> complex:
    return complex(float(xy[0]), float(xy[1]))


def _less_sine(angle: float) -> float:
    """Return a - sin a, by its series where the difference would lose its digits."""
    if angle > 0.5:
        return angle - math.sin(angle)
    odd = range(3, 21, 2)
    return math.fsum((-1) ** (n // 2 + 1) * angle**n / math.factorial(n) for n in odd)
