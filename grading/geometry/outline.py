"""Straight-and-arc outlines as polygons whose area is that of the true outline."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from grading.geometry.arrays import Bools, Floats
from grading.geometry.tolerances import FLAT, ROUNDING, TOGETHER, TOUCH
from grading.units import FOOT

CHORD_TOLERANCE = 1e-3
"""Farthest that a polygon leaves the arc it stands for. [m]"""
LEAST_EDGE = FOOT / 2
"""Shorter than this, two areas touch but share no edge. [m]"""

Point = Sequence[float]


class Arc(NamedTuple):
    """A circular edge from the vertex before it, through one point, to its end. [m, m]"""

    through: Point
    end: Point


Edge = Point | Arc | Mapping[str, Sequence[Point]]


class OutlineError(ValueError):
    """An outline that encloses nothing, or more than one thing.

    `index` is the number of the edge concerned, from 0, where it is one edge's fault; `at` is the
    place of a crossing [m].
    """

    def __init__(
        self,
        found: str,
        expected: str,
        mend: str,
        *,
        index: int | None = None,
        at: tuple[float, float] | None = None,
    ) -> None:
        self.found, self.expected, self.mend = found, expected, mend
        self.index, self.at = index, at
        place = f" at ({at[0]:.3f}, {at[1]:.3f}) m" if at else ""
        super().__init__(f"found {found}{place}, expected {expected}. {mend}".rstrip())


def outline_polygon(edges: Sequence[Edge], tolerance: float = CHORD_TOLERANCE) -> shapely.Polygon:
    """Return an outline as a polygon of exactly the outline's area.

    Parameters
    ----------
    edges : sequence of (2,) float, Arc or {"arc": [through, end]}
        A point ends a straight edge, an arc ends at its second point; each starts where the one
        before it ends, and the first where the last ends. Either direction; a closing point equal
        to the first vertex may be given or left out. [m]
    tolerance : float
        Farthest that the polygon leaves an arc. [m]

    Returns
    -------
    shapely.Polygon
        Counter-clockwise, without holes. [m]

    Raises
    ------
    OutlineError
        Fewer than three corners, no area, an outline that crosses or touches itself, or an arc
        whose three points lie on one line.

    Notes
    -----
    Chords alone would lose the slivers between chord and arc. The vertices inside an arc are
    therefore moved off it, radially and all by the same amount, until polygon and outline agree;
    the ends stay. For N chords of angle t at radius R the new radius r solves
    r^2 (N - 2) sin t + 2 r R sin t = R^2 N t.
    """
    parts = [
        [piece.end] if piece.through is None else _chords(piece, tolerance)
        for piece in _pieces(edges)
    ]
    ring = _without_repeats(np.array([point for part in parts for point in part], dtype=complex))
    if len(ring) < 3:
        raise OutlineError(
            f"an outline of {len(ring)} corners",
            "at least three corners",
            "Give every corner as [x, y], or a round edge as {arc = [[x, y], [x, y]]}.",
        )
    polygon = shapely.Polygon(np.column_stack([ring.real, ring.imag]))
    in_order = "Give the corners in the order in which a person would walk along the edge."
    across = float(np.ptp(ring.real) ** 2 + np.ptp(ring.imag) ** 2)
    if polygon.convex_hull.area <= ROUNDING * across:
        raise OutlineError(
            "an outline that encloses no area", "corners that go round the area", in_order
        )
    if not polygon.is_valid:
        raise OutlineError(
            "an outline that crosses or touches itself",
            "corners that go round the area once",
            in_order,
            at=_crossing(polygon),
        )
    return shapely.geometry.polygon.orient(polygon)


class Curve(NamedTuple):
    """A circular edge: its centre, start, middle and end (2,) [m], and its radius [m]."""

    centre: tuple[float, float]
    start: tuple[float, float]
    middle: tuple[float, float]
    end: tuple[float, float]
    radius: float


def curves_of(edges: Sequence[Edge]) -> tuple[Curve, ...]:
    """Return the circular edges of an outline, in order.

    Parameters
    ----------
    edges : as for `outline_polygon`
        [m]
    """
    found = []
    for piece in _pieces(edges):
        if piece.through is None:
            continue
        radius, sweep = _radius_and_sweep(piece)
        chord = piece.end - piece.start
        # The centre lies to the left of an arc that turns left, past the chord by the cosine.
        side = 1j * chord / abs(chord) * math.copysign(1.0, sweep)
        centre = (piece.start + piece.end) / 2 + side * radius * math.cos(sweep / 2)
        middle = centre - side * radius
        start, end = _pair(piece.start), _pair(piece.end)
        found.append(Curve(_pair(centre), start, _pair(middle), end, radius))
    return tuple(found)


def _pair(point: complex) -> tuple[float, float]:
    return point.real, point.imag


def edge_lines(edges: Sequence[Edge], tolerance: float = CHORD_TOLERANCE) -> tuple[Floats, ...]:
    """Return the edges of an outline, the first from its first corner to its second.

    Parameters
    ----------
    edges : as for `outline_polygon`
        A closing point equal to the first is no edge of its own. [m]
    tolerance : float
        Farthest that a line leaves an arc. [m]

    Returns
    -------
    tuple of (k, 2) float
        The last runs back to the first corner. [m]
    """
    pieces = [piece for piece in _pieces(edges) if abs(piece.end - piece.start) > ROUNDING]
    if not pieces:
        return ()
    # The piece that ends at the first corner is the last edge.
    turned = [*pieces[1:], pieces[0]] if pieces[0].number == 0 else pieces
    lines = []
    for piece in turned:
        inner = [piece.end] if piece.through is None else _chords(piece, tolerance)
        points = np.array([piece.start, *inner], dtype=complex)
        lines.append(np.column_stack([points.real, points.imag]))
    return tuple(lines)


class _Piece(NamedTuple):
    """An edge with its start; the plane is the complex plane, x + iy. [m]"""

    number: int
    start: complex
    end: complex
    through: complex | None


def _pieces(edges: Sequence[Edge]) -> list[_Piece]:
    arcs = [Arc(*edge["arc"]) if isinstance(edge, Mapping) else edge for edge in edges]
    ends = [complex(*(edge.end if isinstance(edge, Arc) else edge)) for edge in arcs]
    return [
        _Piece(
            index,
            ends[index - 1],
            ends[index],
            complex(*edge.through) if isinstance(edge, Arc) else None,
        )
        for index, edge in enumerate(arcs)
    ]


def _radius_and_sweep(piece: _Piece) -> tuple[float, float]:
    """Return an arc's radius [m] and the angle it turns through, positive to the left [rad]."""
    assert piece.through is not None
    to_start, to_end = piece.start - piece.through, piece.end - piece.through
    chord = abs(piece.end - piece.start)
    turn = to_start.conjugate() * to_end  # dot product and cross product
    if abs(turn.imag) <= FLAT * abs(turn) or chord <= FLAT * abs(to_start):
        raise OutlineError(
            "an arc whose start, middle and end lie on one line or on one another",
            "three points that lie on one circle",
            "Leave the arc out where the edge is straight; write a circle as two arcs.",
            index=piece.number,
        )
    radius = chord * abs(turn) / (2 * abs(turn.imag))
    sweep = 2 * math.atan2(abs(turn.imag), -turn.real)
    return radius, math.copysign(sweep, -turn.imag)


