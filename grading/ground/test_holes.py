"""Which area a test hole tells of: the one that it names, else the one that it lies in or beside.

The topsoil under an area is known from its own holes: what was found under a walk says nothing of
the patio beside it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from grading.errors import Problem
from grading.files.toml_text import nearest, shown_value
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import SAME, TOGETHER
from grading.site.tables import Area
from grading.units import Unit, number, run

YARD = "yard"
"""What a hole of no area says: it tells of the ground around, and of areas without a hole."""

COLUMN = "area"


class AreaHoles(Struct, frozen=True):
    """The holes that the topsoil of an area is taken from.

    Attributes
    ----------
    own : (k,) int
        Those of the area, in the order of the file.
    used : (n,) int
        Those that its topsoil is taken from: its own; where it has none, those of the yard; where
        there are none of these either, all.
    """

    own: NDArray[np.intp]
    used: NDArray[np.intp]


LEAST_OTHERS = 2
"""Shallow holes beside a deep one from which it is one place: common practice, no source. Of two
holes each may be the rule."""


def lone_hole(depths: Floats, limit: float) -> int | None:
    """Return which hole alone is deeper than a limit, of depths (k,); None where none is. [m]

    One deep hole among shallow ones is a stump or an old pit.
    """
    deep = np.flatnonzero(depths > limit + SAME)
    return int(deep[0]) if len(deep) == 1 and len(depths) > LEAST_OTHERS else None


def belonging(
    probes: Floats, named: Sequence[str], areas: Sequence[Area], reach: float
) -> tuple[tuple[str, ...], ...]:
    """Return the names of the areas that each hole tells of; none for a hole of the yard.

    Parameters
    ----------
    probes : (p, 3) float
        x, y and depth. [m]
    named : sequence of str
        The area that each names, empty where it names none; all of them empty where it is empty.
    areas : sequence of Area
    reach : float
        How far beside an area a hole tells of it still. [m]

    Notes
    -----
    A hole that names no area is the nearest one's, within the reach. On an edge that two share it
    is both's.
    """
    at = np.asarray(shapely.points(probes[:, :2]))
    far = np.array([shapely.distance(area.polygon, at) for area in areas]).reshape(-1, len(at))
    known = {area.name for area in areas}
    found: list[tuple[str, ...]] = []
    for k in range(len(at)):
        word = named[k] if named else ""
        if word in known:
            found.append((word,))
        elif word:
            found.append(())
        else:
            near = far[:, k] <= min(far[:, k].min(initial=np.inf) + TOGETHER, reach)
            inside = [area.name for area in areas if shapely.contains_properly(area.polygon, at[k])]
            near_ones = (area.name for area, beside in zip(areas, near, strict=True) if beside)
            found.append(tuple(inside) or tuple(near_ones))
    return tuple(found)


def holes_of(
    probes: Floats, named: Sequence[str], areas: Sequence[Area], reach: float
) -> Mapping[str, AreaHoles]:
    """Return the holes that the topsoil of each area is taken from, by the name of the area.

    Parameters
    ----------
    probes, named, areas, reach : as for `belonging`
    """
    owners = belonging(probes, named, areas, reach)
    yard = np.array([k for k, names in enumerate(owners) if not names], dtype=np.intp)
    every = np.arange(len(owners))
    found = {}
    for area in areas:
        own = np.array([k for k, names in enumerate(owners) if area.name in names], dtype=np.intp)
        found[area.name] = AreaHoles(own, next(each for each in (own, yard, every) if len(each)))
    return found


def hole_problems(
    probes: Floats,
    named: Sequence[str],
    lines: Sequence[int],
    areas: Sequence[Area],
    reach: float,
    unit: Unit,
    file: str,
) -> Iterator[Problem]:
    """Give a problem for each hole of no area that does not say so, or of one that is not there.

    Parameters
    ----------
    probes, named, areas, reach : as for `belonging`
    lines : sequence of int
        The line of the file that each hole is on.
    unit : "ft" or "m"
        What the sentences are written in.
    file : str
        Its name in messages.
    """
    polygons = {area.name: area.polygon for area in areas}
    listed = f'the name of an area: {", ".join(map(shown_value, polygons))}; or "{YARD}"'
    for hole, owners, line, k in zip(
        probes, belonging(probes, named, areas, reach), lines, range(len(lines)), strict=True
    ):
        at, word = shapely.Point(hole[:2]), named[k] if named else ""
        x, y = (number(value, unit) for value in hole[:2])
        if word and word != YARD and word not in polygons:
            mend = nearest(word, (*polygons, YARD))
            where = f"{file}, line {line}, column {COLUMN}"
            yield Problem(where, shown_value(word), listed, mend)
        elif word in polygons:
            inside = [name for name, area in polygons.items() if area.contains_properly(at)]
            gap = float(polygons[word].distance(at))
            if gap > reach and inside:
                yield Problem(
                    f"{file}, line {line}, column {COLUMN}",
                    f"{shown_value(word)} of a test hole at [{x}, {y}], which lies in "
                    f"{shown_value(inside[0])}, {run(gap, unit)} from {word}",
                    "the area that a hole lies in",
                    "Correct its place or its area.",
                )
        elif not word and not owners:
            gap = min((float(area.distance(at)) for area in polygons.values()), default=np.inf)
            yield Problem(
                f"{file}, line {line}",
                f"a test hole at [{x}, {y}] that names no area, {run(gap, unit)} from any",
                f"a hole in an area or within {run(reach, unit)} of it, or a column {COLUMN} that "
                "says what it tells of",
                f'Write the name of its area in the column {COLUMN}, or "{YARD}" where it tells '
                "of the ground around alone.",
            )
