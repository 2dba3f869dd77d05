"""Laying units over a region: which stay whole, which are cut, which off-cuts serve again."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import shapely
from msgspec import Struct, field
from numpy.typing import NDArray

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Bools, Floats, Region
from grading.geometry.tolerances import TOUCH
from grading.units import INCH, both

TRIM = 1e-3
"""A unit that is no more than this too large is laid whole, and a piece no wider left out. [m]"""


MOST_UNITS = 2_000_000
"""More units than this are no paving but a slip of the pen; they would fill the memory."""


class Laid(Struct, frozen=True):
    """Units laid over a region.

    Attributes
    ----------
    whole : int
        Units laid as they come.
    halves : int
        Cut pieces that half a unit is large enough for: two of them come out of one unit.
    large : int
        Cut pieces that take a unit each; what is cut off is waste.
    slivers : int
        Cut pieces narrower than `narrow`, of `halves` and `large` both.
    cut_length : float
        Length of all the cuts along the edge of the region. [m]
    face : float
        Area of a unit's face. [m2]
    covered : float
        Area of the faces laid, joints left out. [m2]
    boxes : (k, 4) float
        The units laid, whole and cut, as x0, y0, x1, y1 in the frame of the laying. [m]
    origin : (2,) float
        Origin of that frame on the site's axes. [m]
    turn : float
        Direction of its x from the site's. [rad]
    """

    whole: int
    halves: int
    large: int
    slivers: int
    cut_length: float
    face: float
    covered: float
    boxes: Floats
    origin: Floats = field(default_factory=lambda: np.zeros(2))
    turn: float = 0.0

    @property
    def cut(self) -> int:
        """Pieces that are cut."""
        return self.halves + self.large

    @property
    def units(self) -> int:
        """Units that it takes, an off-cut used again where a half serves."""
        return self.whole + self.large + math.ceil(self.halves / 2)

    @property
    def rectangles(self) -> NDArray[np.object_]:
        """The units laid as shapely polygons (k,) on the site's axes, before any is cut. [m]"""
        cos, sin = math.cos(self.turn), math.sin(self.turn)
        spin = np.array([[cos, sin], [-sin, cos]])
        return np.asarray(
            shapely.transform(_rectangles(self.boxes), lambda xy: xy @ spin + self.origin)
        )


def _stack(long: float, wide: float) -> tuple[Floats, Sequence[bool]]:
    return np.array([[long, 0.0], [0.0, wide]]), (False,)


def _running(long: float, wide: float) -> tuple[Floats, Sequence[bool]]:
    return np.array([[long, 0.0], [long / 2, wide]]), (False,)


def _herringbone(long: float, wide: float) -> tuple[Floats, Sequence[bool]]:
    # One unit along and one across tile the plane by these two steps whatever their sides:
    # the cell of the lattice is 2 long wide, as much as the two units.
    return np.array([[wide, wide], [long, -long]]), (False, True)


_PATTERNS = {
    "stack": _stack,
    "running": _running,
    "herringbone 90": _herringbone,
    "herringbone 45": _herringbone,
}
TURN: Mapping[str, float] = {"herringbone 45": math.pi / 4}
"""How far a pattern is turned from the edge that it follows. [rad]"""


