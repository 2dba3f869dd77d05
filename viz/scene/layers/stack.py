"""The build-up of one base system as bodies: opened like stairs, apart, whole, or only the hole."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from grading.units import Unit, both
from viz.look.materials import material
from viz.scene.collect import add_pattern, add_solid
from viz.scene.frame import Opening, aside_of
from viz.scene.grain import grains, pavers, seams, studs
from viz.scene.layers.laid import Laid
from viz.scene.model import Collected, Label, LegendEntry, Lines
from viz.scene.shell import Floats, between, joined, polygons
from viz.scene.solids import Dug, backfill_depth, beside, dug_parts, on_floor, slab
from viz.scene.surroundings import height_over
from viz.words.folds import panes_of, warped

if TYPE_CHECKING:
    from grading.design.area import AreaPlan
    from grading.dig.hole import Dig
    from grading.order.takeoff import Standing
    from viz.scene.shell import Region, Shape

APART = 0.52
"""How high pavers float where the layers are apart, of the side of a square as large. [ratio]"""

SEEN_FROM = 33.0
"""How far above the level the first camera looks from. [degrees]"""

FABRIC = 0.004
"""How far above the subgrade geotextile is drawn. [m]"""

SPREAD = 7
"""Places on each leg of a bared strip where its number may stand."""

MANY, FEW = 800, 200
"""Grains a layer is drawn with: where it is bared, and where most of it is under the next."""

OPENED = ("layers",)
WHOLE = ("finished", "slice", "apart", "yard")
"""The views in which a layer is opened like stairs, and those in which it is whole."""


@dataclass(frozen=True)
class Tread:
    """A layer as it is drawn: number in the legend, plan before opening, depth below finish.

    thickness is nan for what has none of its own.
    """

    number: int
    name: str
    kind: str
    footprint: Region
    top: float
    thickness: float


def treads_of(
    area: AreaPlan, dig: Dig, fabric: bool = False, standing: Standing | None = None
) -> list[Tread]:
    """Return what is seen from the top down: layers, refill, geotextile, the subgrade.

    Refill and geotextile come where there is any that the base system does not list itself. No
    paver lies under what stands on a base of its own, and no other layer where that base lies.
    """

    def around(footprint: Region, gone: Any) -> Region:
        if standing is None or standing.none:
            return footprint
        left = polygons(footprint.difference(gone))
        return footprint if left.is_empty else left

    pads = None if standing is None else standing.pads
    feet = None if standing is None else standing.feet
    treads = []
    for i, (layer, top) in enumerate(zip(dig.system.layers, dig.system.tops(), strict=True)):
        footprint = dig.polygon if layer.spreads else area.outline
        footprint = around(footprint, feet if layer.role == "paver" else pads)
        treads.append(Tread(i + 1, layer.name, layer.material, footprint, top, layer.thickness))
    if dig.refill is not None:
        treads.append(Tread(len(treads) + 1, "refill", "refill", dig.polygon, dig.build_up, np.nan))
    if fabric and not any(tread.kind == "geotextile" for tread in treads):
        name = "geotextile"
        treads.append(Tread(len(treads) + 1, name, name, dig.polygon, dig.build_up, np.nan))
    treads.append(Tread(len(treads) + 1, "subgrade", "subgrade", dig.polygon, dig.build_up, np.nan))
    return treads


def legend_of(treads: list[Tread], dig: Dig, unit: Unit) -> tuple[LegendEntry, ...]:
    """Return the legend: every layer with its thickness in inches and millimetres."""
    entries = []
    for tread in treads:
        words = {
            "refill": "" if dig.refill is None else f"up to {both(dig.refill.greatest, 8, unit)}",
            "subgrade": "trimmed and compacted soil",
            "geotextile": "keeps soil and stone apart" if np.isnan(tread.thickness) else "",
        }.get(tread.kind) or both(tread.thickness, unit=unit)
        colour = material(tread.kind).colour
        if tread.kind == "paver":
            colour = material("paver").grains[1]
        entries.append(LegendEntry(tread.number, tread.name, colour, tread.thickness, words))
    return tuple(entries)


def _surface(area: AreaPlan, origin: Floats, top: float) -> Any:
    surface = area.finish.surface

    def height(xy: Floats) -> Floats:
        return np.asarray(surface.at(xy + origin[:2]) - origin[2] - top)

    return height


def _near(region: Shape, origin: Floats) -> Shape:
    import shapely

    return shapely.transform(region, lambda xy: xy - origin[:2])


def add_pavers(
    collected: Collected,
    area: AreaPlan,
    faces: Any,
    region: Shape,
    origin: Floats,
    shown: tuple[str, ...],
    lift: float = 0.0,
) -> None:
    """Add the faces of pavers, laid on the site's axes, over a region of the finish."""
    import shapely

    tones = material("paver").grains
    # A paver that lies across a fold is cut there.
    panes = panes_of(area)
    facets = [] if warped(panes) else [_near(pane.domain, origin) for pane in panes]
    near = shapely.transform(faces, lambda xy: xy - origin[:2])
    meshes = pavers(near, _near(region, origin), len(tones), facets)
    height = _surface(area, origin, 0.0)
    add_pattern(collected, "paver", "paver", tones, meshes, height, shown, lift=lift)


