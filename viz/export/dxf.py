"""An area as DXF, in the site's own unit and plan coordinates: plan, surfaces and sections.

What is built beside and below the paving is there in plan, and as closed bodies in space.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from grading.design.area import AreaPlan
from grading.design.folds import folds_of, panes_of, warped
from grading.geometry.arcs import arcs_of, bulged
from grading.geometry.outline import Edge
from grading.geometry.tin import Tin
from grading.pipeline import Plan
from grading.structures.model import Structure
from grading.units import METRES, Unit, length
from viz.drawings.placing import place_plan
from viz.drawings.plan.folds import draw_fall, draw_folds
from viz.drawings.plan.levels import body_of
from viz.drawings.plan.view import (
    draw_house,
    draw_section_marks,
    draw_shared_edges,
    plan_window,
    side_dimensions,
)
from viz.export.dxf_draft import Draft
from viz.export.dxf_room import free_room
from viz.export.dxf_section import add_section
from viz.export.surfaces import dug_of, existing_ground, finish_of, subgrade_of
from viz.paper.compose import View
from viz.paper.drawing import Text
from viz.paper.lettering import upright
from viz.paper.page import Scale, page_for
from viz.scene.layers.laid import takeoff_of
from viz.scene.layers.structures import mesh_of
from viz.signature import not_for_signature
from viz.words.cautions import REPORT
from viz.words.figures import small

_STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)  # of the unit, between contours
_LINES = 14  # contours of one surface at the most
_FINER = 3.0  # lettering of a section, so many times smaller than that of the plan
_TOLD = 300  # spots that are all told their elevation
_SQUARE = 16.0  # mm
_FACES = 20_000  # triangles of ground beyond which only those about the paving are drawn
_SMALL = 1.9  # mm: lettering of spots and contours
_NAMES = {
    "house": "house", "house hatch": "", "house wall": "house wall", "door": "doors",
    "section line": "section lines", "section mark": "section lines",
    "fold name": "folds", "fold": "folds", "fold mark": "folds", "ruling": "folds",
    "text": "folds", "shared edge": "shared edges",
}  # fmt: skip

GROUPS = {
    "walls": ("wall", "curb", "slope", "shoulder"),
    "steps": ("step",),
    "drains": ("drain", "channel", "pipe", "grate", "well", "membrane", "downspout"),
}
"""The layers that structures come on, and the words in their kinds that tell which."""

BURIED = ("dense-graded", "open-graded", "drain stone", "pipe", "membrane", "concrete")
"""Materials that lie below what is seen: they are dashed, on a layer of their own."""

_COLOURS = {"walls": "#7a5c3a", "steps": "#8f3d6b", "drains": "#1f5fa8", "beside": "#5a5a5a"}
_LETTER = 2.0  # mm
_OTHERS = ((0.0, 4.0), (0.0, -4.0), (8.0, 0.0), (-8.0, 0.0), (0.0, 9.0), (0.0, -9.0))  # mm


def write_dxf(plan: Plan, area: AreaPlan, path: Path) -> None:
    """Write the drawing of one area; sections and subgrade on the base system chosen.

    Parameters
    ----------
    plan, area : Plan, AreaPlan
    path : Path

    Notes
    -----
    Subgrade, dug surface and over-dig of every base system are in it, each on a layer of its
    own; those of the bases not chosen, and all surfaces of triangles, are switched off.
    """
    from ezdxf import zoom

    unit, dig = plan.site.unit, area.chosen_dig
    window = plan_window(plan, area, dig)
    page = page_for(unit)
    # Lettered for all of the survey, so that the drawings of one site read alike.
    whole = shapely.MultiPoint(plan.ground.points[:, :2]).envelope.union(window).envelope
    view = place_plan(whole, page.body, unit, area.area.name)
    draft = Draft(unit, view.scale.metres(1.0))
    room = free_room()
    _ground(draft, plan, window)
    _outlines(draft, plan, area)
    spots = _spots(draft, plan, view)
    contours = _contours(draft, plan, area, view)
    draw_house(view, plan, window)
    draw_section_marks(view, plan, area, dig, out=22.0)
    draw_shared_edges(view, plan, area)
    draw_folds(view, folds_of(area), unit, many=warped(panes_of(area)))
    draw_fall(view, area, unit)
    side_dimensions(view, area, unit, body_of(plan))
    view.drawing.parts += [*contours, *names_of(plan, area), *spots]
    draft.play(view, _NAMES, room)
    add_built(draft, plan, area)
    _made(draft, area)
    _notes(draft, plan, area, view, window)
    # A section is looked at from nearer than the plan: its layers are thin at true scale.
    finer = Scale(view.scale.ratio / _FINER, view.scale.words)
    right = max(window.bounds[2], _right_of(plan)) + view.scale.metres(25.0)
    top = window.bounds[3]
    for which in ("down", "across"):
        top = add_section(draft, plan, area, which, finer, (right, top))
    draft.close(view.scale)
    zoom.extents(draft.doc.modelspace())
    draft.save(path)


def _outlines(draft: Draft, plan: Plan, area: AreaPlan) -> None:
    def ring(edges: Sequence[Edge], on: dict[str, Any]) -> None:
        vertices = [(x * draft.per, y * draft.per, bulge) for x, y, bulge in bulged(edges)]
        draft.space.add_lwpolyline(vertices, format="xyb", close=True, dxfattribs=on)

    for each in plan.areas:
        own = each is area
        on = draft.layer(*(("paving outline", "", 0.6) if own else ("other paving", "#8a8a8a")))
        ring(each.area.outline, on)
        for hole in each.area.holes:
            ring(hole, draft.layer("holes in the paving", width=0.35) if own else on)
    for centre, on_arc, radius in arcs_of(area.area.outline):
        draft.radius(centre, on_arc, f"R {length(radius, draft.unit)}")
    for base, dig in area.digs.items():
        chosen = base == area.chosen
        on = draft.layer(f"over-dig {base}", "", 0.2, "dashed", off=not chosen)
        draft.shape(dig.polygon, on)


def _ground(draft: Draft, plan: Plan, window: shapely.Polygon) -> None:
    """Add the ground as faces; of a scan, those that lie about the paving."""
    left, bottom, right, top = window.bounds
    for surface in existing_ground(plan):
        on = draft.layer(f"{surface.name} TIN", "#9a8a6a", 0.13, off=True)
        faces = surface.faces
        if len(faces) > _FACES:
            xy = surface.points[faces][:, :, :2]
            low, high = xy.min(axis=1), xy.max(axis=1)
            near = (low <= [right, top]).all(axis=1) & (high >= [left, bottom]).all(axis=1)
            faces = faces[near]
        draft.faces(surface.points, faces, on)


def _made(draft: Draft, area: AreaPlan) -> None:
    """Add the surfaces that are to be made, as faces."""
    surface = finish_of(area)
    on = draft.layer("finish TIN", "#1f7a7a", 0.13, off=True)
    draft.faces(surface.points, surface.faces, on)
    for base in area.digs:
        for name, made in (("subgrade", subgrade_of(area, base)), ("dug to", dug_of(area, base))):
            on = draft.layer(f"{name} {base} TIN", "#8a5a2b", 0.13, off=True)
            draft.faces(made.points, made.faces, on)


def _spots(draft: Draft, plan: Plan, view: View) -> list[Text]:
    """Add a point for every spot of the survey, and return their elevations as words.

    Of a survey too dense to be lettered, one spot is told in each square of the paper.
    """
    on = draft.layer("existing spots", "#8c2d19", 0.13)
    xyz = plan.site.spots.xyz
    for place in draft.at(xyz):
        draft.space.add_point(place, dxfattribs=on)
    told = xyz
    if len(xyz) > _TOLD:
        squares = np.floor(xyz[:, :2] / view.scale.metres(_SQUARE)).astype(np.int64)
        told = xyz[np.sort(np.unique(squares, axis=0, return_index=True)[1])]
    words = []
    for x, y, z in told.tolist():
        near = ((1.0, -2.6), (-1.0, 1.0), (0.0, 2.6), (0.0, -3.6))
        words.append(
            Text(
                (x, y), elevation(z, plan.site.unit), _SMALL,
                "left", "baseline", shift=(1.0, 0.8), others=near, colour="#8c2d19",
                layer="existing spot elevations",
            )
        )  # fmt: skip
    return words


def _contours(draft: Draft, plan: Plan, area: AreaPlan, view: View) -> list[Text]:
    """Add contours of ground and finish at their elevation, and return their figures."""
    finish = finish_of(area)
    ground = plan.ground
    layers = (
        ("existing contours", "#9a7b4f", "dashed", Tin(ground.points, ground.triangles)),
        ("finish contours", "#1f7a7a", "", Tin(finish.points, finish.faces)),
    )
    words: list[Text] = []
    for name, colour, dash, surface in layers:
        on = draft.layer(name, colour, 0.18, dash)
        own = surface.z[np.unique(surface.corners)]
        levels = contour_levels(float(own.min()), float(own.max()), draft.per)
        for level, lines in zip(levels, surface.contours(levels), strict=True):
            for line in lines:
                flat = draft.space.add_lwpolyline(draft.at(line), dxfattribs=on)
                flat.dxf.elevation = float(level * draft.per)
            long = [shapely.LineString(line) for line in lines]
            longest = max(long, key=lambda each: float(each.length), default=None)
            if longest is None or view.scale.mm(longest.length) < 12.0:
                continue
            share = 0.35 if dash else 0.6
            a, b = (
                np.asarray(longest.interpolate(s, normalized=True).coords[0])
                for s in (share, share + 0.01)
            )
            turn = upright(float(np.degrees(np.arctan2(*(b - a)[::-1]))))
            up = np.array([-np.sin(np.radians(turn)), np.cos(np.radians(turn))])
            shifts = [tuple((up * side).tolist()) for side in (0.6, -2.2)]
            words.append(
                Text(
                    (float(a[0]), float(a[1])), elevation(float(level), plan.site.unit), _SMALL,
                    "center", "baseline", rotation=turn, shift=shifts[0],
                    others=(shifts[1],), colour=colour, layer=name,
                )
            )  # fmt: skip
    return words


def elevation(metres: float, unit: Unit) -> str:
    """Write an elevation [m] in the site's unit, to the hundredth of a foot or the millimetre."""
    return f"{metres / METRES[unit]:.{2 if unit == 'ft' else 3}f}"


