"""The build-up of one base system as bodies: opened like stairs, whole, or only the hole."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from grading.units import Unit, both
from viz.folding import panes_of, warped
from viz.layers.collect import add_pattern, add_solid
from viz.layers.frame import Opening
from viz.layers.grain import grains, panel_seams, pavers
from viz.layers.materials import material
from viz.layers.scene import Collected, Label, LegendEntry, Lines
from viz.layers.shell import Floats, between, joined, polygons
from viz.layers.solids import Dug, backfill_depth, beside, dug_parts, slab
from viz.layers.surroundings import height_over

if TYPE_CHECKING:
    from grading.dig import Dig
    from grading.pipeline import AreaPlan
    from viz.layers.shell import Region, Shape

LEAST_REFILL = 1e-4
"""Refill less than this is not drawn. [m3]"""


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


def treads_of(area: AreaPlan, dig: Dig) -> list[Tread]:
    """Return what is seen from the top down: layers, refill where there is any, the subgrade."""
    treads = []
    for i, (layer, top) in enumerate(zip(dig.system.layers, dig.system.tops(), strict=True)):
        footprint = dig.polygon if layer.spreads else area.outline
        treads.append(Tread(i + 1, layer.name, layer.material, footprint, top, layer.thickness))
    if dig.fill > LEAST_REFILL:
        treads.append(Tread(len(treads) + 1, "refill", "refill", dig.polygon, dig.build_up, np.nan))
    treads.append(Tread(len(treads) + 1, "subgrade", "subgrade", dig.polygon, dig.build_up, np.nan))
    return treads


def legend_of(treads: list[Tread], dig: Dig, unit: Unit) -> tuple[LegendEntry, ...]:
    """Return the legend: every layer with its thickness in inches and millimetres."""
    entries = []
    for tread in treads:
        words = {
            "refill": f"up to {both(_deepest_refill(dig), 8, unit)}",
            "subgrade": "trimmed and compacted soil",
        }.get(tread.kind) or both(tread.thickness, unit=unit)
        colour = material(tread.kind).colour
        if tread.kind == "paver":
            colour = material("paver").grains[1]
        entries.append(LegendEntry(tread.number, tread.name, colour, tread.thickness, words))
    return tuple(entries)


def _deepest_refill(dig: Dig) -> float:
    return float(max((dig.clip.organics - dig.above_formation).max(), 0.0))


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
    region: Shape,
    right: Floats,
    origin: Floats,
    shown: tuple[str, ...],
) -> None:
    """Add the faces of pavers over a region of the finish."""
    tones = material("paver").grains
    # A paver that lies across a fold is cut there.
    panes = panes_of(area)
    facets = [] if warped(panes) else [_near(pane.domain, origin) for pane in panes]
    meshes = pavers(_near(region, origin), right, len(tones), facets)
    add_pattern(collected, "paver", "paver", tones, meshes, _surface(area, origin, 0.0), shown)


def _add_surface(
    collected: Collected,
    tread: Tread,
    region: Shape,
    right: Floats,
    origin: Floats,
    height: Any,
    shown: tuple[str, ...],
) -> None:
    near = _near(polygons(region), origin)
    if near.is_empty:
        return
    look = material(tread.kind)
    if tread.kind == "panel":
        points, segments, count = [], [], 0
        for line in panel_seams(near, right):
            points.append(np.column_stack([line, height(line) + 0.003]))
            steps = count + np.arange(len(line) - 1)
            segments.append(np.column_stack([steps, steps + 1]))
            count += len(line)
        if points:
            collected.lines.append(
                Lines(
                    "panel seams",
                    np.concatenate(points),
                    np.concatenate(segments),
                    "#dfe6ec",
                    1.0,
                    frozenset(shown),
                )
            )
        return
    meshes = grains(near, look.size, look.share, len(look.grains), tread.number)
    add_pattern(collected, tread.name, tread.kind, look.grains, meshes, height, shown)


def add_stack(
    collected: Collected,
    area: AreaPlan,
    dig: Dig,
    ground: Any,
    treads: list[Tread],
    opening: Opening,
    origin: Floats,
    bottom: float,
) -> Any:
    """Add every layer opened like stairs, the finished paving, and the soil under them.

    bottom is the level of the underside of the block about the scene's origin [m]. Returns a
    function that reads the dug surface at points (k, 2).
    """
    finish, right = area.finish.surface, opening.frame.right
    opened, whole = ("layers",), ("finished",)
    dug = dug_parts(dig.clip, dig.polygon, dig.formation, origin, steps=False)
    soil = joined(
        [between(part.draped.sheet, part.floor, np.full_like(part.floor, bottom)) for part in dug]
    )
    add_solid(collected, "subgrade", "subgrade", soil, ("layers", "dig", "finished"))
    dug_at = _floor_of(dug)
    for step, tread in enumerate(treads):
        above = opening.cut(step - 1) if step else None
        seen = tread.footprint if above is None else tread.footprint.intersection(above)
        if tread.kind == "subgrade":
            _add_surface(collected, tread, seen, right, origin, dug_at, opened)
            _add_surface(collected, tread, tread.footprint, right, origin, dug_at, ("dig",))
            continue
        cut = polygons(tread.footprint.difference(opening.cut(step)))
        seen = seen.difference(opening.cut(step))
        if tread.kind == "refill":
            for region, shown in ((cut, opened), (tread.footprint, whole)):
                parts = dug_over(ground, dig, region, origin)
                solid = joined([between(p.draped.sheet, p.level, p.floor) for p in parts])
                add_solid(collected, tread.name, tread.kind, solid, shown)
            continue
        for region, shown in ((cut, opened), (tread.footprint, whole)):
            solid = slab(region, finish, tread.top, tread.thickness, origin, steps=False)
            add_solid(collected, tread.name, tread.kind, solid, shown)
        if tread.kind == "paver":
            add_pavers(collected, area, cut, right, origin, opened)
            add_pavers(collected, area, area.outline, right, origin, whole)
        else:
            height = _surface(area, origin, tread.top)
            _add_surface(collected, tread, seen, right, origin, height, opened)
    _add_backfill(collected, area, dig, opening, origin)
    return dug_at


def dug_over(ground: Any, dig: Dig, region: Region, origin: Floats) -> list[Dug]:
    """Return the hole over part of a dig, creased where its refill starts."""
    from grading.earthwork import clip_facets

    domains = [facet.domain for facet in dig.formation.facets]
    pieces = clip_facets(ground, region, domains)
    return dug_parts(pieces, region, dig.formation, origin, steps=False)


def _floor_of(parts: list[Dug]) -> Any:
    """Return a function that reads the dug surface at points (k, 2)."""
    from viz.layers.shell import Sheet

    starts = np.cumsum([0, *(len(part.draped.sheet.xy) for part in parts)])
    faces = [part.draped.sheet.faces + start for part, start in zip(parts, starts, strict=False)]
    sheet = Sheet(np.concatenate([part.draped.sheet.xy for part in parts]), np.concatenate(faces))
    return height_over(sheet, np.concatenate([part.floor for part in parts]))


def _add_backfill(
    collected: Collected, area: AreaPlan, dig: Dig, opening: Opening, origin: Floats
) -> None:
    ring, depth = polygons(beside(dig, area.outline)), backfill_depth(dig.system)
    regions = ((ring.difference(opening.cut(0)), ("layers",)), (ring, ("finished",)))
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


def layer_labels(
    treads: list[Tread],
    legend: tuple[LegendEntry, ...],
    area: AreaPlan,
    opening: Opening,
    origin: Floats,
    dug_at: Any,
) -> list[Label]:
    """Return a label on the bared strip of each layer, where it is nearest the right."""
    labels = []
    for step, tread in enumerate(treads):
        seen: Shape = tread.footprint
        if step:
            seen = seen.intersection(opening.cut(step - 1))
        if tread.kind != "subgrade":
            seen = seen.difference(opening.cut(step))
        at = _middle_of_tread(seen, opening, step)
        xy = (at - origin[:2])[None]
        z = dug_at(xy) if tread.kind == "subgrade" else _surface(area, origin, tread.top)(xy)
        words = f"{legend[step].name}, {legend[step].words}"
        labels.append(
            Label(words, np.append(xy[0], z[0]), "layer", frozenset({"layers"}), tread.number, step)
        )
    return labels
