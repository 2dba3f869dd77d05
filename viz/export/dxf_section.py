"""A section of an area as a block of a DXF document: distances and elevations at true scale."""

from __future__ import annotations

import shapely

from grading.design.area import AreaPlan
from grading.design.folds import folds_of
from grading.pipeline import Plan
from grading.section.cut import Cut
from grading.section.model import Which
from viz.drawings.section.body import draw_body
from viz.drawings.section.notes import draw_notes, words_height
from viz.drawings.section.sheet import MARKS, way_of
from viz.export.dxf_draft import Draft
from viz.export.dxf_room import free_room
from viz.paper.compose import View
from viz.paper.drawing import Drawing, Text
from viz.paper.page import Scale
from viz.words.figures import level, small

_EARTH = 6.0  # mm of undisturbed soil below the dig
_STEP = 3.4  # mm from one line of layer names to the next
_ASIDE, _BEYOND = 9.0, 45.0  # mm from the section to the names of its layers
_TWO_LEVELS = 84.0  # mm: room for the levels of both ends side by side
_WALL = 0.3  # m shown behind a wall's face


def add_section(
    draft: Draft,
    plan: Plan,
    area: AreaPlan,
    which: Which,
    scale: Scale,
    corner: tuple[float, float],
) -> float:
    """Add a section on the chosen base as a block, and return where the next may start.

    Parameters
    ----------
    draft : Draft
    plan, area : Plan, AreaPlan
    which : "down" or "across"
        The fall.
    scale : Scale
        What its lettering is made for.
    corner : (2,) float
        Where in plan its upper left corner goes. [m]

    Returns
    -------
    float
        The y that the next section's corner may have. [m]

    Notes
    -----
    In the block, x is the distance along the section line and y the elevation.
    """
    cut, mark = plan.sections.of(area, which), MARKS[which][0]
    way = way_of(area, which, plan)
    name = f"section {mark}-{mark}"
    view = View(Drawing(name), scale, (0.0, 0.0))
    window = _window(cut, scale)
    draw_body(view.drawing, cut, window, scale.metres(_EARTH))
    draw_notes(view, cut, folds_of(area), plan.site.unit)
    low, floor, high, _ = window.bounds
    roof = _roof(cut) + scale.metres(16.0 + words_height(cut, scale, plan.site.unit))
    title = f"Section {mark}-{mark} {way}, true scale; {area.chosen_dig.system.title}"
    view.drawing.text((low, roof), title, size=3.2, across="left", up="baseline", bold=True)
    _levels(view, cut, floor - scale.metres(2.0), plan.site.unit)
    _layers(view, cut, area, (low, high), plan.site.unit)

    with draft.block(name, scale.metres(1.0)):
        names = {"": "lines", "text": "words", "labels": "words"}
        draft.play(view, names, free_room(), "section ")
    shift = (corner[0] - low, corner[1] - roof)
    draft.space.add_blockref(name, draft.at([shift])[0], dxfattribs=draft.layer(name))
    foot = min(floor - scale.metres(8.0), _foot_of_names(cut, area, scale))
    return corner[1] - (roof - foot) - scale.metres(14.0)


def _window(cut: Cut, scale: Scale) -> shapely.Polygon:
    low, high = cut.ends
    for wall in cut.walls:
        low, high = (low - _WALL, high) if wall.side < 0 else (low, high + _WALL)
    floor = cut.deepest
    tops = [_roof(cut), *(wall.sill + 0.1 for wall in cut.walls if wall.sill is not None)]
    return shapely.box(low, floor - scale.metres(_EARTH), high, max(tops) + scale.metres(5.0))


def _roof(cut: Cut) -> float:
    sills = [wall.sill for wall in cut.walls if wall.sill is not None]
    return max([cut.highest, *sills])


def _levels(view: View, cut: Cut, y: float, unit: str) -> None:
    """Write finish, subgrade and ground under both ends of the paving."""
    wide = view.scale.mm(cut.paving[1] - cut.paving[0]) > _TWO_LEVELS
    for s, across in zip(cut.paving, ("left", "right") if wide else ("right", "left"), strict=True):
        told = (
            ("finish", cut.finish_at(s)), ("subgrade", cut.formation_at(s)),
            ("existing", cut.ground_at(s)),
        )  # fmt: skip
        words = "\n".join(f"{what} {level(float(z), unit)}" for what, z in told)
        view.drawing.text((s, y), words, size=2.0, across=across, up="top", layer="levels")


def _layers(view: View, cut: Cut, area: AreaPlan, ends: tuple[float, float], unit: str) -> None:
    """Name every layer beside the section, a line from each to where it lies."""
    a, b = cut.paving
    sides = {wall.side for wall in cut.walls}
    # Beside a wall stand the words about its door: names go to the other end, or beyond those.
    right = 1.0 not in sides or -1.0 in sides
    far = _BEYOND if 1.0 in sides and -1.0 in sides else _ASIDE
    s = a + (0.97 if right else 0.03) * (b - a)
    x = ends[1] + view.scale.metres(far) if right else ends[0] - view.scale.metres(far)
    across = "left" if right else "right"
    y = float(cut.finish_at(s)) + view.scale.metres(_STEP)
    system, named = area.chosen_dig.system, []
    for layer, top in zip(system.layers, system.tops(), strict=True):
        tip = (s, float(cut.finish_at(s)) - top - layer.thickness / 2)
        named.append((tip, f"{layer.name} {small(layer.thickness, unit)}"))
    for solid in cut.solids[len(system.layers) :]:
        # Refill that the section touches at a single point or along a line has nothing to name.
        if solid.role == "refill" and solid.shape.area > 0:
            part = max(shapely.get_parts(solid.shape), key=lambda each: float(each.area))
            named.append((part.representative_point().coords[0], solid.name))
    gap = view.scale.metres(1.0) * (-1 if right else 1)
    for tip, words in named:
        view.drawing.line([tip, (x + gap, y)], layer="layer names")
        view.drawing.parts.append(Text((x, y), words, 2.2, across, "middle", layer="layer names"))
        y -= view.scale.metres(_STEP)


def _foot_of_names(cut: Cut, area: AreaPlan, scale: Scale) -> float:
    count = len(area.chosen_dig.system.layers) + 1
    return float(cut.finish_at(cut.paving[1])) - scale.metres(_STEP * count)
