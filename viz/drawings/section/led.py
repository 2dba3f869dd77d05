"""Labels of a section, each led from within what it names, no leader over what another names."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np
import shapely
from msgspec import Struct
from shapely.geometry.base import BaseGeometry

from grading.dig.beds import Bed
from grading.geometry.arrays import Floats
from grading.section.built import Built
from grading.section.cut import Cut
from viz.drawings.placing import Label, column_heights
from viz.paper.compose import BEND, View
from viz.paper.drawing import Point

_CLEAR = 1.0
"""A leader nearer to the start of another one is read as the other's. [mm]"""

SHARES = (0.5, 0.3, 0.7)
"""How deep in a layer its leader may start, the best first. [ratio]"""

_SLIVER = 0.004  # m: nothing starts nearer to the side of a body
_FAR = 1e5  # m: beyond any elevation


class Named(Struct, frozen=True):
    """What a label says, and the places in a cut where its leader may start, the best first. [m]"""

    words: str
    places: tuple[Point, ...]


def named(label: Label) -> Named:
    """Return a label whose leader starts in one place."""
    s, z, words = label
    return Named(words, ((s, z),))


def places_in(body: BaseGeometry) -> tuple[Point, ...]:
    """Return places in a body in section where a leader may start; none in what is a sliver. [m]"""
    shape = shapely.buffer(body, -_SLIVER)
    if shape.is_empty:
        return ()
    low, _, high, _ = shape.bounds
    found: list[Point] = []
    for share in (5 / 6, 1 / 2, 1 / 6):
        s = low + (high - low) * share
        upright = shape.intersection(shapely.LineString([(s, -_FAR), (s, _FAR)]))
        if not upright.is_empty:
            _, floor, _, roof = max(shapely.get_parts(upright), key=shapely.length).bounds
            found += ((s, roof - (roof - floor) * deep) for deep in SHARES)
    return tuple(found)


def bed_places(cut: Cut, s: float, bed: Bed) -> Iterator[Point]:
    """Yield places in a layer at a distance [m], those off the line of the ground there first."""
    thick, top = bed.bottom - bed.top, float(cut.finish_at(s)) - bed.top
    ground = float(cut.ground_at(s))
    places = [(s, top - thick * share) for share in SHARES]
    yield from sorted(places, key=lambda place: abs(place[1] - ground) < thick / 5)


def beds_named(
    cut: Cut, stations: Sequence[float], words: Callable[[Bed], str], built: Sequence[Built] = ()
) -> Iterator[Named]:
    """Yield what lies under the first of some distances, from the top down.

    Parameters
    ----------
    cut : Cut
    stations : sequence of float
        Where leaders may start, the best first. [m]
    words : callable
        What is said of a layer.
    built : sequence of Built
        What stands in the layers: no leader to a layer starts in it, and what it fills is not told.
    """
    bodies = shapely.buffer(shapely.union_all([each.shape for each in built]), 2 * _SLIVER)
    found: dict[str, tuple[str, list[Point]]] = {}
    for s in stations:
        for bed in cut.beds_at(s):
            told = found.setdefault(bed.name, (words(bed), []))[1]
            told += (at for at in bed_places(cut, s, bed) if not bodies.covers(shapely.Point(at)))
    first = [bed.name for bed in cut.beds_at(stations[0])]
    yield from (Named(found[name][0], tuple(found[name][1])) for name in first if found[name][1])


def untangled(
    view: View, said: Iterable[Named], column: float, ends: tuple[float, float], size: float,
    apart: float,
) -> list[Label]:  # fmt: skip
    """Return labels for a column, each at the place that tangles the fewest leaders.

    The arguments are those of `label_column`.
    """
    given = list(said)
    chosen = [each.places[0] for each in given]

    def tangles() -> int:
        labels = [(s, z, each.words) for (s, z), each in zip(chosen, given, strict=True)]
        return _tangles(view, labels, column, column_heights(view, labels, ends, size, apart))

    least = tangles()
    for k, each in (*enumerate(given), *enumerate(given)):
        for place in each.places if least else ():
            before, chosen[k] = chosen[k], place
            if (now := tangles()) < least:
                least = now
            else:
                chosen[k] = before
    return [(s, z, each.words) for (s, z), each in zip(chosen, given, strict=True)]


def _tangles(view: View, labels: Sequence[Label], column: float, heights: Sequence[float]) -> int:
    """Count the starts that other leaders run over, and the leaders that cross."""
    starts: Floats = np.array([view.paper((s, z)) for s, z, _ in labels]).reshape(-1, 2)
    bends = np.array([(column - BEND, height) for height in heights]).reshape(-1, 2)
    lines = np.asarray(shapely.linestrings(np.stack([starts, bends], axis=1)))
    over = shapely.distance(lines[:, None], np.asarray(shapely.points(starts))[None]) < _CLEAR
    crossed = shapely.crosses(lines[:, None], lines[None])
    own = np.eye(len(labels), dtype=bool)
    return int((over & ~own).sum()) + int(crossed.sum()) // 2
