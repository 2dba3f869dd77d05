"""What is built along a free edge, as one sees it who walks beside it: the edge unrolled."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
import shapely

from grading.dig.edge_runs import EdgeRun
from grading.geometry.arrays import Floats, distances_along
from grading.geometry.tolerances import NOTHING
from grading.section.built import Built
from grading.structures.model import Solid, Structure

EVERY = 0.05
"""How often an edge is looked at for what stands there. [m]"""

IN, OUT = 0.2, 0.1
"""How far inside an edge and outside it what holds it is met. [m]"""

SEEN = ("block", "cap", "concrete", "step unit", "backfill", "topsoil", "turf", "dense-graded")
"""What shows at an edge; pipe and drain stone lie behind."""


def built_along(structures: Iterable[Structure], run: EdgeRun) -> tuple[Built, ...]:
    """Return what stands along a run of edge: its shapes in distance along it and elevation. [m]

    Parameters
    ----------
    structures : iterable of Structure
    run : EdgeRun

    Notes
    -----
    Bodies are met by short lines square to the edge, `EVERY` apart: what begins or ends between
    two of them begins or ends halfway. Bottom and top are those where a line meets the body.
    """
    if run.length < EVERY:
        return ()
    along = np.linspace(0.0, run.length, int(np.ceil(run.length / EVERY)) + 1)
    across = _across(run, along)
    return tuple(
        Built(structure, solid.material, shape)
        for structure in structures
        for solid in structure.solids
        if solid.material in SEEN
        for shape in _shapes(solid, along, across)
    )


def _across(run: EdgeRun, along: Floats) -> Any:
    """Return lines square to an edge, the paving on its left, at distances along it, (n,)."""
    corners = distances_along(run.points)
    side = np.clip(np.searchsorted(corners, along, "right") - 1, 0, len(corners) - 2)
    ways = np.diff(run.points, axis=0) / np.maximum(np.diff(corners), NOTHING)[:, None]
    at = run.points[side] + (along - corners[side])[:, None] * ways[side]
    out = np.column_stack([ways[side][:, 1], -ways[side][:, 0]])
    return shapely.linestrings(np.stack([at - IN * out, at + OUT * out], axis=1))


def _shapes(solid: Solid, along: Floats, across: Any) -> Iterator[shapely.Polygon]:
    met = shapely.intersection(across, solid.footprint)
    there = np.flatnonzero(~shapely.is_empty(met))
    for part in np.split(there, np.flatnonzero(np.diff(there) > 1) + 1):
        if len(part) < 2:
            continue
        middles = shapely.get_coordinates(shapely.centroid(met[part]))
        bottom, top = solid.between(middles)
        s = along[part]
        s[0] -= EVERY / 2
        s[-1] += EVERY / 2
        low, high = (np.column_stack([s, z]) for z in (bottom, np.maximum(top, bottom)))
        # A body may run out to nothing where its top comes down to its bottom.
        whole = shapely.make_valid(shapely.Polygon([*low, *high[::-1]]))
        yield from (each for each in shapely.get_parts(whole) if each.geom_type == "Polygon")