def _add_surface(
    collected: Collected,
    tread: Tread,
    region: Shape,
    right: Floats,
    origin: Floats,
    height: Any,
    shown: tuple[str, ...],
    laid: Laid,
    lift: float = 0.0,
) -> None:
    import shapely

    near = _near(polygons(region), origin)
    if near.is_empty:
        return
    look = material(tread.kind)
    if tread.kind != "panel":
        most = FEW if lift else MANY
        meshes = grains(near, look.size, look.share, len(look.grains), tread.number, most)
        add_pattern(
            collected, tread.name, tread.kind, look.grains, meshes, height, shown, lift=lift
        )
        return
    relief = [studs(near, right)]
    add_pattern(collected, tread.name, "panel", look.grains, relief, height, shown, lift=lift)
    lines = seams(shapely.transform(laid.panels, lambda xy: xy - origin[:2]), near)
    if not lines:
        return
    points = np.concatenate([np.column_stack([line, height(line) + 0.003]) for line in lines])
    start = np.cumsum([0] + [len(line) for line in lines[:-1]])
    segments = np.concatenate(
        [
            first + np.column_stack([np.arange(len(line) - 1), np.arange(1, len(line))])
            for first, line in zip(start, lines, strict=True)
        ]
    )
    collected.lines.append(
        Lines("panel seams", points, segments, "#e6e6e6", 1.0, frozenset(shown), lift)
    )


def lift_of(area: AreaPlan, treads: list[Tread], step: int, clear: float) -> float:
    """Return how far a layer floats above its place where the layers are apart, drawn. [m]

    The pavers float as high on every base system, so that systems compare; the subgrade stays
    where it is, and what is between is spread evenly, `clear` [m] of the rim of the hole.
    """
    if step == len(treads) - 1:
        return 0.0
    highest = APART * float(np.sqrt(area.outline.area))
    return clear + highest * (len(treads) - 1 - step) / (len(treads) - 1)


def add_stack(
    collected: Collected,
    area: AreaPlan,
    dig: Dig,
    ground: Any,
    treads: list[Tread],
    opening: Opening,
    origin: Floats,
    bottom: float,
    laid: Laid,
    clear: float,
) -> tuple[Any, list[Dug]]:
    """Add every layer opened like stairs, the finished paving, and the soil under them.

    bottom is the level of the underside of the block about the scene's origin; clear is as for
    `lift_of` [m]. Returns a function that reads the dug surface at points (k, 2), and the parts
    of the hole.
    """
    finish, right = area.finish.surface, opening.frame.right
    dug = dug_parts(dig.clip, dig.polygon, dig.formation, origin, steps=False)
    soil = joined(
        [between(part.draped.sheet, part.floor, np.full_like(part.floor, bottom)) for part in dug]
    )
    add_solid(collected, "subgrade", "subgrade", soil, (*OPENED, *WHOLE, "dig"))
    dug_at = _floor_of(dug)
    for step, tread in enumerate(treads):
        lift = lift_of(area, treads, step, clear)
        above = opening.cut(step - 1) if step else None
        seen = tread.footprint if above is None else tread.footprint.intersection(above)
        if tread.kind == "subgrade":
            _add_surface(collected, tread, seen, right, origin, dug_at, OPENED, laid)
            continue
        cut = polygons(tread.footprint.difference(opening.cut(step)))
        seen = polygons(seen.difference(opening.cut(step)))
        if tread.kind == "refill":
            for region, shown, up in ((cut, OPENED, 0.0), (tread.footprint, WHOLE, lift)):
                parts = dug_over(ground, dig, region, origin)
                solid = joined([between(p.draped.sheet, p.level, p.floor) for p in parts])
                add_solid(collected, tread.name, tread.kind, solid, shown, up)
            continue
        if np.isnan(tread.thickness):
            _add_fabric(collected, tread, (seen, tread.footprint), dug, dug_at, origin, lift)
            continue
        pieces = list(parted(tread, laid))
        for region, shown, up in ((cut, OPENED, 0.0), (tread.footprint, WHOLE, lift)):
            for piece in pieces:
                kept = (
                    region if len(pieces) == 1 else polygons(region.intersection(piece.footprint))
                )
                if not kept.is_empty:
                    solid = slab(kept, finish, piece.top, piece.thickness, origin, steps=False)
                    add_solid(collected, piece.name, piece.kind, solid, shown, up)
        if tread.kind == "paver":
            lifted = polygons(tread.footprint.difference(cut))
            add_pavers(collected, area, laid.pavers, cut, origin, (*OPENED, *WHOLE), lift)
            add_pavers(collected, area, laid.pavers, lifted, origin, WHOLE, lift)
        else:
            height = _surface(area, origin, tread.top)
            for piece in pieces:
                bared = seen if len(pieces) == 1 else polygons(seen.intersection(piece.footprint))
                _add_surface(collected, piece, bared, right, origin, height, OPENED, laid)
                _add_surface(
                    collected, piece, piece.footprint, right, origin, height, ("apart",), laid, lift
                )
    _add_backfill(collected, area, dig, opening, origin, laid.border)
    return dug_at, dug


