"""What falls on a site and comes off its roofs, and where each downspout's water goes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.site.water_tables import Downspout, Storm
from grading.units import FOOT
from grading.water.course import EDGE, Course
from grading.water.edges import path_from
from grading.water.grid.flow import way
from grading.water.grid.relief import Relief
from grading.water.runoff import coefficients, rational_flow

_ASTRAY = 3 * FOOT  # a spout this far from the grid's ground still lets its water go there


class SpoutWater(Struct, frozen=True, eq=False):
    """Where the water of one downspout goes.

    end : where it is let go, (2,). [m]
    from_house : from there to the house, None without one. [m]
    path : its way from there, (k, 2), empty off the map. [m]
    destination, kind : where it ends.
    crosses : names of the areas that it runs over.
    runoff : of its roof in the storm, None without one. [m3/s]
    """

    name: str
    end: Floats
    from_house: float | None
    path: Floats
    destination: str
    kind: str
    crosses: tuple[str, ...]
    runoff: float | None


def spout_water(
    spout: Downspout, course: Course, house: shapely.Geometry, storm: Storm | None
) -> SpoutWater:
    """Return where the water of a downspout goes, from the end of its extension on."""
    end = end_of(spout)
    cell = _cell_of(course.grid, end)
    path, place, crossed = np.zeros((0, 2)), (EDGE, EDGE), []
    if cell is not None:
        path, place = (
            path_from(course.grid, course.downhill.receiver, cell),
            course.places[course.label[cell]],
        )
        kinds = course.kind[way(course.downhill.receiver, cell)]
        crossed = [course.areas[number] for number in kinds.tolist() if number >= 0]
    roof = coefficients()["roof"].value
    return SpoutWater(
        name=spout.name,
        end=end,
        from_house=None if shapely.is_empty(house) else _apart(house, end),
        path=path,
        destination=place[0],
        kind=place[1],
        crosses=tuple(dict.fromkeys(crossed)),
        runoff=None if storm is None else rational_flow(roof, storm.intensity, spout.roof),
    )


def sheds_on(
    grid: Relief, downspouts: Sequence[Downspout], soil: str, paving: Sequence[float]
) -> tuple[Floats, Floats]:
    """Return the plan area that starts at each cell, and what of it runs off.

    Parameters
    ----------
    grid : Relief
    downspouts : sequence of Downspout
        Their roofs start at the cell where they let go; one that lets go off the map, nowhere.
    soil : "gravel", "sand", "loam" or "clay"
        Under the lawn.
    paving : sequence of float
        Share of the rain that leaves each piece of paving, as the grid numbers them.

    Returns
    -------
    (n,) float, (n,) float
        Area, and that times the share of its rain that runs off. [m2]
    """
    share = {name: datum.value for name, datum in coefficients().items()}
    kind = grid.kind.ravel()
    fell = np.where(grid.ground.ravel(), grid.spacing**2, 0.0)
    # A cell that is not paved is numbered below zero, and so takes the last of these.
    runs_off = fell * np.array([*paving, share[soil]])[np.maximum(kind, -1)]
    for spout in downspouts:
        cell = _cell_of(grid, end_of(spout))
        if cell is not None:
            fell[cell] += spout.roof
            runs_off[cell] += spout.roof * share["roof"]
    return fell, runs_off


def _apart(house: shapely.Geometry, at: Floats) -> float:
    return float(shapely.distance(house, shapely.Point(at)))


def end_of(spout: Downspout) -> Floats:
    """Return where a downspout lets its water go, (2,). [m]"""
    return spout.at if spout.to is None else spout.to


def _cell_of(grid: Relief, at: Floats) -> int | None:
    """Return the cell of ground at a point or nearest to it, None where none is in reach."""
    cell = int(grid.cells(at[None])[0])
    if cell >= 0 and grid.ground.ravel()[cell]:
        return cell
    cells = np.flatnonzero(grid.edge | grid.beside_house)
    if not len(cells):
        return None
    apart = np.hypot(*(grid.centres(cells) - at).T)
    nearest = int(apart.argmin())
    return int(cells[nearest]) if apart[nearest] <= _ASTRAY else None