def units_over(
    pattern: str, size: tuple[float, float], joint: float, bounds: Sequence[float]
) -> Floats:
    """Return the units of a pattern that reach into a frame.

    Parameters
    ----------
    pattern : "stack", "running", "herringbone 90" or "herringbone 45"
    size : (2,) float
        Length and width of a unit. [m]
    joint : float
        Between units; at the origin a unit begins without one. [m]
    bounds : (4,) float
        The frame, x0, y0, x1, y1. [m]

    Returns
    -------
    (k, 4) float
        Units as x0, y0, x1, y1. [m]

    Raises
    ------
    SiteError
        More than `MOST_UNITS` reach into it.
    """
    length, width = size
    long, wide = length + joint, width + joint
    basis, turned = _PATTERNS[pattern](long, wide)
    cells = [[long, wide - long, long + width, wide - joint] if across else [0, 0, length, width]
             for across in turned]  # fmt: skip
    x0, y0, x1, y1 = bounds
    corners = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])
    steps = corners @ np.linalg.inv(basis)
    low, high = (
        np.floor(steps.min(axis=0)).astype(int) - 2,
        np.ceil(steps.max(axis=0)).astype(int) + 3,
    )
    count = float(np.prod((high - low).astype(float))) * len(cells)
    if count > MOST_UNITS:
        found = f"pieces of {both(length)} by {both(width)} over {x1 - x0:.0f} m by {y1 - y0:.0f} m"
        raise SiteError(
            [Problem("pavers and panels", found, f"at most {MOST_UNITS:,} pieces",
                     "Look at the size of the pieces, and at the outline.")]
        )  # fmt: skip
    grid = np.stack(np.meshgrid(np.arange(low[0], high[0]), np.arange(low[1], high[1])), axis=-1)
    shifts = grid.reshape(-1, 2) @ basis
    boxes = (np.tile(shifts, 2)[:, None] + np.array(cells, dtype=float)).reshape(-1, 4)
    reach = (boxes[:, 0] < x1) & (boxes[:, 2] > x0) & (boxes[:, 1] < y1) & (boxes[:, 3] > y0)
    return np.asarray(boxes[reach])


def _rectangles(boxes: Floats) -> NDArray[np.object_]:
    return np.asarray(shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2], boxes[:, 3]))


ALIKE = INCH
"""Sides that differ by less than this are as long as one another. [m]"""


def frames_of(outline: shapely.Polygon) -> tuple[tuple[Floats, Floats, float], ...]:
    """Return where laying may start and the way it runs: along each of the longest straight edges.

    Parameters
    ----------
    outline : shapely polygon
        [m]

    Returns
    -------
    tuple of ((2,) float, (2,) float, float)
        An edge's start and end, counter-clockwise [m], and its direction from +x [rad]; the
        region is to its left. Where sides are equally long there are several: which corner the
        outline was drawn from, and how it is turned, must not choose between them.
    """
    ring = shapely.get_coordinates(shapely.geometry.polygon.orient(outline).exterior)
    sides = np.diff(ring, axis=0)
    long = np.hypot(*sides.T)
    return tuple(
        (ring[k], ring[k + 1], float(np.arctan2(*sides[k][::-1])))
        for k in np.flatnonzero(long > long.max() - ALIKE).tolist()
    )


def best(layouts: Iterable[Laid]) -> Laid:
    """Return the layout that takes fewest units, then fewest cuts and slivers, then least sawing.

    What is left between layouts is told by how they lie about their own middle, so that neither
    the order of things nor the axes choose.

    Parameters
    ----------
    layouts : iterable of Laid
        At least one.
    """
    return min(
        layouts,
        key=lambda laid: (
            laid.units, laid.cut, laid.slivers, round(laid.cut_length, 4), round(laid.covered, 4),
            _about_middle(laid),
        ),
    )  # fmt: skip


def _about_middle(laid: Laid) -> tuple[float, ...]:
    middles = (laid.boxes[:, :2] + laid.boxes[:, 2:]) / 2
    if not len(middles):
        return ()
    far = np.hypot(*(middles - middles.mean(axis=0)).T)
    return round(float((far**2).sum()), 4), round(float((far**3).sum()), 4)


def framed(region: Region, origin: Floats, turn: float) -> Region:
    """Return a region in a frame of its own.

    Parameters
    ----------
    region : shapely polygon or multipolygon
        [m]
    origin : (2,) float
        The frame's origin. [m]
    turn : float
        The direction of the frame's x from +x. [rad]
    """
    cos, sin = math.cos(turn), math.sin(turn)
    spin = np.array([[cos, -sin], [sin, cos]])
    return shapely.transform(region, lambda xy: (xy - origin) @ spin)


def _sizes(pieces: NDArray[np.object_]) -> tuple[Floats, Floats]:
    """Return the frame (k, 2) [m] and the area (k,) [m2] of the pieces left of units.

    Where a unit also touches the region along a line or at a point, that is no part of it.
    """
    parts, owner = shapely.get_parts(pieces, return_index=True)
    flat = shapely.area(parts) > TRIM**2
    bounds = shapely.bounds(parts[flat])
    low, high = np.full((len(pieces), 2), np.inf), np.full((len(pieces), 2), -np.inf)
    np.minimum.at(low, owner[flat], bounds[:, :2])
    np.maximum.at(high, owner[flat], bounds[:, 2:])
    return np.maximum(high - low, 0.0), np.asarray(shapely.area(pieces))