def contour_levels(low: float, high: float, per: float) -> np.ndarray:
    """Return round elevations between two levels, not too many. [m]

    Parameters
    ----------
    low, high : float
        [m]
    per : float
        Units of the site in a metre: the levels are round in those.
    """
    span = (high - low) * per
    step = next((each for each in _STEPS if span / each <= _LINES), _STEPS[-1])
    first, last = np.floor(low * per / step) + 1, np.ceil(high * per / step)
    return np.arange(first, last) * step / per


def _right_of(plan: Plan) -> float:
    return float(plan.ground.points[np.unique(plan.ground.triangles), 0].max())


def _notes(draft: Draft, plan: Plan, area: AreaPlan, view: View, window: shapely.Polygon) -> None:
    """Write under the plan what it is, in which units, and with what caution."""
    unit, dig = plan.site.unit, area.chosen_dig
    low = min(window.bounds[1], float(plan.ground.points[:, 1].min())) - view.scale.metres(12.0)
    name = {"ft": "international feet", "m": "metres"}[unit]
    others = [base for base in area.digs if base != area.chosen]
    words = [
        f"{plan.site.name}: {area.area.name}",
        *filter(None, [not_for_signature(plan)]),
        f"Base drawn: {dig.system.title}, {small(dig.build_up, unit)} from finish to subgrade"
        + (f". Layers of {' and '.join(others)} are switched off" if others else ""),
        f"One unit is one {'foot (international)' if unit == 'ft' else 'metre'}: plan "
        f"coordinates and elevations are the site's own, in {name}",
        f"Lettered for {view.scale.words}. Surfaces of triangles (TIN) are on layers switched off",
        *(f"{part.rstrip('.')}." for part in REPORT.replace("\n", " ").split(". ")),
    ]
    on = draft.layer("notes")
    x = window.bounds[0]
    for row, line in enumerate(words):
        mm = 3.6 if row == 0 else 2.2
        draft.text((x, low), line, mm, on)
        low -= view.scale.metres(5.0 if row == 0 else 3.8)


