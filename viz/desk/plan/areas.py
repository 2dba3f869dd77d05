"""An area of paving on the page: its outline corner by corner as it is written, and its finish."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.folds import folds_of, panes_of
from grading.design.points import letters, named_points, outline_corners, with_holes
from grading.geometry.arrays import Floats
from grading.geometry.outline import Arc
from grading.geometry.tolerances import TAPED, TOGETHER, TOLD_LEVEL
from grading.pipeline import Plan
from grading.reading.partly import Partly
from grading.site.tables import Area
from grading.units import FOOT, Unit, length, percent, run
from viz.desk.places import place, placed, ring
from viz.desk.plan.held import held_at

ARROWS = 5 * FOOT
"""Arrows of the fall are about so far apart. [m]"""

MOST_ARROWS = 14
"""Arrows of an area; on a larger one they stand farther apart."""


def areas_planned(plan: Plan | None) -> Mapping[str, AreaPlan]:
    """Return the planned areas by name."""
    return {} if plan is None else {area.name: area for area in plan.areas}


def area_view(
    document: Mapping[str, Any], partly: Partly, way: str, area: Area, planned: AreaPlan | None,
    stale: bool,
) -> dict[str, Any]:  # fmt: skip
    """Return an area as plain data.

    Parameters
    ----------
    document : mapping
        The site file as TOML has it.
    partly : Partly
        What of it can be read.
    way : str
        To the area: "area/0".
    area : Area
        As it was read.
    planned : AreaPlan or None
        Of the last plan that could be made.
    stale : bool
        Whether the document has moved on since.
    """
    number = int(way.split("/")[1])
    written = document["area"][number]
    unit = partly.unit
    outlines = [(f"{way}/outline", written["outline"], area.outline)]
    outlines += [
        (f"{way}/holes/{k}", hole, area.holes[k]) for k, hole in enumerate(written.get("holes", []))
    ]
    names = _names(area, planned)
    return {
        "at": way,
        "name": area.name,
        "middle": place(area.polygon.representative_point().coords[0], unit),
        "paved": [ring(each, unit) for each in (area.polygon.exterior, *area.polygon.interiors)],
        "rings": [
            {
                "at": at,
                "corners": _corners(
                    at, raw, edges, names, planned, _Beside(document, partly, area), stale
                ),
            }
            for at, raw, edges in outlines
        ],
        "falls": [] if planned is None else _falls(planned, unit),
        "folds": [] if planned is None else _folds(planned, unit),
    }


def corner_names(area: Area, plan: Plan | None) -> list[str]:
    """Return the letter of each corner of an outline as it is written, empty where it has none."""
    names = _names(area, areas_planned(plan).get(area.name))
    ends = (each.end if isinstance(each, Arc) else each for each in area.outline)
    return [_name_at(np.array(end, float), names) for end in ends]


class _Beside:
    """What an edge of an area may lie at: the house, and other areas."""

    def __init__(self, document: Mapping[str, Any], partly: Partly, area: Area) -> None:
        self._document, self._partly = document, partly
        house = partly.house
        others = [each.polygon for each in partly.areas.values() if each is not area]
        wall = [] if house is None else [shapely.LineString(house.walls)]
        self.unit: Unit = partly.unit
        self._held = shapely.union_all([*wall, *(each.boundary for each in others)])

    def held(self, at: Floats) -> dict[str, Any] | None:
        """Return the way to what holds the finish at a corner, with its level as written."""
        way = held_at(self._partly, at)
        if not way:
            return None
        z = self._document["meet"][int(way.split("/")[1])]["z"]
        return {"at": way, "z": z[0] if isinstance(z, list) else z}

    def holds(self, start: Floats, end: Floats) -> bool:
        """Say whether all of an edge lies along one of them."""
        edge = shapely.LineString([start, end])
        inner = edge.interpolate([0.1, 0.5, 0.9], normalized=True)
        return bool((shapely.distance(inner, self._held) < TOGETHER).all())


def _names(area: Area, planned: AreaPlan | None) -> list[tuple[str, Floats]]:
    """Return the letters of the corners, as every drawing and sheet has them, and where they are.

    Of an area that is not planned yet they are those of its outline.
    """
    if planned is not None and planned.area is area:
        points = named_points(planned)
        count = len(points.names)
        every = with_holes(planned, points)
        # Of what has a letter only corners are corners of the outline, and those of holes.
        kept = [*range(points.corners), *range(count, len(every.names))]
        return [(every.names[k], every.xy[k]) for k in kept]
    found = [at for at, _ in outline_corners(area.polygon, area.outline)]
    return list(zip(letters(len(found)), found, strict=True))


def _corners(
    at: str, written: Sequence[Any], edges: Sequence[Any], names: list[tuple[str, Floats]],
    planned: AreaPlan | None, beside: _Beside, stale: bool,
) -> list[dict[str, Any]]:  # fmt: skip
    ends = [np.array(edge.end if isinstance(edge, Arc) else edge, float) for edge in edges]
    levels = _levels(planned, ends, beside.unit, stale)
    closing = len(ends) > 3 and float(np.hypot(*(ends[-1] - ends[0]))) < TAPED
    corners = []
    for k, (edge, end) in enumerate(zip(edges, ends, strict=True)):
        start = ends[k - 1]
        through = edge.through if isinstance(edge, Arc) else None
        straight = float(np.hypot(*(end - start)))
        corners.append(
            {
                "at": f"{at}/{k}",
                "xy": place(end, beside.unit),
                "written": written[k],
                "through": None if through is None else place(through, beside.unit),
                "name": _name_at(end, names),
                "level": levels[k],
                "closing": closing and k == len(ends) - 1,
                "held": beside.held(end),
                # The edge that ends here.
                "edge": {
                    "label": run(straight, beside.unit) if through is None else "",
                    "free": not beside.holds(start, end),
                },
            }
        )
    return corners


def _name_at(at: Floats, names: list[tuple[str, Floats]]) -> str:
    away = [float(np.hypot(*(at - there))) for _, there in names]
    nearest = int(np.argmin(away)) if away else -1
    return names[nearest][0] if away and away[nearest] < TAPED else ""


def _levels(planned: AreaPlan | None, ends: Sequence[Floats], unit: Unit, stale: bool) -> list[str]:
    """Return the level of the finish at each corner; none where the plan never had that corner."""
    if planned is None:
        return [""] * len(ends)
    xy = np.array(ends)
    told = [length(float(z), unit) for z in planned.finish.surface.at(xy)]
    if not stale:
        return told
    edge = planned.outline.boundary
    kept = np.atleast_1d(shapely.distance(shapely.points(xy), edge) < TAPED)
    return [words if known else "" for words, known in zip(told, kept, strict=True)]


def _falls(planned: AreaPlan, unit: Unit) -> list[dict[str, Any]]:
    """Return arrows of the fall, all over the paving; the first of each plane has its figure."""
    panes = panes_of(planned)
    spacing = max(ARROWS, float(np.sqrt(planned.outline.area / MOST_ARROWS)))
    arrows = []
    for pane in panes:
        plane = pane.plane
        level = plane.fall < TOLD_LEVEL
        label = "level" if level else percent(plane.fall)
        for k, at in enumerate(_spread(pane.region, spacing)):
            arrows.append(
                {
                    "xy": place(at, unit),
                    "way": None if level else np.asarray(plane.downhill, float).tolist(),
                    "label": label if k == 0 else "",
                }
            )
    return arrows


def _spread(region: Any, spacing: float) -> list[Floats]:
    """Return points of paving well inside, so far apart, the farthest in first. [m]"""
    x0, y0, x1, y1 = region.bounds
    counts = [max(round(side / spacing), 1) for side in (x1 - x0, y1 - y0)]
    across, up = (
        low + (np.arange(count) + 0.5) / count * (high - low)
        for low, high, count in ((x0, x1, counts[0]), (y0, y1, counts[1]))
    )
    grid = np.stack(np.meshgrid(across, up), axis=-1).reshape(-1, 2)
    room = shapely.distance(region.boundary, shapely.points(grid))
    room[~shapely.contains_xy(region, grid)] = 0.0
    kept = np.flatnonzero(room > min(spacing * 0.3, float(room.max()) * 0.9))
    if not len(kept):
        return [np.asarray(region.representative_point().coords[0])]
    return [grid[k] for k in kept[np.argsort(-room[kept], kind="stable")]]


def _folds(planned: AreaPlan, unit: Unit) -> list[dict[str, Any]]:
    return [{"line": placed(fold.line, unit)} for fold in folds_of(planned)]