def _sound(region: shapely.Geometry) -> Region:
    """Return a region on the grid that pieces are cut on, without what is narrower than `TRIM`.

    Taking a course or a base out of it may leave lines and threads, which are no ground to lay on.
    """
    opened = shapely.buffer(region, -TRIM / 4, join_style="mitre")
    whole = shapely.buffer(opened, TRIM / 4, join_style="mitre")
    parts = shapely.get_parts(shapely.set_precision(whole, TOUCH))
    kept = parts[(shapely.get_dimensions(parts) == 2) & (shapely.area(parts) > TRIM**2)]
    return shapely.MultiPolygon(kept.tolist())


def _cut(units: NDArray[np.object_], region: Region) -> NDArray[np.object_]:
    """Return what units (k,) are cut to, on the grid; off it where that cannot be done."""
    try:
        return np.asarray(shapely.intersection(units, region, grid_size=TOUCH))
    except shapely.GEOSException:
        return np.asarray(shapely.intersection(units, region))


def _wide(pieces: NDArray[np.object_], areas: Floats, longest: Floats) -> Bools:
    """Say which pieces are somewhere wider than `TRIM`: something is left when that is taken off.

    A piece of more area than its longest side could have so narrow is, and need not be tried.
    """
    wide = areas > TRIM * longest * math.sqrt(2)
    unsure = np.flatnonzero(~wide)
    left = shapely.buffer(pieces[unsure], -TRIM / 2, join_style="mitre")
    wide[unsure] = ~shapely.is_empty(left)
    return np.asarray(wide)


def lay(
    region: Region, pattern: str, size: tuple[float, float], joint: float, narrow: float = 0.0
) -> Laid:
    """Lay a pattern over a region in its own frame, where a unit starts at the origin.

    Parameters
    ----------
    region : shapely polygon or multipolygon
        [m]
    pattern, size, joint : as for `units_over`
    narrow : float
        A piece narrower than this is a sliver. [m]

    Notes
    -----
    The kerf of a saw is taken out of the joint, so that half a unit is half its length. A piece
    is measured by its frame along the unit's sides: a taper takes what its widest part takes.
    """
    face = size[0] * size[1]
    region = _sound(region)
    if region.is_empty:
        return Laid(0, 0, 0, 0, 0.0, face, 0.0, np.zeros((0, 4)))
    boxes = units_over(pattern, size, joint, region.bounds)
    shapes = _rectangles(boxes)
    grown = region.buffer(TRIM, join_style="mitre")
    shapely.prepare(grown)
    shapely.prepare(region)
    whole = np.asarray(shapely.covers(grown, shapes))
    candidates = np.flatnonzero(~whole & np.asarray(shapely.intersects(region, shapes)))
    pieces = _cut(shapes[candidates], region)
    sides, areas = _sizes(pieces)
    own = boxes[candidates][:, 2:] - boxes[candidates][:, :2]
    # However small, a piece is cut: only what is nowhere wider than `TRIM` is left out.
    kept = (sides.min(axis=1, initial=np.inf) > TRIM) & _wide(pieces, areas, own.max(axis=1))
    sides, own = sides[kept], own[kept]
    half = ((sides - TRIM) / own).min(axis=1, initial=np.inf) <= 0.5
    cut = shapes[candidates[kept]]
    # Along the edge of a unit nothing is cut: only what runs inside it is.
    inner = _rectangles(boxes[candidates[kept]] + [TRIM, TRIM, -TRIM, -TRIM])
    length = shapely.length(shapely.intersection(inner, region.boundary)).sum()
    return Laid(
        whole=int(whole.sum()),
        halves=int(half.sum()),
        large=int((~half).sum()),
        slivers=int((sides.min(axis=1, initial=np.inf) < narrow).sum()) if len(cut) else 0,
        cut_length=float(length),
        face=face,
        covered=float(whole.sum() * face + areas[kept].sum()),
        boxes=np.concatenate([boxes[whole], boxes[candidates[kept]]]),
    )
