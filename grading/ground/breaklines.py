"""Breaklines: lines along which the ground creases, made into edges between points."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats, Ints
from grading.geometry.tolerances import SAME_ELEVATION, SAME_PLACE
from grading.ground.spots import SpotNames

# A vertex without its own elevation takes the nearest spot within this distance. [m]
# Common practice, no source: the foot of a levelling rod is about this wide.
AT_A_SPOT = 0.02
# A breakline goes through every spot this near to it. [m] Coordinates to 0.01 ft are off by up
# to 2.2 mm, so a spot shot on a kerb line lies beside the straight line between its ends.
ON_THE_LINE = 0.005

_KEY = "site.toml, key ground.breaklines"


def with_breaklines(
    points: Floats, breaklines: Sequence[Floats], names: SpotNames
) -> tuple[Floats, Ints]:
    """Return the points (spots first, added vertices last) and the edges the breaklines need.

    Parameters
    ----------
    points : (n, 3) float
        Distinct spots. [m]
    breaklines : sequence of (j, 2) or (j, 3) float
        Vertices; z absent or NaN where the vertex is at a spot. [m]

    Raises
    ------
    SiteError
        A vertex without elevation is not within AT_A_SPOT of a spot; a vertex's own elevation
        differs from that of the spot it is at; a line has fewer than two places; two lines cross
        where they share no vertex.
    """
    if not breaklines:
        return points, np.zeros((0, 2), np.int64)
    problems: list[Problem] = []
    chains: list[list[int]] = []
    vertices = _Vertices(points, names)
    for number, line in enumerate(breaklines):
        rows = np.asarray(line, float)
        if rows.shape[1] == 2:
            rows = np.column_stack((rows, np.full(len(rows), np.nan)))
        chain: list[int] = []
        for place, row in enumerate(rows):
            found = vertices.at(row, f"{_KEY}[{number + 1}][{place + 1}]")
            if isinstance(found, Problem):
                problems.append(found)
            elif not chain or chain[-1] != found:
                chain.append(found)
        if len(chain) < 2 and not problems:
            problems.append(_too_short(number, len(chain)))
        chains.append(chain)
    if problems:
        raise SiteError(problems)
    points = vertices.points()
    edges = [_through_spots(points, np.array(chain)) for chain in chains]
    _check_crossings(points, edges, names)
    return points, np.concatenate(edges)


class _Vertices:
    """The spots, and the vertices that breaklines add to them."""

    def __init__(self, spots: Floats, names: SpotNames) -> None:
        self.spots, self.names = spots, names
        self.tree = shapely.STRtree(np.asarray(shapely.points(spots[:, :2])))
        self.added: list[Floats] = []

    def points(self) -> Floats:
        return np.concatenate((self.spots, *(row[None] for row in self.added)))

    def at(self, row: Floats, where: str) -> int | Problem:
        """Return the number of the point that a vertex (x, y, z or NaN) is, adding it if new."""
        names = self.names
        if not np.isfinite(row[:2]).all() or np.isinf(row[2]):
            return Problem(where, f"{row.tolist()}", "finite numbers", "Type the vertex again.")
        nearest = int(self.tree.nearest(shapely.Point(row[:2])))
        gap = float(np.hypot(*(self.spots[nearest, :2] - row[:2])))
        if np.isnan(row[2]):
            if gap <= AT_A_SPOT:
                return nearest
            for number, other in enumerate(self.added):
                if np.hypot(*(other[:2] - row[:2])) <= AT_A_SPOT:
                    return len(self.spots) + number
            return Problem(
                where,
                f"a vertex without elevation at {names.place(row)}, "
                f"{names.about(gap)} from the nearest spot",
                f"a spot within {AT_A_SPOT * 1000:.0f} mm, or a third number for its elevation",
                "Move the vertex to a spot, or write [x, y, z].",
            )
        known = [(nearest, self.spots[nearest])] if gap < SAME_PLACE else []
        known += [
            (len(self.spots) + number, other)
            for number, other in enumerate(self.added)
            if np.hypot(*(other[:2] - row[:2])) < SAME_PLACE
        ]
        for number, other in known:
            if abs(other[2] - row[2]) <= SAME_ELEVATION:
                return number
            return Problem(
                where,
                f"elevation {names.length(row[2])} at {names.place(row)}, where "
                f"{'the survey' if number < len(self.spots) else 'another vertex'} "
                f"has {names.length(other[2])}",
                "one elevation at one place",
                "Leave the vertex's elevation out, or correct the spot.",
            )
        self.added.append(row)
        return len(self.spots) + len(self.added) - 1


def _too_short(number: int, places: int) -> Problem:
    return Problem(
        f"{_KEY}[{number + 1}]",
        "a line with no vertex" if places == 0 else "a line with one place",
        "at least two different places",
        "Add a vertex, or delete the line.",
    )


def _through_spots(points: Floats, chain: Ints) -> Ints:
    """Return the edges (e, 2) of a chain of points, led through every point that lies on it."""
    xy = points[:, :2]
    low = xy[chain].min(axis=0) - ON_THE_LINE
    high = xy[chain].max(axis=0) + ON_THE_LINE
    near = np.flatnonzero(((xy >= low) & (xy <= high)).all(axis=1))
    path = [int(chain[0])]
    for start, end in pairwise(chain.tolist()):
        along = xy[end] - xy[start]
        long = float(np.hypot(*along))
        offset = xy[near] - xy[start]
        run = offset @ along / long
        aside = offset @ np.array([-along[1], along[0]]) / long
        on_it = (np.abs(aside) <= ON_THE_LINE) & (run > 0) & (run < long)
        on_it &= (near != start) & (near != end)
        path += near[on_it][np.argsort(run[on_it], kind="stable")].tolist()
        path.append(end)
    return np.array(list(pairwise(path)))


def _check_crossings(points: Floats, edges: Sequence[Ints], names: SpotNames) -> None:
    """Refuse edges that meet anywhere but at a common point."""
    owner = np.repeat(np.arange(len(edges)), [len(e) for e in edges])
    edge = np.concatenate(edges)
    segments = np.asarray(shapely.linestrings(points[edge][..., :2]))
    a, b = shapely.STRtree(segments).query(segments, predicate="crosses")
    problems = {}
    for i, j in zip(a.tolist(), b.tolist(), strict=True):
        lines = (int(owner[i]), int(owner[j]))
        if i >= j or lines in problems or set(edge[i]) & set(edge[j]):
            continue
        met = shapely.get_coordinates(shapely.intersection(segments[i], segments[j]))[0]
        one, other = lines
        problems[lines] = Problem(
            f"{_KEY}[{one + 1}]",
            f"a crossing with {'itself' if one == other else f'breaklines[{other + 1}]'} "
            f"at {names.place(met)}",
            "breaklines that meet only at a vertex of both",
            "Give both lines a vertex [x, y, z] there, or end one of them before it.",
        )
    if problems:
        raise SiteError(list(problems.values()))