def parted(tread: Tread, laid: Laid) -> Iterator[Tread]:
    """Give a layer, and apart from it the shoulder of the edge that takes its place."""
    import shapely

    shoulder = laid.shoulder if tread.kind == "open-graded" else shapely.Polygon()
    stone = polygons(tread.footprint.difference(shoulder))
    beside = polygons(tread.footprint.intersection(shoulder))
    if beside.is_empty or stone.is_empty:
        yield tread
        return
    yield replace(tread, footprint=stone)
    yield replace(tread, name="shoulder of the edge", kind="dense-graded", footprint=beside)


def _add_fabric(
    collected: Collected, tread: Tread, regions: tuple[Shape, Shape], dug: list[Dug],
    dug_at: Any, origin: Floats, lift: float,
) -> None:  # fmt: skip
    """Add geotextile on the dug surface: where it is bared, and whole where layers are apart."""
    colour = [material("geotextile").colour]
    seen, whole = regions
    near = polygons(_near(seen, origin))
    if not near.is_empty:
        for part in dug:
            mesh = [on_floor(near, part)]
            add_pattern(collected, tread.name, "geotextile", colour, mesh, dug_at, OPENED, FABRIC)
    if not whole.is_empty:
        sheets = [
            between(part.draped.sheet, part.floor + FABRIC, part.floor + FABRIC / 2) for part in dug
        ]
        add_solid(collected, tread.name, "geotextile", joined(sheets), ("apart",), lift)


def dug_over(ground: Any, dig: Dig, region: Region, origin: Floats) -> list[Dug]:
    """Return the hole over part of a dig, creased where its refill starts."""
    from grading.finish.cutting import clip_facets

    domains = [facet.domain for facet in dig.formation.facets]
    pieces = clip_facets(ground, region, domains)
    return dug_parts(pieces, region, dig.formation, origin, steps=False)


def _floor_of(parts: list[Dug]) -> Any:
    """Return a function that reads the dug surface at points (k, 2)."""
    from viz.scene.shell import Sheet

    starts = np.cumsum([0, *(len(part.draped.sheet.xy) for part in parts)])
    faces = [part.draped.sheet.faces + start for part, start in zip(parts, starts, strict=False)]
    sheet = Sheet(np.concatenate([part.draped.sheet.xy for part in parts]), np.concatenate(faces))
    return height_over(sheet, np.concatenate([part.floor for part in parts]))


def _add_backfill(
    collected: Collected, area: AreaPlan, dig: Dig, opening: Opening, origin: Floats, border: Any
) -> None:
    """Add the soil put back beside the paving; units of a border come up through it."""
    ring = polygons(beside(dig, area.outline).difference(border))
    depth = backfill_depth(dig.system)
    filled = tuple(view for view in WHOLE if view != "apart")
    regions = ((ring.difference(opening.cut(0)), OPENED), (ring, filled))
    for region, shown in regions:
        kept = polygons(region)
        if kept.is_empty:
            continue
        solid = slab(kept, area.finish.surface, 0.0, depth, origin, steps=False)
        add_solid(collected, "backfill", "backfill", solid, shown)
        look = material("backfill")
        meshes = grains(_near(kept, origin), look.size, look.share, len(look.grains), 99)
        height = _surface(area, origin, 0.0)
        add_pattern(collected, "backfill", "backfill", look.grains, meshes, height, shown)