def _chords(piece: _Piece, tolerance: float) -> NDArray[np.complex128]:
    """Return the vertices (n,) that stand for an arc, its start left out."""
    radius, sweep = _radius_and_sweep(piece)
    count, outward = _steps(radius, abs(sweep), tolerance)
    turned = sweep * np.arange(1, count) / count
    # Measured from the start along chords, so that a flat arc does not lose digits to a far centre.
    chord = piece.end - piece.start
    along = chord / abs(chord) * np.exp(0.5j * (turned - sweep))
    normal = along * np.exp(1j * (turned / 2 - math.copysign(math.pi / 2, sweep)))
    points = piece.start + 2 * radius * np.sin(np.abs(turned) / 2) * along
    return np.append(points + outward * normal, piece.end)


_MOST_CHORDS = 20_000  # an arc of a kilometre to a millimetre takes a fifth of this


def _steps(radius: float, sweep: float, tolerance: float) -> tuple[int, float]:
    """Return the number of chords for an arc and how far to move the vertices between them [m].

    With e = r / R - 1, the equation of `outline_polygon` is solved in the form that keeps its
    digits for small t: (N - 2) e^2 + 2 (N - 1) e = N (t - sin t) / sin t.
    """
    # Steps of an eighth of a turn at most; from there on the two distances shrink with 1/N^2.
    count = max(2, math.ceil(sweep / (math.pi / 4)))
    while True:
        step = sweep / count
        excess = count * _less_sine(step) / math.sin(step)
        away = excess / (count - 1 + math.sqrt((count - 1) ** 2 + (count - 2) * excess))
        inside = 2 * math.sin(step / 4) ** 2  # a chord's middle below its arc, both ends on it
        worst = radius * max(away, inside)
        if worst <= tolerance:
            return count, radius * away
        needed = 0.98 * count * math.sqrt(worst / tolerance)
        if not needed < _MOST_CHORDS:
            raise OutlineError(
                f"an arc of radius {radius:.3g} m",
                "an arc of the size of a yard",
                "Check its points, and the unit of the file.",
            )
        count = max(count + 1, math.ceil(needed))


