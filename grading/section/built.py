"""What is built beside and below the paving, in a vertical cut."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.geometry.tolerances import ROUNDING, TOUCH
from grading.section.cut import THINNEST, Cut
from grading.structures.model import Solid, Structure


class Built(Struct, frozen=True, eq=False):
    """One body of a structure where a line cuts it: its shape in distance and elevation. [m]"""

    structure: Structure
    material: str
    shape: shapely.Polygon


def built_in(structures: Iterable[Structure], cut: Cut) -> tuple[Built, ...]:
    """Return what a cut meets of what is built, in the order in which it is drawn.

    That in which its bodies are given, what lies in others after them.

    Parameters
    ----------
    structures : iterable of Structure
    cut : Cut

    Notes
    -----
    Bottom and top of a body are levels or planes: along a line both are straight.
    """
    low, high = cut.ends
    line = shapely.LineString([cut.plan_point(low), cut.plan_point(high)])
    found = (
        Built(structure, material, shape)
        for structure in structures
        for material, shapes in _by_material(structure, cut, line).items()
        for shape in (shapes if material in STANDING else _joined(shapes))
    )
    return tuple(sorted(found, key=lambda each: INNER.get(each.material, 0)))


def _by_material(
    structure: Structure, cut: Cut, line: shapely.LineString
) -> dict[str, list[shapely.Polygon]]:
    found: dict[str, list[shapely.Polygon]] = {}
    for solid in structure.solids:
        found.setdefault(solid.material, []).extend(_cut(solid, cut, line))
    return found


def _joined(shapes: Iterable[shapely.Polygon]) -> Iterator[shapely.Polygon]:
    """Yield what is placed loose as it lies, in one where its bodies touch: it has no joints."""
    whole = shapely.union_all(list(shapes), grid_size=ROUNDING)
    yield from (part for part in shapely.get_parts(whole) if isinstance(part, shapely.Polygon))


STANDING = ("block", "cap", "concrete", "step unit")
"""Materials that stop stone and soil beside them."""
INNER = {"channel": 2, "membrane": 2, "pipe": 3, "grate": 3}
"""Materials that lie in others, and how deep; the rest lies in soil."""

_GROWN = ("turf",)
_PUT_BACK = "backfill"
_FAR = 1e5  # m: beyond any elevation


def beside_built(cut: Cut, built: Iterable[tuple[str, shapely.Geometry]]) -> Cut:
    """Return a cut without what is not laid beside the paving where something built stands.

    Parameters
    ----------
    cut : Cut
    built : iterable of (str, shapely geometry)
        Each body that it meets: material, and shape in distance and elevation. [m]

    Notes
    -----
    Nothing of the base goes on beyond the edge where a wall, steps or a curb stand, and no soil is
    put back there; under the grass of a slope the base goes on, and the soil is the slope's.
    """
    paved = shapely.union_all([shapely.box(a, -_FAR, b, _FAR) for a, b in cut.paved])
    standing, grown = (
        shapely.difference(
            shapely.union_all(
                [_column(shape) for material, shape in bodies if material in materials]
            ),
            paved,
        )
        for bodies in (list(built),)
        for materials in (STANDING, _GROWN)
    )
    if standing.is_empty and grown.is_empty:
        return cut
    solids = []
    for solid in cut.solids:
        gone = standing.union(grown) if solid.role == _PUT_BACK else standing
        left = shapely.difference(solid.shape, gone)
        if not left.is_empty:
            solids.append(replace(solid, shape=left))
    return replace(cut, solids=tuple(solids))


def _column(shape: shapely.Geometry) -> shapely.Polygon:
    """Return all of a cut that a shape takes, and what is over it. [m]"""
    low, bottom, high, _ = shapely.bounds(shape)
    return shapely.box(low, bottom, high, _FAR)


def _cut(solid: Solid, cut: Cut, line: shapely.LineString) -> Iterator[shapely.Polygon]:
    for part in shapely.get_parts(shapely.intersection(solid.footprint, line)):
        if part.geom_type != "LineString" or part.length < TOUCH:
            continue
        ends = np.asarray(part.coords)[[0, -1]]
        along = (ends - cut.start) @ cut.along
        bottom, top = solid.between(ends)
        if float((top - bottom).max()) < THINNEST:
            continue
        # A wedge ends where its planes meet.
        top = np.maximum(bottom, top)
        corners = [(along[0], bottom[0]), (along[1], bottom[1]), (along[1], top[1]),
                   (along[0], top[0])]  # fmt: skip
        yield shapely.Polygon(corners)
