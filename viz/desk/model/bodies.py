"""The live bodies of a plan: every area's layers, the hole, what is built, lawn, house and doors.

The scene stages seven views and lays pavers one by one; that takes a second. These are the same
solids by the same makers, at true height and about an origin that stays, without what is only
drawn on them: some 20 ms, and after a change most of them are what they were.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.design.area import AreaPlan
from grading.design.model import kept
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.ground.model import Ground
from grading.order.takeoff import Takeoff, takeoffs_of
from grading.pipeline import Plan
from grading.section.built import INNER
from viz.desk.model.around import (
    add_hard_ground,
    add_house_at,
    add_lawn,
    ground_in,
    name_beyond,
    window_of,
)
from viz.desk.model.parts import Look, Part, Role
from viz.desk.model.quick import SHOWN, Quick
from viz.scene.frame import Frame, Opening, frame_of
from viz.scene.layers.beside import add_filled
from viz.scene.layers.pockets import add_beds, pockets_in
from viz.scene.layers.stack import FABRIC, lift_of
from viz.scene.layers.structures import mesh_of
from viz.scene.layers.treads import Tread, legend_of, parted, treads_of
from viz.scene.model import Label
from viz.scene.setting import Setting
from viz.scene.shell import Shape, between, polygons
from viz.scene.solids import Hole, hole_over, local_origin, slab
from viz.scene.staging import exaggeration_of
from viz.scene.things import add_features, add_restraint
from viz.words.paving.edging import restraint_words

FAR = 150.0
"""The origin moves on when the paving is farther from it: single precision tells 0.01 mm there."""

STEADY = 1.6
"""Heights stay drawn as large as they were until that is so many times off."""

UNDER, ROUND = 0.2, 0.25
"""How far below the lowest dig the ground is drawn, and the steps that this moves in. [m]"""


class Stand(Struct, frozen=True):
    """Where the model stands, kept while a site is edited so that what did not move is the same.

    Attributes
    ----------
    origin : (3,) float
        On the site's axes. [m]
    factor : float
        How many times larger heights are drawn than lengths.
    area : str
        The area that the factor is of.
    """

    origin: Floats
    factor: float
    area: str


class Bodies(Struct, frozen=True, eq=False):
    """The model of a plan, one area of it looked at on one base.

    Attributes
    ----------
    plan, area, base : Plan, AreaPlan, str
    stand : Stand
    frame : Frame
        The way it is looked at: from the house, or from uphill.
    parts : tuple of Part
    labels : tuple of Label
        What doors, things and edges are called, about the origin.
    laid : tuple of Takeoff
        What is laid in each area, that which is looked at first.
    held : tuple of Label
        Those of the labels that are of what holds the edges.
    """

    plan: Plan
    area: AreaPlan
    base: str
    stand: Stand
    frame: Frame
    parts: tuple[Part, ...]
    labels: tuple[Label, ...]
    laid: tuple[Takeoff, ...]
    held: tuple[Label, ...]

    def laid_in(self, name: str) -> Takeoff:
        """Return what is laid in an area, by its name."""
        return next(each for each in self.laid if each.area.name == name)


def stand_for(plan: Plan, area: AreaPlan, last: Stand | None = None) -> Stand:
    """Return where the model of an area stands: where it stood, if that will do.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
    last : Stand, optional
        Of the model before.
    """
    origin, wanted = local_origin(area.chosen_dig), exaggeration_of(area)
    if last is None:
        return Stand(origin, wanted, area.area.name)
    if float(np.abs(last.origin - origin).max()) < FAR:
        origin = last.origin
    same = last.area == area.area.name and 1 / STEADY < wanted / last.factor < STEADY
    return Stand(origin, last.factor if same else wanted, area.area.name)


@kept
def laid_of(plan: Plan, area: AreaPlan, base: str) -> Takeoff:
    """Return what is laid in an area on a base: geometry alone, nothing of it counted or priced."""
    return takeoffs_of(plan, area, plan.crew, (base,))[base]


def bodies_of(plan: Plan, area: AreaPlan, base: str, stand: Stand) -> Bodies:
    """Return the model of a plan.

    Parameters
    ----------
    plan : Plan
    area : AreaPlan
        The one that is looked at.
    base : str
        One of its base systems; every other area stands on the one that it is planned on.
    stand : Stand
    """
    laid = [
        laid_of(plan, each, base if each is area else each.chosen) for each in _seen(plan, area)
    ]
    return _bodies(plan, area, base, stand, laid, None)


def bodies_at_once(last: Bodies, plan: Plan, area: AreaPlan, base: str) -> Bodies | None:
    """Return the model with its layers, soil, lawn, house and doors; the rest stays as it stood.

    Walls, drains and what they are sized by, what is put back beside the paving and things on it
    take several times as long. None where that would not be what it shows: paving lies elsewhere,
    or is on another base.

    Parameters
    ----------
    last : Bodies
        The model before, which stands where it did.
    plan : Plan
    area : AreaPlan
        The one that is looked at.
    base : str
    """
    if (area.name, base) != (last.area.name, last.base) or len(plan.areas) != len(last.laid):
        return None
    laid = []
    for each, before in zip(_seen(plan, area), last.laid, strict=True):
        dig = each.digs[base if each is area else each.chosen]
        if each.name != before.area.name or not _same_hole(dig, before.dig):
            return None
        laid.append(replace(before, area=each, dig=dig))
    return _bodies(plan, area, base, last.stand, laid, last)


def _seen(plan: Plan, area: AreaPlan) -> list[AreaPlan]:
    """Return the areas of a plan, that which is looked at first."""
    return sorted(plan.areas, key=lambda each: each is not area)


def _same_hole(one: Dig, other: Dig) -> bool:
    """Say whether two digs lie under the same paving, in the same hole, with the same layers."""
    return (
        one.system == other.system
        and (one.refill is None) == (other.refill is None)
        and bool(shapely.equals_exact(one.outline, other.outline))
        and bool(shapely.equals_exact(one.polygon, other.polygon))
    )


def _bodies(
    plan: Plan, area: AreaPlan, base: str, stand: Stand, laid: list[Takeoff], last: Bodies | None
) -> Bodies:
    """Return the model of what is laid, with what is built of the model before if that is given."""
    frame, origin = frame_of(plan, area), stand.origin
    window = window_of(plan, frame, _taken(laid))
    ground = ground_in(plan.ground, window)
    bottom = _bottom(laid, ground, window, float(origin[2]))
    found = Quick(origin)
    nothing = Opening(frame, np.zeros((1, 2)), 0.0, np.zeros(2))
    settings = [
        Setting(
            plan, each.area, each, frame, nothing,
            ground_in(plan.ground.under(each.area.area.name), window), window, bottom, stand.factor,
            replace(found, area=each.area.area.name),
        )
        for each in laid
    ]  # fmt: skip
    held: list[Label] = []
    for on in settings:
        _add_area(on, looked_at=on.area is area)
        if last is None:
            before = len(found.labels)
            _add_built(on)
            held += found.labels[before:]
    if last is not None:
        held = list(last.held)
        found.labels.extend(held)
    lawn = window.difference(shapely.union_all([each.dig.polygon for each in laid]))
    for on in settings:
        pockets = pockets_in(on.area, lawn)
        add_beds(replace(on, found=_quick(on).of("soil")), pockets, ground, SHOWN)
        lawn = lawn.difference(pockets)
    add_lawn(found, ground, add_hard_ground(found, plan, ground, lawn, bottom), bottom)
    name_beyond(found, ground, window)
    add_house_at(settings, window, found)
    built = () if last is None else (part for part in last.parts if part.look.built)
    parts = (*found.gathered.parts(), *built)
    labels = tuple(found.labels)
    return Bodies(plan, area, base, stand, frame, parts, labels, tuple(laid), tuple(held))


def _quick(on: Setting) -> Quick:
    assert isinstance(on.found, Quick)
    return on.found


def _taken(laid: list[Takeoff]) -> Iterator[Shape]:
    """Give what is dug and built, in plan. [m]"""
    for each in laid:
        yield each.dig.polygon
        yield from (solid.footprint for built in each.structures for solid in built.solids)


def _bottom(laid: list[Takeoff], ground: Ground, window: shapely.Polygon, about: float) -> float:
    """Return the underside of the ground that is drawn, about the origin. [m]"""
    inside = shapely.contains_xy(window, ground.points[:, :2])
    lowest = [float(ground.points[inside, 2].min())] if inside.any() else []
    for each in laid:
        lowest.append(float((each.dig.clip.ground - each.dig.depths).min()))
        for built in each.structures:
            for solid in built.solids:
                lowest.append(
                    float(solid.between(shapely.get_coordinates(solid.footprint))[0].min())
                )
    return float(np.floor((min(lowest) - about - UNDER) / ROUND) * ROUND)


def _add_area(on: Setting, looked_at: bool) -> None:
    """Add the layers of an area, and the soil under them."""
    dig = on.dig
    hole = hole_over(dig.clip, dig.polygon, dig.formation, on.origin)
    _add_layers(on, hole, looked_at)


def _add_built(on: Setting) -> None:
    """Add what restrains and holds the edges of an area, its walls, steps, drains and things."""
    found = _quick(on).built()
    add_filled(replace(on, found=found.of("beside")), on.dig.polygon, SHOWN)
    held = {"edge restraint": restraint_words(on.dig.system)}
    add_restraint(replace(on, found=found.of("built", held)))
    add_features(replace(on, found=found.of("thing")))
    for structure in on.laid.structures:
        told = structure.said or structure.name
        for solid in structure.solids:
            # What is laid on the foundation gives way with it to who looks out of the house.
            role: Role = "house" if structure.kind == "membrane" else "built"
            look = Look(
                name=f"{on.area.area.name}/built/{structure.name}/{solid.material}", said=told,
                brief=structure.name, role=role, kind=solid.material,
                before=INNER.get(solid.material, 1), built=True,
            )  # fmt: skip
            found.gathered.add(look, mesh_of(solid, None, on.origin))


def _add_layers(on: Setting, hole: Hole, looked_at: bool) -> None:
    """Add each layer where it lies, and the soil that the hole is dug in."""
    gathered, laid, area = _quick(on).gathered, on.laid, on.area.area.name
    treads = treads_of(laid)
    words = {entry.number: entry.words for entry in legend_of(treads, laid, on.unit)}

    def look(tread: Tread, step: int, role: Role = "layer") -> Look:
        said = f"{tread.name}, {words[tread.number]}"
        return Look(
            name=f"{area}/layer/{tread.number}/{tread.name}", brief=tread.name, role=role,
            said=said if looked_at else f"{area}: {said}", kind=tread.kind,
            lift=lift_of(on, treads, step) if looked_at else 0.0,
            before=1 if tread.kind == "geotextile" else 0, number=tread.number if looked_at else 0,
        )  # fmt: skip

    for step, tread in enumerate(treads):
        if tread.footprint.is_empty:
            continue
        if tread.kind == "subgrade":
            under = np.full_like(hole.floor, on.bottom)
            gathered.add(look(tread, step, "soil"), between(hole.sheet, hole.floor, under))
        elif tread.kind == "refill":
            gathered.add(look(tread, step), hole.refill)
        elif np.isnan(tread.thickness):
            fabric = between(hole.sheet, hole.floor + FABRIC, hole.floor + FABRIC / 2)
            gathered.add(look(tread, step), fabric)
        else:
            for piece in parted(tread, laid):
                where = (tread.top, tread.thickness)
                solid = slab(polygons(piece.footprint), on.finish, *where, on.origin)
                gathered.add(look(piece, step), solid)