def _middle_of_tread(seen: Shape, opening: Opening, step: int) -> Floats:
    """Return where the bared strip of a layer is pointed at: in its middle, at the right."""
    import shapely

    frame, bared = opening.frame, opening.bared(step)
    tread = float(np.abs(opening.corners[-1] - opening.corners[0]).max()) / len(opening.corners)
    # A line across the strip: to the right in a corner, else across the long paving.
    way = np.array([1.0, 0.0]) if opening.along.all() else 1.0 - opening.along
    ends = bared + np.array([[-1.0], [1.0]]) * opening.reach * way
    line = seen.intersection(shapely.LineString(frame.site(ends)))
    if line.is_empty:
        return np.asarray(shapely.get_coordinates(seen.representative_point())[0])
    local = frame.local(shapely.get_coordinates(line))
    if opening.along.all():
        right = local[:, 0].max() - min(0.35 * tread, float(np.ptp(local[:, 0])) / 2)
        return np.asarray(frame.site(np.array([[right, bared[1]]]))[0])
    return np.asarray(frame.site(local[[0, -1]].mean(axis=0)[None])[0])


def _along_strip(seen: Shape, opening: Opening, step: int) -> Floats:
    """Return points in the middle of the bared strip of a layer, along its legs, (k, 2). [m]"""
    import shapely

    frame, bared = opening.frame, opening.bared(step)
    found = [np.zeros((0, 2))]
    for way in np.eye(2)[opening.along[::-1] > 0]:
        ends = bared + np.array([[-1.0], [1.0]]) * opening.reach * way
        line = seen.intersection(shapely.LineString(frame.site(ends)))
        for part in shapely.get_parts(line):
            if part.geom_type == "LineString":
                at = part.length * (np.arange(SPREAD) + 0.5) / SPREAD
                found.append(shapely.get_coordinates(shapely.line_interpolate_point(part, at)))
    return np.concatenate(found)


def layer_labels(
    treads: list[Tread],
    legend: tuple[LegendEntry, ...],
    area: AreaPlan,
    opening: Opening,
    origin: Floats,
    dug_at: Any,
    hidden: float,
    clear: float,
) -> list[Label]:
    """Return a label on the bared strip of each layer, where it is nearest the right.

    hidden is how high the front edge of the hole stands before its floor, in drawn space; clear
    is as for `lift_of`. [m]
    """
    labels = []
    for step, tread in enumerate(treads):
        seen: Shape = tread.footprint
        if step:
            seen = seen.intersection(opening.cut(step - 1))
        if tread.kind != "subgrade":
            seen = seen.difference(opening.cut(step))
        if seen.is_empty:
            # A base of something's own takes all of its strip: it is pointed at where it goes on.
            seen = tread.footprint
        at = _middle_of_tread(seen, opening, step)
        xy = (at - origin[:2])[None]
        on_floor = np.isnan(tread.thickness) and tread.kind != "refill"
        height = dug_at if on_floor else _surface(area, origin, tread.top)
        z = height(xy)
        words = f"{legend[step].name}, {legend[step].words}"
        place = np.append(xy[0], z[0])
        spread = _along_strip(seen, opening, step)
        spread = np.column_stack([spread - origin[:2], height(spread - origin[:2])])
        shown = frozenset(OPENED)
        labels.append(Label(words, place, "layer", shown, tread.number, step, spread=spread))
        lift = lift_of(area, treads, step, clear)
        gap = lift_of(area, treads, max(step - 1, 0), clear) - lift
        strip = (hidden if tread.kind == "subgrade" else 0.0, gap)
        labels.append(_apart_label(words, tread, opening, origin, height, (step, lift, strip)))
    return labels


def _apart_label(
    words: str, tread: Tread, opening: Opening, origin: Floats, height: Any,
    place: tuple[int, float, tuple[float, float]],
) -> Label:  # fmt: skip
    """Return the label of a layer where the layers are apart: on what is seen of it in front."""
    import shapely

    step, lift, (hidden, gap) = place
    frame = opening.frame
    r0, n0, r1, n1 = frame.bounds(tread.footprint)
    reach = r1 - r0 + n1 - n0
    # Of a layer under another, seen from `SEEN_FROM` above, a strip at its near edge is bared.
    ahead = 1 / float(np.hypot(1.0, aside_of(frame, tread.footprint)))
    strip = ahead * (hidden + 0.35 * (gap - hidden)) / np.tan(np.radians(SEEN_FROM))
    right = r0 + 0.7 * (r1 - r0)
    ends = np.array([[right, n0 - reach], [right, n1 + reach]])
    line = tread.footprint.intersection(shapely.LineString(frame.site(ends)))
    at = shapely.get_coordinates(tread.footprint.representative_point())[0]
    if not line.is_empty:
        along = frame.local(shapely.get_coordinates(line))[:, 1]
        near = along.max() - min(strip, 0.5 * float(np.ptp(along)))
        at = frame.site(np.array([[right, near]]))[0]
    xy = (at - origin[:2])[None]
    at3 = np.append(xy[0], height(xy)[0])
    return Label(words, at3, "layer", frozenset({"apart"}), tread.number, step, lift)