def group_of(structure: Structure) -> str:
    """Return the layer that a structure comes on: walls, steps, drains, or beside for the rest."""
    for group, words in GROUPS.items():
        if any(word in structure.kind for word in words):
            return group
    return "beside"


def add_built(draft: Draft, plan: Plan, area: AreaPlan) -> None:
    """Add what is built with an area on the base chosen, each kind on layers of its own.

    Parameters
    ----------
    draft : Draft
    plan, area : Plan, AreaPlan

    Notes
    -----
    In plan: `walls`, `steps`, `drains` and `beside`; dashed on `... below` what is buried. Their
    bodies are faces in space on `... bodies`, switched off as all surfaces of triangles are.
    """
    for structure in _drawn(plan, area):
        group = group_of(structure)
        colour = _COLOURS[group]
        seen = draft.layer(group, colour, 0.35)
        below = draft.layer(f"{group} below", colour, 0.18, "dashed")
        bodies = draft.layer(f"{group} bodies", colour, 0.13, off=True)
        for solid in structure.solids:
            draft.shape(solid.footprint, below if solid.material in BURIED else seen)
            mesh = mesh_of(solid, None, np.zeros(3))
            draft.faces(mesh.vertices, mesh.faces, bodies)


def names_of(plan: Plan, area: AreaPlan) -> list[Text]:
    """Return the name of each structure as words on it, on its group's layer."""
    words = []
    for structure in _drawn(plan, area):
        whole = shapely.union_all([solid.footprint for solid in structure.solids])
        x, y = shapely.get_coordinates(shapely.point_on_surface(whole))[0]
        group = group_of(structure)
        words.append(
            Text(
                (float(x), float(y)), structure.name, _LETTER, "center", "middle",
                others=_OTHERS, colour=_COLOURS[group], layer=group,
            )
        )  # fmt: skip
    return words


def _drawn(plan: Plan, area: AreaPlan) -> list[Structure]:
    """Return what is built that has a body; a wedge of bedding under a thing has none."""
    built = takeoff_of(plan, area, area.chosen).structures
    return [structure for structure in built if structure.solids]
