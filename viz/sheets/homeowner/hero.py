"""The picture at the head of the homeowner's paper: finished, with today beside it, and labels."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely
from msgspec import Struct

from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.geometry.arrays import Floats, unit_vector
from grading.pipeline import Plan
from grading.site.hold_table import HOLD_KINDS
from grading.structures.model import Structure
from grading.units import Unit, size, square_feet
from grading.water.plain import called
from viz.paper.lettering import extent
from viz.scene.surroundings import DOOR_WIDTH, door_frame
from viz.sheets.compile import Compiled, printable
from viz.sheets.homeowner.callouts import Box, stood
from viz.sheets.homeowner.stills import BeforeAfter, Shot
from viz.words.paving.structures import structures_in

WIDE, HIGH = 184.0, 100.0
"""Room for the picture on paper. [mm]"""

_INSET = (0.36, 0.33, 0.30, 0.27, 0.24)  # share of the finished picture's width that today has
_WIDEST = 60.0  # mm: of today
_SIZE = 2.5  # mm: lettering of a label
_MARGIN = 1.5  # mm
_HIDES, _HIDES_DOOR = 0.25, 1.5  # what hiding a mm2 costs, in mm of line
_DOOR = 2.0  # m: of a door is to be seen
_WORD = (19.0, 6.5)  # mm: room for the word under or over today
_STANDS = 0.05  # m: what is built and stands so high above the ground is named
_HOLDERS = frozenset(HOLD_KINDS) - {"steps", "lower finish"}  # what stands along a raised edge


class Named(Struct, frozen=True):
    """Something that is pointed at: two lines of words, and where it may be, (n, 3). [m]"""

    first: str
    second: str
    places: Floats


def hero(plan: Plan, shots: BeforeAfter, sheet: Compiled, unit: Unit) -> dict[str, Any]:
    """Return what the template reads of the picture: both stills and labels with their places.

    Parameters
    ----------
    plan : Plan
    shots : BeforeAfter
    sheet : Compiled
        Takes the stills.
    unit : "ft" or "m"
    """
    box, inset, word = _laid_out(shots)
    labels = _labels(plan, shots, box, [inset, word], unit)
    alts = (
        "Finished: the paving as it is planned, seen from the yard, heights and lengths alike",
        "Today: the ground as it was measured, seen from the same place, the outline dashed",
    )
    return {
        "size": [WIDE, HIGH],
        "finished": {**_place(box), **sheet.picture(shots.finished.png, "png", alts[0])},
        "today": {**_place(inset), **sheet.picture(shots.today.png, "png", alts[1])},
        "word": _place(word),
        "labels": labels,
    }


def _place(box: Box) -> dict[str, float]:
    return {"x": box[0], "y": box[1], "width": box[2] - box[0], "height": box[3] - box[1]}


def _laid_out(shots: BeforeAfter) -> tuple[Box, Box, Box]:
    """Return where the finished picture, that of today and its word lie: as large as they fit."""
    wide, high = shots.finished.size
    best: tuple[float, Box, Box, Box] | None = None
    largest = min(WIDE / wide, HIGH / high)
    for share in (1.0, 0.95, 0.9, 0.85, 0.8, 0.75, 0.7, 0.62):
        w, h = wide * largest * share, high * largest * share
        for part in _INSET:
            iw = min(w * part, _WIDEST)
            ih = iw * shots.today.size[1] / shots.today.size[0]
            found = _in_a_corner(shots, (w, h), (iw, ih))
            # A larger picture of the job weighs more than a larger one of today.
            worth = share + 0.25 * iw / _WIDEST
            if found is not None and (best is None or worth > best[0]):
                best = worth, *found
    if best is None:
        # Side by side, whatever their shapes.
        k = min(0.7 * WIDE / wide, HIGH / high)
        box = (0.0, 0.0, wide * k, high * k)
        iw = min(WIDE - box[2] - 3.0, _WIDEST)
        ih = iw * shots.today.size[1] / shots.today.size[0]
        inset = (WIDE - iw, HIGH - ih, WIDE, HIGH)
        return box, inset, (WIDE - _WORD[0], inset[1] - _WORD[1], WIDE, inset[1])
    return best[1:]


def _hull(shot: Shot, box: Box) -> shapely.Polygon:
    x, y, right, bottom = box
    ring = shot.hull * (right - x, bottom - y) + (x, y)
    return shapely.Polygon(ring).buffer(1.5)


def _in_a_corner(
    shots: BeforeAfter, size: tuple[float, float], small: tuple[float, float]
) -> tuple[Box, Box, Box] | None:
    """Return both pictures and the word, today in a corner that is free; None where none is."""
    (w, h), (iw, ih) = size, small
    for right, low in ((True, True), (False, True), (True, False), (False, False)):
        left = WIDE - iw if right else 0.0
        top = HIGH - ih if low else 0.0
        inset = (left, top, left + iw, top + ih)
        # The job is pushed away from that corner.
        for x in ((0.0 if right else WIDE - w), (WIDE - w) / 2):
            y = (HIGH - h) / 2
            box = (x, y, x + w, y + h)
            free = _hull(shots.finished, box)
            if free.intersects(_hull(shots.today, inset)):
                continue
            word = _word(inset, free, _hull(shots.today, inset))
            if word is not None:
                return box, inset, word
    return None


def _word(inset: Box, taken: shapely.Polygon, own: shapely.Polygon) -> Box | None:
    left, top, right, bottom = inset
    wide, high = _WORD
    for x, y in ((right - wide, bottom - high), (left, bottom - high), (right - wide, top),
                 (left, top), (right - wide, top - high), (left, top - high),
                 (left - wide, bottom - high), (right, bottom - high)):  # fmt: skip
        box = shapely.box(x, y, x + wide, y + high)
        inside = x >= 0 and y >= 0 and x + wide <= WIDE and y + high <= HIGH
        if inside and not box.intersects(taken) and not box.intersects(own):
            return x, y, x + wide, y + high
    return None


def _labels(
    plan: Plan, shots: BeforeAfter, box: Box, taken: list[Box], unit: Unit
) -> list[dict[str, Any]]:
    found = [(each, at) for each in _named(plan, unit) if (at := _seen(shots, each)) is not None]
    if not found:
        return []
    shares = shots.place(np.array([at for _, at in found]))
    anchors = shares * (box[2] - box[0], box[3] - box[1]) + (box[0], box[1])
    sizes = [
        (max(extent(each.first, _SIZE)[0], extent(each.second, _SIZE, True)[0]) + 3.4,
         2 * _SIZE * 1.55 + 1.6 if each.second else _SIZE * 1.55 + 1.6)
        for each, _ in found
    ]  # fmt: skip
    frame = (_MARGIN, _MARGIN, WIDE - _MARGIN, HIGH - _MARGIN)
    boxes = stood(anchors, sizes, _matters(plan, shots, box), taken, frame)
    rows = []
    for (each, _), anchor, where in zip(found, anchors, boxes, strict=True):
        if where is None:
            continue
        x0, y0, x1, y1 = where
        end = [float(np.clip(anchor[0], x0 + 2, x1 - 2)), float(np.clip(anchor[1], y0, y1))]
        rows.append({
            "first": printable(each.first, 60), "second": printable(each.second, 60),
            "at": [float(anchor[0]), float(anchor[1])], "end": end,
            **_place((x0, y0, x1, y1)),
        })  # fmt: skip
    return rows


def _matters(plan: Plan, shots: BeforeAfter, box: Box) -> list[tuple[shapely.Geometry, float]]:
    """Return where in the picture lies what is to be seen, and what hiding a mm2 of it costs.

    Doors before all; then paving, and what is built beside it. [mm]
    """
    faces, leaves = [], []
    house = plan.site.house
    for area in plan.areas:
        ring = shapely.get_coordinates(shapely.segmentize(area.outline.exterior, 0.5))
        faces.append(np.column_stack([ring, area.finish.surface.at(ring)]))
        for step in door_steps(area):
            if house is None:
                continue
            place, sill = door_frame(house, step.door), step.door.sill
            ends = [place.at + side * DOOR_WIDTH / 2 * place.along for side in (-1, 1)]
            leaves.append(np.array([[*xy, z] for z in (sill, sill + _DOOR) for xy in ends]))

    def on_paper(points: Floats) -> Floats:
        return shots.place(points) * (box[2] - box[0], box[3] - box[1]) + (box[0], box[1])

    shapes: list[shapely.Geometry] = [
        shapely.Polygon(on_paper(points)).buffer(0) for points in faces
    ]
    for each in structures_in(plan.order):
        seen = _standing(plan, each)
        if seen is not None:
            # One by one and then united: places are thousands, and lie in each other's circles.
            places = shapely.points(np.unique(on_paper(seen), axis=0))
            shapes.append(shapely.union_all(shapely.buffer(places, 3.0, quad_segs=16)))
    doors = [shapely.MultiPoint(on_paper(points)).convex_hull for points in leaves]
    return [(shapely.union_all(shapes), _HIDES), (shapely.union_all(doors), _HIDES_DOOR)]


def _seen(shots: BeforeAfter, named: Named) -> Floats | None:
    """Return the place of something that is seen best: the middle of those that can be seen."""
    seen = named.places[shots.seen(named.places)]
    if not len(seen):
        return None
    middle = seen.mean(axis=0)
    nearest = seen[int(np.argmin(((seen - middle) ** 2).sum(axis=1)))]
    return np.asarray(nearest)


def _named(plan: Plan, unit: Unit) -> list[Named]:
    """Return what is pointed at, what matters most first: steps at doors, walls, steps, areas."""
    found = []
    for area in plan.areas:
        for step in door_steps(area):
            x, y = np.asarray(step.at, float)
            down = step.words(lambda metres: size(metres, unit))
            first = f"From {called(step.door.name or 'door')} you step"
            at = np.array([[x, y, step.finish + 0.02]])
            outward = np.asarray(area.outline.representative_point().coords[0]) - (x, y)
            outward = unit_vector(outward) * 0.25
            found.append(Named(first, f"down {down}", at + np.append(outward, 0.0)))
    for area in plan.areas:
        found += _built_with(plan, area, unit)
    for area in plan.areas:
        if area.raised_edges and not any(
            each.area == area.area.name and each.kind in _HOLDERS
            for each in structures_in(plan.order)
        ):
            run, k = area.edge_extremes[1] if area.edge_extremes else (None, 0)
            if run is not None:
                at = np.append(run.points[k], (run.finish[k] + run.ground[k]) / 2)
                found.append(Named("Raised edge, up to", _above(area, unit), at[None]))
    if len(plan.areas) > 1:
        for area in plan.areas:
            at = _grid_on(area)
            name = called(area.area.name, first=True)
            found.append(Named(name, f"{paved_words(area.paving, unit)} of paving", at))
    return found


def _grid_on(area: AreaPlan) -> Floats:
    x0, y0, x1, y1 = area.outline.bounds
    step = max((x1 - x0) / 9, (y1 - y0) / 9, 0.15)
    grid = np.stack(np.meshgrid(np.arange(x0, x1, step), np.arange(y0, y1, step)), -1)
    xy = grid.reshape(-1, 2)
    xy = xy[shapely.contains_xy(area.outline.buffer(-0.2), xy)]
    if not len(xy):
        xy = np.array(area.outline.representative_point().coords)
    return np.column_stack([xy, area.finish.surface.at(xy) + 0.02])


def paved_words(square_metres: float, unit: Unit) -> str:
    """Return how much is paved, in the unit of the site: 387 ft²."""
    if unit == "ft":
        return f"{square_feet(square_metres):.0f} ft²"
    return f"{square_metres:.1f} m²"


def _built_with(plan: Plan, area: AreaPlan, unit: Unit) -> Iterator[Named]:
    """Name what is built with an area and stands above the ground, each kind once, highest first.

    The highest of what holds its edge is named with how high that edge is.
    """
    standing = [
        (each.kind, places)
        for each in structures_in(plan.order)
        if each.area == area.area.name and (places := _standing(plan, each)) is not None
    ]
    ground = plan.ground.under(area.area.name)
    # Places lie half way up what is seen.
    high = [float(np.nanmax(at[:, 2] - ground.elevation(at[:, :2]))) for _, at in standing]
    named: set[str] = set()
    for k in np.argsort(high)[::-1]:
        kind, places = standing[int(k)]
        name = f"{kind[:1].upper()}{kind[1:]}"
        if kind in named:
            continue
        if kind in _HOLDERS and not named & _HOLDERS:
            yield Named(f"{name}, holds an edge up to", _above(area, unit), places)
        else:
            yield Named(name, "", places)
        named.add(kind)


def _above(area: AreaPlan, unit: Unit) -> str:
    return f"{size(area.edge_heights[0], unit)} above the lawn"


def _standing(plan: Plan, structure: Structure) -> Floats | None:
    """Return places on what is built where it stands above the ground, (n, 3); None for none."""
    each = [
        (xy, *solid.between(xy))
        for solid in structure.solids
        if len(xy := shapely.get_coordinates(shapely.segmentize(solid.footprint, 0.3)))
    ]
    if not each:
        return None
    xy, low, top = (np.concatenate(values) for values in zip(*each, strict=True))
    z = plan.ground.under(structure.area).elevation(xy)
    seen = np.isfinite(z) & (top > z + _STANDS)
    if not seen.any():
        return None
    return np.column_stack([xy, (np.maximum(low, z) + top) / 2])[seen]