def _less_sine(angle: float) -> float:
    """Return a - sin a without the loss of digits that the difference has for a small angle."""
    if abs(angle) > 0.2:
        return angle - math.sin(angle)
    total, term, power = 0.0, angle**3 / 6, 3
    while total + term != total:
        total += term
        term *= -(angle**2) / ((power + 1) * (power + 2))
        power += 2
    return total


def shared_edge(one: shapely.Polygon, other: shapely.Polygon) -> tuple[Floats, ...]:
    """Return the lines that two outlines share, (k, 2) each as drawn for the first. [m]

    Notes
    -----
    Two sides are one edge where they run beside each other, within `TOGETHER` all along. A side
    that begins at the other's corner and runs away from it shares nothing, however near it is
    there.
    """
    mine, theirs = _sides(one), _sides(other)
    tree = shapely.STRtree(np.asarray(shapely.linestrings(theirs)))
    own, others = tree.query(shapely.linestrings(mine), predicate="dwithin", distance=TOGETHER)
    side, low, high = _beside(mine[own], theirs[others])
    side = own[side]
    runs: list[Floats] = []
    for number in np.unique(side).tolist():
        here = side == number
        start, end = mine[number]
        for first, last in joined(zip(low[here].tolist(), high[here].tolist(), strict=True)):
            runs.append(np.array([start + share * (end - start) for share in (first, last)]))
            # A side shared to its end ends in its corner, to the last digit.
            runs[-1][1] = end if last == 1 else runs[-1][1]
    merged = shapely.line_merge(shapely.MultiLineString(runs))
    return tuple(
        shapely.get_coordinates(part)
        for part in shapely.get_parts(merged)
        if part.length >= LEAST_EDGE
    )


def _sides(polygon: shapely.Polygon) -> Floats:
    """Return the straight sides of an outline and of its holes, (k, 2, 2). [m]"""
    xy, ring = shapely.get_coordinates(shapely.get_rings(polygon), return_index=True)
    same = ring[1:] == ring[:-1]
    return np.stack([xy[:-1][same], xy[1:][same]], axis=1)


def _beside(mine: Floats, theirs: Floats) -> tuple[NDArray[np.intp], Floats, Floats]:
    """Return which sides (k, 2, 2) run beside those paired with them, and from where to where.

    Where they begin and end to do so is told as shares of the side's length, (n,).
    """
    start, vector = mine[:, 0], mine[:, 1] - mine[:, 0]
    length = np.hypot(*vector.T)
    along = vector / length[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    ends = theirs - start[:, None]
    at = np.einsum("kij,kj->ki", ends, along)
    off = np.einsum("kij,kj->ki", ends, across)
    run = at[:, 1] - at[:, 0]
    lean = np.divide(off[:, 1] - off[:, 0], run, out=np.zeros(len(at)), where=np.abs(run) > 0)
    places = np.stack([np.maximum(at.min(axis=1), 0), np.minimum(at.max(axis=1), length)])
    apart = np.abs(off[:, 0] + lean * (places - at[:, 0]))
    near = (apart <= TOGETHER).all(axis=0) & (places[1] - places[0] > TOUCH)
    low = np.where(places[0] <= TOGETHER, 0.0, places[0] / length)
    high = np.where(places[1] >= length - TOGETHER, 1.0, places[1] / length)
    return np.flatnonzero(near), low[near], high[near]


def joined(stretches: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return stretches of a line in their order, those that meet or overlap as one."""
    found: list[tuple[float, float]] = []
    for first, last in sorted(stretches):
        if found and first <= found[-1][1] + TOUCH:
            found[-1] = found[-1][0], max(found[-1][1], last)
        else:
            found.append((first, last))
    return found


def _without_repeats(ring: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Return a ring (n,) without points that repeat the one before them."""
    step: Floats = np.abs(ring - np.roll(ring, 1))
    moved: Bools = step > ROUNDING * step.max(initial=0.0)
    return ring[moved]


def _crossing(polygon: shapely.Polygon) -> tuple[float, float] | None:
    match = re.search(r"\[(\S+) (\S+)\]", shapely.is_valid_reason(polygon))
    return (float(match[1]), float(match[2])) if match else None
